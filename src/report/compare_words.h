#pragma once
// Private to report: words that the sentences and the tables of a comparison share.
#include <string>

#include "slipglass/season/compare.h"
#include "slipglass/words.h"

namespace slipglass {

std::string whole(double value);
/// Of 0..1, whole.
std::string percent(double share);
/// "9 of 10"
std::string share(const Share& counts, const Words& words = Words());
Share shareOf(const ComparedGroup& group);
/// "season and tub_type"
std::string keptApart(const Comparison& all, const Words& words = Words());
/// A column of the plan as it is called in a sentence: ours have a name in each language.
std::string columnWords(const std::string& column, const Words& words);
/// A value of a group.
std::string valueWords(const std::string& value, const Words& words);

}  // namespace slipglass
