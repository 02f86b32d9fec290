#pragma once
#include <array>
#include <opencv2/core/mat.hpp>
#include <vector>

namespace slipglass {

/// One of the three nested squares in the corners of a QR code (ISO/IEC 18004: 7 modules dark, 5 light, 3
/// dark).
struct FinderPattern {
    cv::Point2d centre;                  ///< px
    std::array<cv::Point2d, 4> corners;  ///< of the outer square, px, in an order of no meaning
    double side = 0;                     ///< mean side of the outer square, px
};

/// Three finder patterns that stand as a QR code's do.
struct CodeCandidate {
    FinderPattern top_left, top_right, bottom_left;
    double modules =
        0;  ///< side of the code as estimated from their distances; true values are 17 + 4 * version
};

/// Least side, px.
constexpr double kSmallestFinder = 14;

/// All nested squares of that side to 160 px in a grey picture (CV_8UC1).
/// @param small_only  only those up to twice that side, which takes half the time.
std::vector<FinderPattern> findFinderPatterns(const cv::Mat& grey, bool small_only);

/// Triples that may belong to one code, the most regular first. A pattern may be in several: reading decides.
std::vector<CodeCandidate> groupFinderPatterns(const std::vector<FinderPattern>& finders);

/// The corners of a finder pattern in the order of the axes: nearest the origin, along `right`, along both,
/// along `down`.
std::array<cv::Point2d, 4> cornersAlong(const FinderPattern& finder, cv::Point2d right, cv::Point2d down);

}  // namespace slipglass
