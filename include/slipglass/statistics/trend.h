#pragma once
#include <optional>
#include <vector>

#include "slipglass/statistics/proportion.h"

namespace slipglass {

/// The middle value, or the mean of the two in the middle. @param values  one or more.
double median(std::vector<double> values);

struct Trend {
    double slope = 0;
    Limits limits;         ///< of the slope
    double intercept = 0;  ///< median(y) - slope * median(x)
};

/// The median of the slopes between all pairs of points of different x, with the limits that Kendall's
/// distribution gives. Empty when no two points differ in x.
/// Source: Theil 1950; Sen, JASA 63:1379-1389, 1968.
/// @throws  std::invalid_argument when x and y differ in number (our bug).
std::optional<Trend> theilSen(const std::vector<double>& x, const std::vector<double>& y,
                              double confidence = kConfidence);

struct MannKendall {
    int s = 0;            ///< pairs that rise less pairs that fall
    double variance = 0;  ///< of s if there is no trend, equal values allowed for
    double z = 0;         ///< one nearer to 0 than s / its standard deviation (continuity correction)
    double p = 1;         ///< two-sided
    bool exact = false;   ///< p from all orders of these values; else from z
};

/// Whether values in time order rise or fall. Fewer than two different values give p 1.
/// Source: Mann 1945; Kendall 1975. Exact up to 50 different values, or 9 with equal ones.
MannKendall mannKendall(const std::vector<double>& y);

}  // namespace slipglass
