#include "slipglass/roots/ridge.h"

#include <cmath>
#include <opencv2/imgproc.hpp>
#include <stdexcept>

namespace slipglass {

namespace {

/// A Gaussian and its first two derivatives, sampled. To be correlated, not convolved, so the odd one is
/// mirrored.
struct Kernels {
    cv::Mat smooth, first, second;
};

Kernels kernelsOf(double sigma)
{
    const int radius = static_cast<int>(std::ceil(4 * sigma));
    Kernels k{cv::Mat(1, 2 * radius + 1, CV_32F), cv::Mat(1, 2 * radius + 1, CV_32F),
              cv::Mat(1, 2 * radius + 1, CV_32F)};
    const double variance = sigma * sigma;
    double sum = 0, mean_square = 0;
    for (int x = -radius; x <= radius; ++x) {
        const double weight = std::exp(-x * x / (2 * variance));
        sum += weight;
        mean_square += weight * x * x;
    }
    mean_square /= sum;  // sigma^2 but for sampling; taking it keeps the second derivative of a plane at 0
    for (int x = -radius; x <= radius; ++x) {
        const double weight = std::exp(-x * x / (2 * variance)) / sum;
        k.smooth.at<float>(x + radius) = static_cast<float>(weight);
        k.first.at<float>(x + radius) = static_cast<float>(weight * x / variance);
        k.second.at<float>(x + radius) =
            static_cast<float>(weight * (x * x - mean_square) / (variance * variance));
    }
    return k;
}

cv::Mat filtered(const cv::Mat& picture, const cv::Mat& along_x, const cv::Mat& along_y)
{
    cv::Mat out;
    cv::sepFilter2D(picture, out, CV_32F, along_x, along_y, cv::Point(-1, -1), 0, cv::BORDER_REPLICATE);
    return out;
}

}  // namespace

RidgeMap ridgeStrength(const cv::Mat& lightness, double sigma_px)
{
    if (lightness.type() != CV_32FC1) throw std::invalid_argument("lightness is not CV_32FC1");
    if (!(sigma_px > 0)) throw std::invalid_argument("sigma_px is not above 0");
    RidgeMap ridge;
    if (lightness.empty()) return ridge;
    const Kernels k = kernelsOf(sigma_px);
    const cv::Mat xx = filtered(lightness, k.second, k.smooth);
    const cv::Mat yy = filtered(lightness, k.smooth, k.second);
    const cv::Mat xy = filtered(lightness, k.first, k.first);

    // Eigenvalues of a symmetric 2 x 2 matrix: mean -+ half the spread; the eigenvector of the larger one,
    // along the bright line, stands at half the angle of (xx - yy, 2 xy).
    const cv::Mat difference = xx - yy;
    const cv::Mat twice_xy = 2 * xy;
    cv::Mat spread, double_angle;
    cv::cartToPolar(difference, twice_xy, spread, double_angle);
    ridge.strength = (spread - (xx + yy)) * (0.5 * sigma_px * sigma_px);
    cv::max(ridge.strength, 0, ridge.strength);
    ridge.angle = double_angle * 0.5;
    return ridge;
}

}  // namespace slipglass
