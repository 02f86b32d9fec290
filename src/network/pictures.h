#pragma once
#include <opencv2/core/mat.hpp>
#include <vector>

// What a network does to pictures of many channels besides convolutions; OpenCV's work where that is quick.

namespace slipglass {

/// A picture; after an upsampling the pixels under a step lie beside each other, row by row, in its channels,
/// until something needs them in their places: what looks at single pixels does not.
struct Laid {
    cv::Mat held;
    int steps = 1;  ///< pixels under a step, each way

    int channels() const { return held.channels() / (steps * steps); }
    cv::Size size() const { return held.size() * steps; }
    /// The same pixels, in another order where there are steps.
    cv::Mat pixels() const;
    /// Each in its place.
    cv::Mat picture() const;
    /// What was made of pixels(), as these lie.
    Laid with(const cv::Mat& made) const;
};

/// CV_32F, any channels.
cv::Mat sigmoid(const cv::Mat& value);
cv::Mat relu(const cv::Mat& value);

/// Twice as wide and high, by the line between neighbours.
/// @param plus  added to it, if not empty: of its size and type.
cv::Mat doubled(const cv::Mat& value, const cv::Mat& plus);

/// Of each pixel and its neighbours to both sides, `places` together; beyond the ends there is nothing.
cv::Mat rowMean(const cv::Mat& value, int places);

/// The channels of all, one after the other, each pixel in its place; of one size and depth.
cv::Mat joined(const std::vector<Laid>& values);

}  // namespace slipglass
