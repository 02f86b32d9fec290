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

/// Every third row and column of a panel tells the same: what is told of the wall's light is told on such
/// places, each the middle of 3 x 3 px.
constexpr int kPlacePx = 3;
/// Column or row of a place's middle in the panel.
constexpr int middleOf(int place)
{
    return kPlacePx * place + 1;
}

/// The pixel in the middle of each place, of a panel's picture, plane or mask.
cv::Mat middles(const cv::Mat& plane);

/// A panel's plane as large as a grain, one value a place: panels of two dates fit to a pixel or two only.
cv::Mat grainWise(const cv::Mat& plane, double unit_per_px);

/// Places smoothed over so wide a window that every other row and column of them tells the same.
cv::Mat smoothedWidely(const cv::Mat& places, double sigma_places);

/// CIE luminance, CV_32F, 0..1, of a plane of CIE L*.
cv::Mat luminanceOf(const cv::Mat& lightness);

}  // namespace slipglass
