#include "slipglass/panel/in_mask.h"

#include <algorithm>

namespace slipglass {

std::vector<float> valuesIn(const cv::Mat& plane, const cv::Mat& mask, int stride)
{
    std::vector<float> values;
    for (int y = 0; y < plane.rows; y += stride)
        for (int x = 0; x < plane.cols; x += stride)
            if (mask.at<uchar>(y, x)) values.push_back(plane.at<float>(y, x));
    return values;
}

std::optional<float> medianOf(std::vector<float> values)
{
    if (values.empty()) return std::nullopt;
    const auto middle = values.begin() + static_cast<long>(values.size() / 2);
    std::nth_element(values.begin(), middle, values.end());
    return *middle;
}

}  // namespace slipglass
