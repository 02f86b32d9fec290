#pragma once
#include <opencv2/core/mat.hpp>
#include <optional>
#include <utility>
#include <vector>

namespace slipglass {

/// x = at + slope * (y - y0), px.
struct SideLine {
    double at = 0, slope = 0, y0 = 0;
    double xAt(double y) const { return at + slope * (y - y0); }
};

/// The tub's sides in a picture, before perspective is known.
struct Outline {
    SideLine left, right;
    double top = 0;        ///< row where medium ends, roughly
    double bottom = 0;     ///< lowest row of the medium on the tub's axis, roughly
    bool cut_off = false;  ///< the block runs on beyond the picture's edge
    double width() const { return right.xAt((top + bottom) / 2) - left.xAt((top + bottom) / 2); }
};

/// From the share-of-medium map (CV_32F): the two sides as lines that most rows agree on.
/// Empty when no two such lines enclose a block narrower below than above.
std::optional<Outline> coarseOutline(const cv::Mat& medium_probability);

Outline scaledOutline(const Outline& outline, double factor);

/// A band of the picture along one side, sheared so that the line runs straight down the middle: row i is
/// picture row top + i, column j lies j - half px to the right of the line.
struct SideBand {
    /// CV_32F, change of colour across the band per px, evened out along the side (a tub's edge is straight,
    /// grains and noise are not) and clipped, so that a faint edge of clear plastic counts like a strong one.
    cv::Mat contrast;
    SideLine line;
    double top = 0;
    int half = 0;
    bool is_left = true;
};

/// @param lab  CV_32FC3 CIE L*a*b*.
SideBand bandAlong(const cv::Mat& lab, const SideLine& line, double top, double bottom, int half,
                   bool is_left);

struct Side {
    SideLine line;
    /// How much stronger the contrast is on the line than just outside it, 0..1. Texture within a tub raises
    /// both, a plain background neither; only the outermost edge of the tub stands out.
    double evidence = 0;
};

/// The lines with the best evidence within `reach` px of the band's middle at either end, best first, no two
/// alike.
std::vector<Side> bestSides(const SideBand& band, double reach, size_t most);

/// The left and right line that together have most evidence and lean alike: a tub stands nearly upright and
/// tapers the same on both sides, the edge of a thing behind it seldom fits.
std::pair<Side, Side> matchedSides(const std::vector<Side>& left, const std::vector<Side>& right);

/// Points on a side, where the contrast peaks within `reach` px of the line, one every few rows, picture px.
std::vector<cv::Point2d> sidePoints(const SideBand& band, const SideLine& line, double reach);

}  // namespace slipglass
