#pragma once
#include <optional>
#include <vector>

#include "slipglass/statistics/curves.h"
#include "slipglass/statistics/trend.h"

namespace slipglass {

/// A figure of one cutting on one photo.
struct GrowthPoint {
    double day = 0;    ///< since it was stuck, or since its first photo where that is not known
    double value = 0;  ///< coverage in percent, or root length in mm
    double sd = 1;     ///< standard error of `value`, above 0
};

/// How a figure grew, as far as the photos can tell.
struct Growth {
    int photos = 0;  ///< that it rests on, of different days
    /// Straight line, logistic and Gompertz curve, those that rise and could be fitted, best first by AICc.
    /// Empty below kPhotosForCurve photos.
    std::vector<CurveFit> curves;
    /// Where there are too few photos for a curve and three or more: per day.
    std::optional<Trend> trend;
    std::optional<MannKendall> trend_test;
};

/// The criterion needs two photos more than a three-parameter curve and its residual variance have values.
constexpr int kPhotosForCurve = 6;

/// @param points  in order of time; several on one day are the same look, each counts.
Growth describeGrowth(const std::vector<GrowthPoint>& points);

/// Relative growth rate per day between two photos: (ln w2 - ln w1) / (t2 - t1). Empty when a value is not
/// above 0 or no day lies between. Source: Hunt 1982, Plant Growth Curves (from memory); the classical
/// formula of Blackman and Fisher.
std::optional<double> relativeGrowthRate(double before, double now, int days);

/// Days in which a figure that grows at this relative rate doubles; empty when it does not grow.
std::optional<double> doublingDays(std::optional<double> relative_growth_per_day);

}  // namespace slipglass
