#pragma once
#include <string>

#include "slipglass/season/plan.h"

namespace slipglass {

/// batch.csv of a plan, as readPlan reads it back: our columns in their usual order, those with nothing in
/// them left out but for `cutting` and `tub`, then the own columns. RFC 4180.
std::string planCsv(const Plan& plan);

}  // namespace slipglass
