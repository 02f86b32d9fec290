#include "wall_light.h"

#include <algorithm>
#include <opencv2/imgproc.hpp>

#include "slipglass/panel/colour.h"

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

cv::Mat grainWise(const cv::Mat& plane, double unit_per_px)
{
    cv::Mat smooth;
    cv::GaussianBlur(plane, smooth, {}, 0.45 / unit_per_px);
    return smooth;
}

cv::Mat smoothedWidely(const cv::Mat& plane, double sigma_px)
{
    constexpr double kShrink = 4;
    cv::Mat small, out;
    cv::resize(plane, small, {}, 1 / kShrink, 1 / kShrink, cv::INTER_AREA);
    cv::GaussianBlur(small, small, {}, sigma_px / kShrink);
    cv::resize(small, out, plane.size(), 0, 0, cv::INTER_LINEAR);
    return out;
}

cv::Mat luminanceOf(const cv::Mat& lightness)
{
    cv::Mat light(lightness.size(), CV_32F);
    for (int y = 0; y < light.rows; ++y)
        for (int x = 0; x < light.cols; ++x)
            light.at<float>(y, x) = static_cast<float>(luminance(lightness.at<float>(y, x)));
    return light;
}

}  // namespace slipglass
