#pragma once
#include <string>

#include "slipglass/teach.h"
#include "slipglass/words.h"

namespace slipglass {

/// What came of teaching, for people: what was learnt and how much better it does, or why nothing was.
/// @param had  whether there was an earlier lesson.
std::string lessonWords(const TeachResult& result, bool had, const Words& words = Words());
/// Of a lesson that is in use.
std::string learntWords(const Taught& taught, const Words& words = Words());
/// @param gone  whether there was something to take back.
std::string forgottenWords(bool gone, const Words& words = Words());

}  // namespace slipglass
