#include "slipglass/verify/overlap.h"

#include <opencv2/core.hpp>
#include <stdexcept>

#include "share.h"
#include "slipglass/panel/in_mask.h"

namespace slipglass {

namespace {

/// Harmonic mean; empty when either is unknown.
std::optional<double> harmonic(std::optional<double> a, std::optional<double> b)
{
    if (!a || !b) return std::nullopt;
    return *a + *b > 0 ? 2 * *a * *b / (*a + *b) : 0.0;
}

}  // namespace

Overlap& Overlap::operator+=(const Overlap& other)
{
    both += other.both;
    found += other.found;
    drawn += other.drawn;
    found_near_drawn += other.found_near_drawn;
    drawn_near_found += other.drawn_near_found;
    return *this;
}

Overlap overlapOf(const cv::Mat& found, const cv::Mat& drawn, int tolerance_px)
{
    if (found.size() != drawn.size()) throw std::invalid_argument("masks differ in size");
    Overlap overlap;
    overlap.both = cv::countNonZero(found & drawn);
    overlap.found = cv::countNonZero(found);
    overlap.drawn = cv::countNonZero(drawn);
    overlap.found_near_drawn = cv::countNonZero(found & dilated(drawn, tolerance_px));
    overlap.drawn_near_found = cv::countNonZero(drawn & dilated(found, tolerance_px));
    return overlap;
}

Shares sharesOf(const Overlap& o)
{
    const auto both = static_cast<double>(o.both), found = static_cast<double>(o.found),
               drawn = static_cast<double>(o.drawn);
    return {share(2 * both, found + drawn), share(both, found + drawn - both), share(both, found),
            share(both, drawn)};
}

Shares tolerantSharesOf(const Overlap& o)
{
    Shares shares;
    shares.precision = share(static_cast<double>(o.found_near_drawn), static_cast<double>(o.found));
    shares.recall = share(static_cast<double>(o.drawn_near_found), static_cast<double>(o.drawn));
    // One side empty: all of the other is wrong, as it is without tolerance.
    if (o.found + o.drawn > 0)
        shares.dice = harmonic(shares.precision.value_or(0), shares.recall.value_or(0));
    if (shares.dice) shares.iou = *shares.dice / (2 - *shares.dice);
    return shares;
}

}  // namespace slipglass
