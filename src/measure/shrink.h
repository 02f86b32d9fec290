#pragma once
#include <opencv2/core/mat.hpp>

namespace slipglass {

/// The size with a long side of so many px at most, in the same proportions.
cv::Size sizeAtMost(cv::Size size, double long_side);
/// A picture at that size; the same one where it is no larger.
cv::Mat shrunk(const cv::Mat& picture, double long_side);

}  // namespace slipglass
