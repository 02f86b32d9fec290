#pragma once
#include <opencv2/core/mat.hpp>

namespace slipglass {

/// CIE L* a* b* of an sRGB picture: IEC 61966-2-1 transfer curve, white D65, 2 degree observer (CIE 15).
///
/// @param bgr  CV_8UC3, sRGB in OpenCV's channel order.
/// @return  CV_32FC3: L* 0 (black) .. 100 (white), a* green to red, b* blue to yellow.
/// @throws  std::invalid_argument when the picture is not CV_8UC3 (our bug).
cv::Mat labFromBgr(const cv::Mat& bgr);

/// The same for one colour.
cv::Vec3f labFromBgr(cv::Vec3b bgr);

/// Its L* alone, CV_32FC1, to 0.01 of what labFromBgr() says, in a third of the time.
/// @throws  likewise.
cv::Mat lightnessFromBgr(const cv::Mat& bgr);

/// CV_8UC1, 255 where a CV_8UC3 sRGB picture has more than this L*.
cv::Mat lighterThan(const cv::Mat& bgr, double lightness);

/// CIE luminance Y, 0 (black) .. 1 (white), of a lightness L* (CIE 15).
double luminance(double lightness);

}  // namespace slipglass
