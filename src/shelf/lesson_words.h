#pragma once
#include <string>

#include "slipglass/teach.h"

namespace slipglass {

/// What came of teaching, for people: what was learnt and how much better it does, or why nothing was.
/// @param had  whether there was an earlier lesson.
std::string lessonWords(const TeachResult& result, bool had);
/// Of a lesson that is in use.
std::string learntWords(const Taught& taught);
/// @param gone  whether there was something to take back.
std::string forgottenWords(bool gone);

}  // namespace slipglass
