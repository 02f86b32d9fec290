#pragma once
#include <opencv2/core/mat.hpp>
#include <optional>
#include <vector>

namespace slipglass {

/// The connected white area with the most pixels, CV_8UC1 0/255; empty when the mask is black.
cv::Mat largestPart(const cv::Mat& mask);

/// What medium looks like in this one picture, learned from the picture itself: colour and texture of the
/// large textured block against all that surrounds it. Small pictures only (long side about 400 px).
class MediumLook {
public:
    /// @param bgr  CV_8UC3.
    explicit MediumLook(const cv::Mat& bgr);

    /// Largest textured block, CV_8UC1 0/255, grown by about 2 % of the long side; empty when there is none.
    cv::Mat texturedBlock(const std::optional<cv::Rect>& within) const;

    /// Probability, CV_32F 0..1, that each pixel shows medium, learned from the two seed masks (255 = seed).
    /// Empty when a seed is too small to learn from.
    cv::Mat probability(const cv::Mat& medium_seed, const cv::Mat& other_seed) const;

private:
    std::vector<cv::Mat> features_;  ///< CV_32F, in pairs that are judged together
    cv::Mat texture_;                ///< log local contrast, CV_32F
};

}  // namespace slipglass
