#include "shrink.h"

#include <algorithm>
#include <opencv2/imgproc.hpp>

namespace slipglass {

cv::Size sizeAtMost(cv::Size size, double long_side)
{
    const double shrink = std::min(1.0, long_side / std::max(size.width, size.height));
    return {std::max(1, cvRound(size.width * shrink)), std::max(1, cvRound(size.height * shrink))};
}

cv::Mat shrunk(const cv::Mat& picture, double long_side)
{
    const cv::Size size = sizeAtMost(picture.size(), long_side);
    cv::Mat small = picture;
    // Means of four pixels cost a tenth of what those of other areas do.
    while (small.cols >= 2 * size.width && small.rows >= 2 * size.height) {
        cv::Mat half;
        cv::resize(small, half, {}, 0.5, 0.5, cv::INTER_AREA);
        small = half;
    }
    if (small.size() == size) return small;
    // So near their size the pixels in between tell as much as all.
    const bool nearly = size.width > 0.6 * small.cols;
    cv::Mat result;
    cv::resize(small, result, size, 0, 0, nearly ? cv::INTER_LINEAR : cv::INTER_AREA);
    return result;
}

}  // namespace slipglass
