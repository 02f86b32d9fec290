#include "wall_light.h"

#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>
#include <stdexcept>

namespace slipglass {

std::optional<double> quantile(std::vector<float> values, double share)
{
    if (values.size() < 200) return std::nullopt;
    const auto at = values.begin() + static_cast<long>(share * static_cast<double>(values.size() - 1));
    std::nth_element(values.begin(), at, values.end());
    return *at;
}

cv::Mat aboveWater(const Panel& panel, std::optional<double> water_level)
{
    cv::Mat above = panel.frontal.clone();
    if (!water_level || *water_level <= 0) return above;
    const int row = std::clamp(static_cast<int>(panel.rowAt(*water_level + 8)), 0, above.rows);
    above.rowRange(row, above.rows).setTo(0);
    return above;
}

namespace {

template <class Pixel>
cv::Mat middlesOf(const cv::Mat& plane)
{
    cv::Mat out(plane.rows / kPlacePx, plane.cols / kPlacePx, plane.type());
    for (int y = 0; y < out.rows; ++y) {
        const auto* from = plane.ptr<Pixel>(middleOf(y)) + middleOf(0);
        auto* to = out.ptr<Pixel>(y);
        for (int x = 0; x < out.cols; ++x) to[x] = from[kPlacePx * x];
    }
    return out;
}

}  // namespace

cv::Mat middles(const cv::Mat& plane)
{
    switch (plane.type()) {
        case CV_8UC1:
            return middlesOf<uchar>(plane);
        case CV_8UC3:
            return middlesOf<cv::Vec3b>(plane);
        case CV_32FC1:
            return middlesOf<float>(plane);
    }
    throw std::invalid_argument("middles: neither a mask, a picture nor a plane of floats");
}

cv::Mat grainWise(const cv::Mat& plane, double unit_per_px)
{
    const cv::Size size(plane.cols / kPlacePx, plane.rows / kPlacePx);
    cv::Mat places, smooth;
    cv::resize(plane({0, 0, size.width * kPlacePx, size.height * kPlacePx}), places, size, 0, 0,
               cv::INTER_AREA);
    // The mean of 3 x 3 px has smoothed it a little: it has a variance of 2/3 px^2.
    const double wanted_px = 0.45 / unit_per_px;
    const double sigma = std::sqrt(std::max(0.01, wanted_px * wanted_px - 2.0 / 3)) / kPlacePx;
    cv::GaussianBlur(places, smooth, {}, sigma);
    return smooth;
}

cv::Mat smoothedWidely(const cv::Mat& places, double sigma_places)
{
    constexpr double kShrink = 2;
    cv::Mat small, out;
    cv::resize(places, small, {}, 1 / kShrink, 1 / kShrink, cv::INTER_AREA);
    cv::GaussianBlur(small, small, {}, sigma_places / kShrink);
    cv::resize(small, out, places.size(), 0, 0, cv::INTER_LINEAR);
    return out;
}

cv::Mat luminanceOf(const cv::Mat& lightness)
{
    cv::Mat light(lightness.size(), CV_32F);
    for (int y = 0; y < light.rows; ++y) {
        const auto* from = lightness.ptr<float>(y);
        auto* to = light.ptr<float>(y);
        for (int x = 0; x < light.cols; ++x) {
            const float root = (from[x] + 16) / 116;
            to[x] = from[x] > 8 ? root * root * root : from[x] / 903.3F;  // as luminance()
        }
    }
    return light;
}

}  // namespace slipglass
