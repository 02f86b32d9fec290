#pragma once
#include <opencv2/core/mat.hpp>
#include <optional>

namespace slipglass {

/// Pixels of two masks, compared where both can be seen: `found` by the program, `drawn` as truth.
struct Overlap {
    long both = 0, found = 0, drawn = 0;
    long found_near_drawn = 0, drawn_near_found = 0;  ///< within the tolerance of the other mask

    Overlap& operator+=(const Overlap& other);
};

/// @param found,drawn   CV_8UC1, 0 or 255, one size.
/// @param tolerance_px  >= 0; near means within OpenCV's ellipse of side 2 x tolerance + 1.
Overlap overlapOf(const cv::Mat& found, const cv::Mat& drawn, int tolerance_px);

/// 0..1 each, empty where it is 0/0: with nothing found there is no precision, with nothing drawn no recall,
/// with neither no Dice. Dice (1945) = 2 both / (found + drawn); IoU (Jaccard 1901) = both / either.
struct Shares {
    std::optional<double> dice, iou, precision, recall;
};
Shares sharesOf(const Overlap& overlap);
/// The same forgiving the tolerance: Dice is the harmonic mean of the tolerant precision and recall, IoU is
/// Dice / (2 - Dice).
Shares tolerantSharesOf(const Overlap& overlap);

}  // namespace slipglass
