#pragma once
#include <nlohmann/json.hpp>

#include "slipglass/tub/find_tub.h"

namespace slipglass {

/// The tub as it was rendered, from the truth of a photo (truth/*.truth.json): the pose that the true camera
/// gives, in mm and photo px; world mm, z up from the outer base's centre; camera y up, looking along -z;
/// pixel (i, j) covers i..i+1. Its surface is taken to be level.
Tub trueTub(const nlohmann::json& truth);

}  // namespace slipglass
