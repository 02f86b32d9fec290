#pragma once
// The parts of season.json about strike, growth and potting.
#include "json_values.h"
#include "slipglass/season/series.h"

namespace slipglass {

Json strikeJson(const std::optional<Strike>& struck);
Json growthJson(const Series& series);
Json pottingJson(const Potting& potting);

}  // namespace slipglass
