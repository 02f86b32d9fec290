#pragma once
#include <string>
#include <vector>

#include "slipglass/season/compare.h"
#include "slipglass/season/csv.h"
#include "slipglass/words.h"

namespace slipglass {

// What `compare` prints and writes. All pure; the same bytes for the same comparison.

/// For a terminal: what it says in plain sentences, then the tables. Up to 80 columns, apart from long names.
std::string compareText(const Comparison& comparison);

/// What compareText says before its tables, a sentence or two each.
std::vector<std::string> compareSentences(const Comparison& comparison, const Words& words = Words());

/// "1 time in 7", "4 times in 10", "nearly every time", "less than 1 time in 10000": how often a thing of
/// probability `p` happens.
std::string timesText(double p, const Words& words = Words());

/// Carries "schema_version". A figure that is not known is null.
std::string compareJson(const Comparison& comparison);

/// A row for each group: counts, rate with limits, days, coverage, water; first over all, then for each block
/// where some are kept apart.
std::string compareGroupsCsv(const Comparison& comparison, const TableSettings& tables = {});

/// A row for each pair of groups: difference in strike rate with limits, p, p adjusted.
std::string compareDifferencesCsv(const Comparison& comparison, const TableSettings& tables = {});

}  // namespace slipglass
