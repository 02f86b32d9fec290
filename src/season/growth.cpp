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

/// Empty where they are no such curves: what a season file has kept may come from anyone.
std::optional<std::vector<CurveFit>> curvesIn(const WorkedOut::Numbers& numbers)
{
    constexpr std::ptrdiff_t kHead = 6;
    std::vector<CurveFit> curves;
    for (auto at = numbers.begin(); at != numbers.end();) {
        if (numbers.end() - at < kHead) return std::nullopt;
        const double kind = at[0], points = at[1], parameters = at[4], errors = at[5];
        const bool line = kind == static_cast<double>(CurveKind::straight_line);
        const bool sigmoid = kind == static_cast<double>(CurveKind::logistic) ||
                             kind == static_cast<double>(CurveKind::gompertz);
        if (!(line || sigmoid) || parameters != (line ? 2 : 3) || !(errors == 0 || errors == parameters) ||
            !(points >= 0 && points <= 1e6))
            return std::nullopt;
        const auto of_parameters = static_cast<std::ptrdiff_t>(parameters),
                   of_errors = static_cast<std::ptrdiff_t>(errors);
        if (numbers.end() - at < kHead + of_parameters + of_errors) return std::nullopt;
        CurveFit fit;
        fit.kind = static_cast<CurveKind>(static_cast<int>(kind));
        fit.points = static_cast<int>(points);
        fit.residual_ss = at[2];
        fit.aicc = at[3];
        at += kHead;
        fit.parameters.assign(at, at + of_parameters);
        at += of_parameters;
        fit.standard_errors.assign(at, at + of_errors);
        at += of_errors;
        curves.push_back(std::move(fit));
    }
    return curves;
}

std::vector<CurveFit> curvesThrough(const std::vector<GrowthPoint>& points)
{
    WorkedOut::Numbers from{kReckoning};
    for (const GrowthPoint& point : points) from.insert(from.end(), {point.day, point.value, point.sd});
    const auto known = curvesIn(workedOut().of(from, [&] { return numbersOf(fitted(points)); }));
    return known ? *known : fitted(points);
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
