#include <algorithm>
#include <cmath>
#include <set>

#include "derive.h"

namespace slipglass {

namespace {

/// Half a 90 % interval is that many standard errors of a normal distribution.
constexpr double kHalf90 = 1.6449;
/// Standard errors of a photo where no interval is known, and of lengths, which have none: a fixed part and a
/// share. For coverage as intervals have it (docs/measured/intervals.md); for length a guess after it.
constexpr double kCoverageError = 0.15, kCoverageErrorShare = 0.12;  // percent
constexpr double kLengthError = 15.0, kLengthErrorShare = 0.12;      // mm
/// Share of that which differs from photo to photo; the rest is common to all photos of a tub and bends no
/// curve. On the sample renderings a tub reads too high or low by 15 %, and its photos differ by 4 % more.
/// With 1 forecasts of invented growth had spans a sixth wider, for 1 % more truths within.
constexpr double kBetweenPhotos = 0.7;
/// Photos that a forecast needs, and those among them that show roots.
constexpr int kForecastPhotos = 3, kForecastRootPhotos = 2;
/// Below this chance of getting there at all no day is named.
constexpr double kLeastChance = 1 / 3.0;

using OfPoint = std::optional<double> Observation::*;

double coverageError(const Observation& seen)
{
    if (seen.coverage_high && *seen.coverage_high > *seen.coverage_percent)
        return (*seen.coverage_high - *seen.coverage_percent) / kHalf90;
    return kCoverageError + kCoverageErrorShare * *seen.coverage_percent;
}

double errorOf(const Observation& seen, OfPoint figure)
{
    if (figure == &Observation::coverage_percent) return kBetweenPhotos * coverageError(seen);
    return kBetweenPhotos * (kLengthError + kLengthErrorShare * *(seen.*figure));
}

bool showsRoots(const Observation& seen, const SeasonSettings& settings)
{
    return rootsSeen(seen, settings).value_or(false);
}

/// Days with photos of the cutting, and those of them on which roots are seen.
struct Looks {
    std::set<Date> days, with_roots;
};

Looks looksOf(const Series& series, const SeasonSettings& settings)
{
    Looks looks;
    for (const auto& point : series.points) {
        if (!isOfCutting(point) || !point.seen.coverage_percent) continue;
        looks.days.insert(point.seen.taken.date);
        if (showsRoots(point.seen, settings)) looks.with_roots.insert(point.seen.taken.date);
    }
    return looks;
}

std::vector<GrowthPoint> growthPoints(const Series& series, OfPoint figure)
{
    std::vector<GrowthPoint> points;
    for (const auto& point : series.points)
        if (isOfCutting(point) && point.seen.*figure)
            points.push_back({static_cast<double>(daysBetween(*series.grows_from, point.seen.taken.date)),
                              *(point.seen.*figure), errorOf(point.seen, figure)});
    return points;
}

/// Between `now` and the photo that its change per day is reckoned from.
std::optional<double> relativeGrowth(const Series& series, size_t now, OfPoint figure,
                                     const SeasonSettings& settings)
{
    const auto& points = series.points;
    const auto grown = [&](size_t i) {
        return isOfCutting(points[i]) && points[i].seen.*figure && showsRoots(points[i].seen, settings);
    };
    if (!grown(now)) return std::nullopt;
    for (size_t before = now; before-- > 0;) {
        const int days = daysBetween(points[before].seen.taken.date, points[now].seen.taken.date);
        if (days == 0 || !isOfCutting(points[before]) || !(points[before].seen.*figure)) continue;
        if (!grown(before)) return std::nullopt;
        return relativeGrowthRate(*(points[before].seen.*figure), *(points[now].seen.*figure), days);
    }
    return std::nullopt;
}

void setPottingReached(const Series& series, SeriesPoint& point, const SeasonSettings& settings)
{
    const Observation& seen = point.seen;
    if (!isOfCutting(point)) return;
    if (seen.deepest_root_mm) point.deep_enough = *seen.deepest_root_mm <= settings.potting_base_mm;
    if (!seen.coverage_percent) return;
    point.potting_reached =
        series.struck && seen.taken.date >= series.struck->by &&
        *seen.coverage_percent >= settings.potting_coverage_percent &&
        seen.root_length_mm.value_or(settings.potting_length_mm) >= settings.potting_length_mm &&
        point.deep_enough.value_or(true);
}

std::optional<Date> reachedOn(const Series& series)
{
    std::optional<Date> since;
    for (const auto& point : series.points) {
        if (!point.potting_reached) continue;
        if (!*point.potting_reached) since.reset();
        if (*point.potting_reached && !since) since = point.seen.taken.date;
    }
    return since;
}

/// The day on which both coverage and length have passed. They grow together, so the later of the two counts,
/// quantile by quantile.
Crossing whenBothCross(const Series& series, int roots_seen, const SeasonSettings& settings)
{
    const auto coverage = growthPoints(series, &Observation::coverage_percent);
    const Crossing by_coverage = whenCrossed(coverage, roots_seen, settings.potting_coverage_percent);
    const auto length = growthPoints(series, &Observation::root_length_mm);
    if (length.size() < coverage.size()) return by_coverage;  // not always in mm
    const Crossing by_length = whenCrossed(length, roots_seen, settings.potting_length_mm);
    return {std::max(by_coverage.earliest, by_length.earliest),
            std::max(by_coverage.likely, by_length.likely), std::max(by_coverage.latest, by_length.latest),
            std::min(by_coverage.chance, by_length.chance)};
}

Date dateAfter(Date from, double days)
{
    return Date{std::chrono::sys_days{from} + std::chrono::days{static_cast<int>(days)}};
}

/// Why nothing can be foretold, before any reckoning; "" when there is something to reckon with.
std::string whyNoForecast(const Series& series, const Looks& looks)
{
    if (series.ended_on)
        return series.ended_on == series.potted_up_on ? "it is potted up" : "it was given up";
    if (series.state == StrikeState::no_photos) return "there is no photo that can tell";
    if (series.state == StrikeState::not_yet) return "it has not struck yet";
    if (looks.with_roots.size() < kForecastRootPhotos)
        return "roots are on one photo only; growth shows from two on";
    if (looks.days.size() < kForecastPhotos) return "there are two photos only; a forecast needs three";
    return {};
}

Potting pottingOf(const Series& series, const Looks& looks, const SeasonSettings& settings)
{
    Potting potting;
    potting.why_not = whyNoForecast(series, looks);
    potting.reached_on = reachedOn(series);
    if (potting.reached_on || !potting.why_not.empty()) return potting;
    const Crossing days = whenBothCross(series, static_cast<int>(looks.with_roots.size()), settings);
    potting.chance_percent = 100 * days.chance;
    if (days.chance < kLeastChance) {
        potting.why_not = "as it grows now it will likely stop before, or take more than " +
                          std::to_string(kForecastDays) + " days from the latest photo";
        return potting;
    }
    potting.earliest = dateAfter(*series.grows_from, std::floor(days.earliest));
    potting.likely = dateAfter(*series.grows_from, std::round(days.likely));
    potting.latest = dateAfter(*series.grows_from, std::ceil(days.latest));
    return potting;
}

}  // namespace

void setGrowth(Series& series, const SeasonSettings& settings)
{
    series.grows_from = series.cutting.stuck_on ? series.cutting.stuck_on : series.first_photo;
    for (size_t i = 0; i < series.points.size(); ++i) {
        SeriesPoint& point = series.points[i];
        point.coverage_relative_per_day = relativeGrowth(series, i, &Observation::coverage_percent, settings);
        point.root_length_relative_per_day =
            relativeGrowth(series, i, &Observation::root_length_mm, settings);
        setPottingReached(series, point, settings);
    }
    const Looks looks = looksOf(series, settings);
    if (!looks.with_roots.empty()) {
        series.coverage_growth = describeGrowth(growthPoints(series, &Observation::coverage_percent));
        series.root_length_growth = describeGrowth(growthPoints(series, &Observation::root_length_mm));
    }
    series.potting = pottingOf(series, looks, settings);
}

}  // namespace slipglass
