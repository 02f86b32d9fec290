#pragma once
#include <opencv2/core/mat.hpp>
#include <vector>

#include "slipglass/tub/pose.h"

namespace slipglass {

struct Surface {
    std::vector<double> angles, z;
};

/// Where medium ends and see-through wall begins, round the front of the tub: the smooth line that best parts
/// what looks like medium from what does not.
/// @param medium_probability  CV_32F 0..1; full-size px = its px * reduction; 0.5 = cannot tell.
/// @param z_low, z_high  heights above the table between which the surface must lie.
Surface findSurface(const cv::Mat& medium_probability, const Pose& pose, double reduction, double z_low,
                    double z_high);

}  // namespace slipglass
