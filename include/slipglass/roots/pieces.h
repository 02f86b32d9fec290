#pragma once
#include <opencv2/core/mat.hpp>

namespace slipglass {

/// A mask without its pieces that are, across their longer side, shorter than `least`, in the units of
/// `unit_per_px`.
cv::Mat piecesFrom(double least, const cv::Mat& mask, double unit_per_px);

}  // namespace slipglass
