#pragma once
#include <opencv2/core/mat.hpp>
#include <vector>

#include "slipglass/tub/pose.h"
#include "tub_map.h"

namespace slipglass {

struct Surface {
    std::vector<double> angles, z;
};

/// Where medium ends and see-through wall begins, round the front of the tub: the smooth line that best parts
/// what looks like medium from what does not, and runs along the surface's own edge. Behind paper and ink it
/// is carried on from beside them.
/// @param z_low, z_high  heights above the table between which the surface must lie.
Surface findSurface(const TubMap& map, const Pose& pose, double z_low, double z_high);

}  // namespace slipglass
