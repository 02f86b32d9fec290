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
    /// When its series ended: thrown away or pulled, moved into its own pot.
    std::optional<Date> given_up_on, potted_up_on;
    std::map<std::string, std::string> own_columns;  ///< the user's further columns
};

struct Plan {
    std::vector<PlannedCutting> cuttings;       ///< in file order
    std::vector<std::string> own_column_names;  ///< in file order
    std::vector<std::string> warnings;          ///< each one clear line
};

/// Reads batch.csv: RFC 4180, UTF-8 with or without a byte order mark; ',' or ';' or tab between fields.
/// Only the column `tub` is needed. Column names are taken in any case, with blanks or '-' for '_'. Blanks
/// round a value are dropped, and so are rows with nothing in them and empty fields past the last column.
/// Days as typedDate takes them.
/// Warnings: a date after `today`, a fourth cutting in a tub, ids that differ in capitals only, an own column
/// named almost like ours.
/// Throws Error, naming file and line, for: no tub column (nearest column named), a column twice, a row with
/// more or fewer fields than the first, a row without a tub, a cutting twice, a bad date or one before 2000,
/// a cutting that left before it was stuck, two tub types for one tub, an empty plan.
Plan readPlan(const std::filesystem::path& batch_csv, Date today = slipglass::today());

/// The same from the text of such a file. @param file  its name, for messages.
Plan parsePlan(const std::string& text, const std::string& file, Date today);

/// What cannot be told because cuttings have no stuck_on, and what to do, in a line; "" when all have one.
/// @param file  the plan's name.
std::string stuckOnNote(const Plan& plan, const std::string& file);

/// Our own columns of batch.csv, in order.
const std::vector<std::string>& planColumns();

/// What a row holds in one of our columns, or in one of the user's; "" when nothing.
std::string planValue(const PlannedCutting& cutting, const std::string& column);

}  // namespace slipglass
