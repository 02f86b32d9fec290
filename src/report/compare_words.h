#pragma once
// Private to report: words that the sentences and the tables of a comparison share.
#include <string>

#include "slipglass/season/compare.h"

namespace slipglass {

std::string whole(double value);
/// Of 0..1, whole.
std::string percent(double share);
/// "9 of 10"
std::string share(const Share& counts);
Share shareOf(const ComparedGroup& group);
/// "season and tub_type"
std::string keptApart(const Comparison& all);

}  // namespace slipglass
