#pragma once
#include <filesystem>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "slipglass/date.h"

namespace slipglass {

/// One row of batch.csv.
struct PlannedCutting {
    std::string cutting;  ///< defaults to the tub
    std::string tub;
    std::string position, variety, medium, treatment, tub_type, note;
    std::optional<Date> stuck_on;
    std::map<std::string, std::string> own_columns;  ///< the user's further columns
};

struct Plan {
    std::vector<PlannedCutting> cuttings;      ///< in file order
    std::vector<std::string> own_column_names;  ///< in file order
    std::vector<std::string> warnings;         ///< each one clear line
};

/// Reads batch.csv: RFC 4180, UTF-8 with or without a byte order mark; ',' or ';' or tab between fields.
/// Only the column `tub` is needed. Throws Error, naming file and line, for: no tub column (nearest column named),
/// a cutting twice, a bad date, two tub types or stuck dates that cannot be, an empty plan.
Plan readPlan(const std::filesystem::path& batch_csv);

}  // namespace slipglass
