#pragma once
#include <opencv2/core/mat.hpp>

#include "slipglass/observe.h"

namespace slipglass {

/// The photo with outline, roots and water line drawn on it, long side 1600 px at most, CV_8UC3.
cv::Mat drawOverlay(const Picture& picture, const Look& look);

}  // namespace slipglass
