#pragma once
#include <cstddef>
#include <opencv2/core/mat.hpp>
#include <vector>

// What a network does to pictures of many channels besides convolutions; OpenCV's work where that is quick.

namespace slipglass {

/// Copies `count` pieces of `size` bytes from every `from_step` to every `to_step` bytes.
void copyPieces(size_t size, const uchar* from, size_t from_step, uchar* to, size_t to_step, int count);

/// CV_32F, any channels.
cv::Mat sigmoid(const cv::Mat& value);
cv::Mat relu(const cv::Mat& value);

/// Twice as wide and high, by the line between neighbours.
cv::Mat doubled(const cv::Mat& value);

/// Of each pixel and its neighbours to both sides, `places` together; beyond the ends there is nothing.
cv::Mat rowMean(const cv::Mat& value, int places);

/// The channels of all, one after the other; of one size and depth.
cv::Mat joined(const std::vector<cv::Mat>& values);

}  // namespace slipglass
