// Sums over parts of a plane, told by its integral (cv::integral).
#pragma once
#include <opencv2/core/mat.hpp>

namespace slipglass {

/// @tparam T  of the integral's values.
template <class T>
T sumIn(const cv::Mat& integral, const cv::Rect& r)
{
    const auto at = [&](int y, int x) { return integral.at<T>(y, x); };
    return at(r.y, r.x) - at(r.y, r.br().x) - at(r.br().y, r.x) + at(r.br().y, r.br().x);
}

}  // namespace slipglass
