#pragma once
#include <optional>
#include <string>
#include <vector>

namespace slipglass {

/// Size of a tub, outside, mm. A truncated cone, widest at the rim.
struct TubType {
    std::string name;
    double rim_diameter_mm, base_diameter_mm, height_mm;
    double wall_mm = 0.8;  ///< thickness of the wall and of the base
    /// Filled to the brim: volume of the inner truncated cone, mL.
    double volumeMl() const;
};

/// quart and gallon, as shipped.
const std::vector<TubType>& shippedTubTypes();

/// By name, user types first. Throws Error naming the nearest known name.
const TubType& tubType(const std::string& name, const std::vector<TubType>& user_types);

/// From settings.json "tub_types": [{"name", "rim_diameter_mm", "base_diameter_mm", "height_mm",
/// "wall_mm"?}]. Throws Error on a size that is no tub (base wider than rim, not positive).
std::vector<TubType> readTubTypes(const std::string& json_text, const std::string& file_name);

}  // namespace slipglass
