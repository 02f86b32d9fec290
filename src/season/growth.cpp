#include "slipglass/season/growth.h"

#include <algorithm>
#include <cmath>
#include <set>

#include "slipglass/season/worked_out.h"

namespace slipglass {

namespace {

constexpr int kPhotosForTrend = 3;

/// A curve that falls describes no growth: roots do not shrink back along a logistic curve.
bool rises(const CurveFit& fit)
{
    if (fit.kind == CurveKind::straight_line) return fit.parameters[1] > 0;
    return fit.parameters[0] > 0 && fit.parameters[2] > 0;
}

std::vector<CurveFit> fitted(const std::vector<GrowthPoint>& points)
{
    std::vector<CurvePoint> to_fit;
    to_fit.reserve(points.size());
    for (const auto& point : points) to_fit.push_back({point.day, point.value, point.sd});
    std::vector<CurveFit> curves;
    for (const CurveKind kind : {CurveKind::straight_line, CurveKind::logistic, CurveKind::gompertz}) {
        auto fit = fitCurve(kind, to_fit);
        if (fit && fit->aicc && rises(*fit)) curves.push_back(std::move(*fit));
    }
    std::stable_sort(curves.begin(), curves.end(),
                     [](const CurveFit& a, const CurveFit& b) { return *a.aicc < *b.aicc; });
    return curves;
}

/// Raise it by one when the code, or fitCurve, gives other curves through the same points.
constexpr double kReckoning = 2001;

WorkedOut::Numbers numbersOf(const std::vector<CurveFit>& curves)
{
    WorkedOut::Numbers numbers;
    for (const CurveFit& fit : curves) {
        numbers.insert(numbers.end(), {static_cast<double>(fit.kind), static_cast<double>(fit.points),
                                       fit.residual_ss, *fit.aicc, static_cast<double>(fit.parameters.size()),
                                       static_cast<double>(fit.standard_errors.size())});
        numbers.insert(numbers.end(), fit.parameters.begin(), fit.parameters.end());
        numbers.insert(numbers.end(), fit.standard_errors.begin(), fit.standard_errors.end());
    }
    return numbers;
}

std::vector<CurveFit> curvesIn(const WorkedOut::Numbers& numbers)
{
    std::vector<CurveFit> curves;
    size_t at = 0;
    const auto next = [&] { return numbers.at(at++); };
    while (at < numbers.size()) {
        CurveFit fit;
        fit.kind = static_cast<CurveKind>(static_cast<int>(next()));
        fit.points = static_cast<int>(next());
        fit.residual_ss = next();
        fit.aicc = next();
        fit.parameters.resize(static_cast<size_t>(next()));
        fit.standard_errors.resize(static_cast<size_t>(next()));
        for (auto* values : {&fit.parameters, &fit.standard_errors})
            for (double& value : *values) value = next();
        curves.push_back(std::move(fit));
    }
    return curves;
}

std::vector<CurveFit> curvesThrough(const std::vector<GrowthPoint>& points)
{
    WorkedOut::Numbers from{kReckoning};
    for (const GrowthPoint& point : points) from.insert(from.end(), {point.day, point.value, point.sd});
    return curvesIn(workedOut().of(from, [&] { return numbersOf(fitted(points)); }));
}

}  // namespace

Growth describeGrowth(const std::vector<GrowthPoint>& points)
{
    std::set<double> days;
    std::vector<double> x, y;
    for (const auto& point : points) {
        days.insert(point.day);
        x.push_back(point.day);
        y.push_back(point.value);
    }
    Growth growth;
    growth.photos = static_cast<int>(days.size());
    if (growth.photos >= kPhotosForCurve) growth.curves = curvesThrough(points);
    if (growth.photos >= kPhotosForTrend && growth.photos < kPhotosForCurve) {
        growth.trend = theilSen(x, y);
        growth.trend_test = mannKendall(y);
    }
    return growth;
}

std::optional<double> relativeGrowthRate(double before, double now, int days)
{
    if (before <= 0 || now <= 0 || days <= 0) return std::nullopt;
    return (std::log(now) - std::log(before)) / days;
}

std::optional<double> doublingDays(std::optional<double> relative_growth_per_day)
{
    if (!relative_growth_per_day || *relative_growth_per_day <= 0) return std::nullopt;
    return std::log(2.0) / *relative_growth_per_day;
}

}  // namespace slipglass
