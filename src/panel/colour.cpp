#include "slipglass/panel/colour.h"

#include <algorithm>
#include <cmath>
#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>
#include <stdexcept>
#include <vector>

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

/// What each level of blue, green and red adds to the luminance of linear sRGB (IEC 61966-2-1).
struct LuminanceTables {
    cv::Mat blue = 0.0722 * linearLight(), green = 0.7152 * linearLight(), red = 0.2126 * linearLight();
};

/// Calls each(luminance, value of `out`) for every pixel.
template <class Out, class Each>
cv::Mat ofLuminance(const cv::Mat& bgr, int type, const Each& each)
{
    if (bgr.type() != CV_8UC3) throw std::invalid_argument("bgr is not CV_8UC3");
    static const LuminanceTables tables;
    const auto *b = tables.blue.ptr<float>(), *g = tables.green.ptr<float>(), *r = tables.red.ptr<float>();
    cv::Mat made(bgr.size(), type);
    for (int y = 0; y < bgr.rows; ++y) {
        const uchar* px = bgr.ptr(y);
        auto* out = made.ptr<Out>(y);
        for (int x = 0; x < bgr.cols; ++x, px += 3) out[x] = each(b[px[0]] + g[px[1]] + r[px[2]]);
    }
    return made;
}

/// L* of a luminance 0..1 (CIE 15).
double lightnessOf(double luminance)
{
    return luminance > 216.0 / 24389 ? 116 * std::cbrt(luminance) - 16 : 24389.0 / 27 * luminance;
}

constexpr int kNodes = 1 << 14;  // between which L* is a line to 4e-5

std::vector<float> lightnessAtNodes()
{
    std::vector<float> table;
    for (int i = 0; i <= kNodes + 1; ++i)
        table.push_back(static_cast<float>(lightnessOf(std::min(1.0, static_cast<double>(i) / kNodes))));
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

cv::Mat lightnessFromBgr(const cv::Mat& bgr)
{
    static const std::vector<float> table = lightnessAtNodes();
    return ofLuminance<float>(bgr, CV_32F, [](float luminance) {
        const float at = luminance * kNodes;
        const int node = static_cast<int>(at);
        const float* near = &table[static_cast<size_t>(node)];
        return near[0] + (at - static_cast<float>(node)) * (near[1] - near[0]);
    });
}

cv::Mat lighterThan(const cv::Mat& bgr, double lightness)
{
    const auto least = static_cast<float>(luminance(lightness));
    return ofLuminance<uchar>(bgr, CV_8U,
                              [&](float luminance) -> uchar { return luminance > least ? 255 : 0; });
}

double luminance(double lightness)
{
    return lightness > 8 ? std::pow((lightness + 16) / 116, 3) : lightness / 903.3;
}

}  // namespace slipglass
