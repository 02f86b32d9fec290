#pragma once
#include <string>
#include <vector>

#include "quality_trials.h"

namespace slipglass::benchmark {

/// Every table of docs/measured/quality.md, Markdown, in its order.
std::string qualityTables(const std::vector<Trial>& trials);

/// One record a trial, RFC 4180.
std::string trialsCsv(const std::vector<Trial>& trials);

}  // namespace slipglass::benchmark
