#pragma once
// The wall's light, as its condition is told from it.
#include <opencv2/core/mat.hpp>
#include <optional>
#include <vector>

#include "slipglass/panel/panel.h"

namespace slipglass {

/// The value that `share` of the values stay below. Empty where they are too few to tell.
std::optional<double> quantile(std::vector<float> values, double share);

/// Of the wall that figures are taken on, what is above standing water and the damp fringe over it.
cv::Mat aboveWater(const Panel& panel, std::optional<double> water_level);

/// As large as a grain: panels of two dates fit to a pixel or two only.
cv::Mat grainWise(const cv::Mat& plane, double unit_per_px);

/// Smoothed over so wide a window that every fourth row and column tells the same.
cv::Mat smoothedWidely(const cv::Mat& plane, double sigma_px);

/// CIE luminance, CV_32F, 0..1, of a plane of CIE L*.
cv::Mat luminanceOf(const cv::Mat& lightness);

}  // namespace slipglass
