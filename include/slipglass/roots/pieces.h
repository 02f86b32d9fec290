#pragma once
#include <opencv2/core/mat.hpp>

namespace slipglass {

/// A mask without its pieces that are, across their longer side, shorter than `least_mm`.
cv::Mat piecesFrom(double least_mm, const cv::Mat& mask, double mm_per_px);

}  // namespace slipglass
