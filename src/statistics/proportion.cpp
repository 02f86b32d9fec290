#include "slipglass/statistics/proportion.h"

#include <algorithm>
#include <boost/math/distributions/normal.hpp>
#include <cmath>
#include <stdexcept>

namespace slipglass {

namespace {

double rateOf(Share share)
{
    if (share.of <= 0 || share.struck < 0 || share.struck > share.of)
        throw std::invalid_argument("a share must be 0 <= struck <= of, of > 0");
    return static_cast<double>(share.struck) / share.of;
}

double squared(double x)
{
    return x * x;
}

}  // namespace

Limits wilsonLimits(Share share, double confidence)
{
    const double p = rateOf(share), n = share.of;
    const double z = boost::math::quantile(boost::math::normal(), 0.5 + confidence / 2);
    const double middle = (p + z * z / (2 * n)) / (1 + z * z / n);
    const double half = z / (1 + z * z / n) * std::sqrt(p * (1 - p) / n + z * z / (4 * n * n));
    // Both ends are exact where they are known to be, not off by a rounding error.
    return {share.struck == 0 ? 0.0 : std::max(0.0, middle - half),
            share.struck == share.of ? 1.0 : std::min(1.0, middle + half)};
}

Difference newcombeDifference(Share a, Share b, double confidence)
{
    return differenceWithin({{a, b}}, confidence);
}

Difference differenceWithin(const std::vector<BlockOfTwo>& blocks, double confidence)
{
    double all = 0;
    for (const auto& [a, b] : blocks)
        if (a.of > 0 && b.of > 0) all += static_cast<double>(a.of) * b.of / (a.of + b.of);
    if (all <= 0) throw std::invalid_argument("no block holds both groups");

    Difference difference;
    double below = 0, above = 0;
    for (const auto& [a, b] : blocks) {
        if (a.of == 0 || b.of == 0) continue;
        const double weight = static_cast<double>(a.of) * b.of / (a.of + b.of) / all;
        const Limits limits_a = wilsonLimits(a, confidence), limits_b = wilsonLimits(b, confidence);
        difference.value += weight * (rateOf(a) - rateOf(b));
        below += squared(weight) * (squared(rateOf(a) - limits_a.low) + squared(limits_b.high - rateOf(b)));
        above += squared(weight) * (squared(limits_a.high - rateOf(a)) + squared(rateOf(b) - limits_b.low));
    }
    difference.limits = {std::max(-1.0, difference.value - std::sqrt(below)),
                         std::min(1.0, difference.value + std::sqrt(above))};
    return difference;
}

}  // namespace slipglass
