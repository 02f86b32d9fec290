#pragma once
#include <opencv2/core/mat.hpp>

namespace slipglass {

/// How much each pixel looks like the crest of a bright line of one width, and which way the line runs.
struct RidgeMap {
    cv::Mat strength;  ///< CV_32FC1, >= 0, in units of the picture
    cv::Mat
        angle;  ///< CV_32FC1, along the line, radians in 0..pi: 0 = along x, pi/2 = along y; x right, y DOWN
};

/// Scale-normalised ridge strength: -sigma^2 times the most negative eigenvalue of the Hessian of Gaussian
/// derivatives (Lindeberg 1998, Int. J. Computer Vision 30:117-154, with gamma = 1), 0 where both are
/// positive. A bar of width w and contrast c answers most at sigma = w / 2, with 0.484 c. The picture goes on
/// beyond its edge with the edge's own values.
///
/// @param lightness  CV_32FC1.
/// @param sigma_px   > 0; below 0.7 the kernels are too coarse to mean anything.
/// @throws  std::invalid_argument on another type or sigma (our bug).
RidgeMap ridgeStrength(const cv::Mat& lightness, double sigma_px);

}  // namespace slipglass
