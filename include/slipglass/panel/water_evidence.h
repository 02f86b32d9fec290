#pragma once
#include <opencv2/core/mat.hpp>

namespace slipglass {

/// What the panel network says of standing water, CV_32FC1 probabilities, one a square cell of the panel:
/// cell (c, r) covers the panel's pixels from (kPx c, kPx r).
struct WaterEvidence {
    static constexpr int kPx = 4;  ///< side of a cell
    cv::Mat below;                 ///< the wall there is below the surface
    cv::Mat line;                  ///< the surface meets the wall there
};

}  // namespace slipglass
