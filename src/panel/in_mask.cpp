#include "slipglass/panel/in_mask.h"

#include <algorithm>
#include <opencv2/imgproc.hpp>

namespace slipglass {

std::vector<float> valuesIn(const cv::Mat& plane, const cv::Mat& mask, int stride)
{
    std::vector<float> values;
    for (int y = 0; y < plane.rows; y += stride)
        for (int x = 0; x < plane.cols; x += stride)
            if (mask.at<uchar>(y, x)) values.push_back(plane.at<float>(y, x));
    return values;
}

cv::Mat dilated(const cv::Mat& mask, int by_px)
{
    cv::Mat grown;
    const int side = 2 * by_px + 1;
    cv::dilate(mask, grown, cv::getStructuringElement(cv::MORPH_ELLIPSE, {side, side}));
    return grown;
}

std::optional<float> medianOf(std::vector<float> values)
{
    if (values.empty()) return std::nullopt;
    const auto middle = values.begin() + static_cast<long>(values.size() / 2);
    std::nth_element(values.begin(), middle, values.end());
    return *middle;
}

}  // namespace slipglass
