#include "slipglass/panel/colour.h"

#include <cmath>
#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>
#include <stdexcept>

namespace slipglass {

namespace {

/// Linear light 0..1 of the 256 sRGB levels (IEC 61966-2-1).
cv::Mat linearLight()
{
    cv::Mat table(1, 256, CV_32F);
    for (int level = 0; level < 256; ++level) {
        const double v = level / 255.0;
        table.at<float>(level) =
            static_cast<float>(v <= 0.04045 ? v / 12.92 : std::pow((v + 0.055) / 1.055, 2.4));
    }
    return table;
}

}  // namespace

// OpenCV's own step from sRGB to Lab reads a coarse table (33 nodes a channel) and errs by up to 0.2 on the
// colours of tests/data/reference/01-srgb-lab.csv; from linear light it computes exactly.
cv::Mat labFromBgr(const cv::Mat& bgr)
{
    if (bgr.type() != CV_8UC3) throw std::invalid_argument("bgr is not CV_8UC3");
    if (bgr.empty()) return {};
    static const cv::Mat table = linearLight();
    cv::Mat linear, lab;
    cv::LUT(bgr, table, linear);
    cv::cvtColor(linear, lab, cv::COLOR_LBGR2Lab);
    return lab;
}

cv::Vec3f labFromBgr(cv::Vec3b bgr)
{
    return labFromBgr(cv::Mat(1, 1, CV_8UC3, cv::Scalar(bgr[0], bgr[1], bgr[2]))).at<cv::Vec3f>(0, 0);
}

cv::Mat lighterThan(const cv::Mat& bgr, double lightness)
{
    if (bgr.type() != CV_8UC3) throw std::invalid_argument("bgr is not CV_8UC3");
    static const cv::Mat table = linearLight();
    // Y of linear sRGB, IEC 61966-2-1.
    const cv::Mat blue = 0.0722 * table, green = 0.7152 * table, red = 0.2126 * table;
    const auto *b = blue.ptr<float>(), *g = green.ptr<float>(), *r = red.ptr<float>();
    const auto least = static_cast<float>(luminance(lightness));
    cv::Mat lighter(bgr.size(), CV_8U);
    for (int y = 0; y < bgr.rows; ++y) {
        const uchar* px = bgr.ptr(y);
        uchar* out = lighter.ptr(y);
        for (int x = 0; x < bgr.cols; ++x, px += 3) out[x] = b[px[0]] + g[px[1]] + r[px[2]] > least ? 255 : 0;
    }
    return lighter;
}

double luminance(double lightness)
{
    return lightness > 8 ? std::pow((lightness + 16) / 116, 3) : lightness / 903.3;
}

}  // namespace slipglass
