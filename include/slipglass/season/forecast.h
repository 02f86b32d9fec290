#pragma once
#include <optional>
#include <string>
#include <vector>

#include "slipglass/date.h"
#include "slipglass/season/growth.h"

namespace slipglass {

/// When a figure passes a threshold, in days on the scale of the points.
struct Crossing {
    /// Of growth that gets there within kForecastDays of the last point, one course in ten does so before
    /// `earliest`, one in two before `likely`, nine in ten before `latest`.
    double earliest = 0, likely = 0, latest = 0;
    double chance = 0;  ///< that it gets there within those days, 0..1; at 0 there are no days
};

/// Nothing is said about days farther ahead than this. Common practice: cuttings stand six to ten weeks.
constexpr int kForecastDays = 90;

/// When a growing figure passes `threshold`. Many courses of growth (logistic, Gompertz, straight line from a
/// day on; see forecast.cpp) are weighed by how well they fit the points; the days on which they cross give
/// the quantiles. What is foretold is the figure as photos show it, without the error of a single photo.
/// Deterministic. How good it is: docs/measured/forecasts.md.
/// @param points     two or more with roots, of different days.
/// @param roots_seen how many of them show roots.
/// @param threshold  above 0, in the unit of the values.
Crossing whenCrossed(const std::vector<GrowthPoint>& points, int roots_seen, double threshold);

/// When a cutting can be potted up.
struct Potting {
    /// First photo of the latest run of photos on which every figure that is known has passed its threshold.
    std::optional<Date> reached_on;
    /// The day on which coverage and length will both have passed, if growth goes on: 80 % prediction
    /// interval and its middle, in which a growth that gets there within kForecastDays of the latest photo
    /// does so. Never given together with `reached_on`.
    std::optional<Date> earliest, likely, latest;
    std::optional<double> chance_percent;  ///< that it gets there within kForecastDays
    std::string why_not;  ///< why there is no date to foretell, in words; "" when there is one
};

}  // namespace slipglass
