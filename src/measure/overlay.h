#pragma once
#include <opencv2/core/mat.hpp>

#include "slipglass/observe.h"

namespace slipglass {

/// Outline, roots and water line as found, CV_8UC4 (BGR and how much each pixel hides), see-through
/// elsewhere.
/// @param full_size  of the upright photo, px.
/// @param size       of the layer to draw, px.
cv::Mat drawFound(const Look& look, cv::Size full_size, cv::Size size);

/// A copy of a photo as its overlay shows it, long side 1600 px at most.
cv::Mat underOverlay(const cv::Mat& bgr);
/// Lays a layer over it.
void layOver(cv::Mat& bgr, const cv::Mat& layer);

/// The photo with outline, roots and water line drawn on it, CV_8UC3: the three above in turn.
cv::Mat drawOverlay(const Picture& picture, const Look& look);

}  // namespace slipglass
