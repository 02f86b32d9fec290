#pragma once
#include <opencv2/core/mat.hpp>
#include <optional>

namespace slipglass {

/// Centre lines of the white areas of a mask, one pixel wide, without short spurs.
///
/// Thinning after Guo & Hall (1989), Communications of the ACM 32(3):359-373. A spur (from a free end to the
/// first fork) shorter than the mask is wide at that fork is an artefact of a rough edge and is taken off.
/// What lies outside the picture counts as black, so a root cut by the edge ends there.
///
/// @param mask  CV_8UC1, 0 or 255.
/// @return  CV_8UC1, same size, 255 on a centre line. Every white area keeps at least one pixel.
/// @throws  std::invalid_argument when the mask is not CV_8UC1 (our bug).
cv::Mat skeletonOf(const cv::Mat& mask);

/// Length along centre lines, from end pixel's centre to end pixel's centre, px.
///
/// Corner-count estimator of Vossepoel & Smeulders (1982), Computer Graphics and Image Processing 20:347-364:
/// 0.980 n_e + 1.406 n_o - 0.091 n_c over even (horizontal, vertical) steps, odd (diagonal) steps and changes
/// between the two. Chosen over 0.948 x Freeman (Kulpa 1977) because a straight line of any direction comes
/// out within -2 % .. +1 % (RMS 0.7 %), instead of -5 % .. +3 % (RMS 2.3 %). A diagonal step counts only
/// where no two even steps join the same pixels, so forks are not counted twice. A single pixel has length 0.
///
/// @param skeleton  CV_8UC1, non-zero on lines one pixel wide.
double centreLineLengthPx(const cv::Mat& skeleton);

/// What thinning took off the free ends, px: a skeleton stops short of its shape's edge by the radius of the
/// largest disc round the end that fits into the mask, whether the end is square or round. A single pixel has
/// two ends; a ring has none.
double endCorrectionPx(const cv::Mat& mask, const cv::Mat& skeleton);

/// Length of the roots of a mask, tip to tip: centreLineLengthPx + endCorrectionPx.
double rootLengthPx(const cv::Mat& mask, const cv::Mat& skeleton);

/// An independent check of length that looks at nothing but crossings: Newman (1966), J. Appl. Ecol.
/// 3:139-145, R = pi N A / (2 H), which for a square grid is pi / 4 x crossings x grid. Right in the mean
/// over all directions; a single straight line comes out 0.785 to 1.111 times too long.
///
/// @param skeleton  CV_8UC1, non-zero on lines one pixel wide.
/// @param grid_px   distance of the grid's lines, >= 1.
double lineIntersectLengthPx(const cv::Mat& skeleton, int grid_px);

/// Mean width of the roots of a mask, weighted by length, px: area / length. Empty when there is no root.
/// Twice the distance transform on the centre line was tried and lost (tests/roots/test_length.cpp): it can
/// take few values on thin roots and errs by up to a pixel.
std::optional<double> meanWidthPx(const cv::Mat& mask, const cv::Mat& skeleton);

}  // namespace slipglass
