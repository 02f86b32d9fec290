#pragma once
#include <algorithm>

#include "slipglass/observation.h"

namespace slipglass {

/// 90 % interval of a coverage, percent.
struct CoverageInterval {
    double low, high;
};

/// A part that stays, for grains taken for roots, and one that grows with the roots, for their edges.
/// Measured: docs/measured/intervals.md; it holds as well on a third of a wall.
/// @param photos_read  photos of the wall that had a say, this one included.
inline CoverageInterval coverageInterval(double percent, int photos_read, State state)
{
    struct Spread {
        double stays, grows;
    };
    const Spread spread = photos_read >= 3 ? Spread{0.1, 0.13} : Spread{0.3, 0.2};
    const double caution = state == State::caution ? 2 : 1;
    const double half = caution * (spread.stays + spread.grows * percent);
    // On the only photo of a wall, straw or fibres that were there from the start may be all of it.
    const double low = photos_read > 1 ? percent - half : 0;
    return {std::max(0.0, low), std::min(100.0, percent + half)};
}

}  // namespace slipglass
