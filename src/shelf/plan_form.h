#pragma once
#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <string>
#include <vector>

#include "slipglass/date.h"
#include "slipglass/tub/tub_type.h"

namespace slipglass {

/// The plan as a form shows it: {"columns": [...], "rows": [{column: value}], "types": [{"name",
/// "rim_diameter_mm", "base_diameter_mm", "height_mm"}]}. Columns of the grower's own are among them.
/// @param text  of batch.csv; empty: none yet.
nlohmann::json planForm(const std::string& text, const std::vector<TubType>& own_types);

/// batch.csv from such a form. Throws Error as parsePlan does.
std::string planIn(const nlohmann::json& form, Date today);

/// A form's rows drawn by lot (drawPlan): {"tubs", "cuttings_per_tub", "factors": [{"column", "levels"}],
/// "stuck_on", "tub_type", "seed"}. Throws Error as drawPlan does.
nlohmann::json drawnForm(const nlohmann::json& wish, const std::vector<TubType>& own_types);

/// settings.json with a tub type more, or another size of one that it has; all else in it stays.
/// @param text  of the file; empty: none yet.
/// Throws Error as readTubTypes does.
std::string withTubType(const std::string& text, const nlohmann::json& type);

}  // namespace slipglass
