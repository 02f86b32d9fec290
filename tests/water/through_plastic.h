#pragma once
#include <cmath>
#include <opencv2/core.hpp>

namespace slipglass::test {

/// Light from behind that reaches the camera, and light that is added, both as shares of white. A power of
/// 2.2 stands in for sRGB's curve: the drawing need not be exact.
inline void throughPlastic(cv::Mat& bgr, double passes, double added)
{
    cv::Mat table(1, 256, CV_8U);
    for (int level = 0; level < 256; ++level)
        table.at<uchar>(level) =
            cv::saturate_cast<uchar>(255 * std::pow(passes * std::pow(level / 255.0, 2.2) + added, 1 / 2.2));
    cv::LUT(bgr, table, bgr);
}

}  // namespace slipglass::test
