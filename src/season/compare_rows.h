#pragma once
#include <optional>
#include <string>
#include <vector>

#include "slipglass/season/compare.h"

namespace slipglass {

/// A cutting in the comparison.
struct Row {
    const Series* series = nullptr;
    std::string season;
    std::string group;  ///< value of the column compared by
    std::string block;  ///< only rows of one block are compared
    std::string tub;    ///< differs between seasons
    std::optional<TimeSpan> days;
};

struct Rows {
    std::string by;  ///< the column as the plan writes it
    std::vector<Row> rows;
    std::vector<std::string> kept_apart;
    std::vector<const Series*> left_out;  ///< no photo tells
    std::vector<std::string> columns;     ///< that can be compared by
};

constexpr const char* kSeasonColumn = "season";

/// The value of any column; kNotGiven when empty.
std::string valueOf(const Row& row, const std::string& column);

/// As `compare` says. The rows point into `seasons`.
Rows rowsOf(const std::vector<NamedSeason>& seasons, const CompareWish& wish);

/// What to bear in mind: each one clear line.
Text compareWarnings(const Rows& rows);

}  // namespace slipglass
