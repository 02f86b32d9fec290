#pragma once
#include <opencv2/core/mat.hpp>
#include <optional>
#include <vector>

namespace slipglass {

/// Values of a plane where a mask is set, of every `stride`-th row and column: neighbours tell the same.
/// @param plane  CV_32FC1. @param mask  CV_8UC1, same size.
std::vector<float> valuesIn(const cv::Mat& plane, const cv::Mat& mask, int stride);

/// A mask grown all round by so many px; by 0 it is a copy.
cv::Mat dilated(const cv::Mat& mask, int by_px);

/// The upper of the middle values; empty when there is none.
std::optional<float> medianOf(std::vector<float> values);

}  // namespace slipglass
