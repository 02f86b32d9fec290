#include "slipglass/season/series.h"

#include <algorithm>
#include <map>
#include <set>
#include <tuple>

#include "slipglass/season/figures.h"

namespace slipglass {

namespace {

Observation onlyFinite(Observation seen)
{
    for (const auto& figure : kFigures) seen.*figure.value = finite(seen.*figure.value);
    return seen;
}

using Tubs = std::map<std::string, std::vector<Observation>>;

Tubs byTub(const std::vector<Observation>& observations)
{
    Tubs tubs;
    for (const auto& seen : observations) tubs[seen.tub].push_back(onlyFinite(seen));
    for (auto& [tub, of_tub] : tubs) std::sort(of_tub.begin(), of_tub.end(), takenBefore);
    return tubs;
}

/// Change per day between the newest two days that know `figure`, up to and including `now`; empty when `now`
/// does not know it. Two photos of one day say nothing about a change per day.
std::optional<double> changePerDay(const std::vector<Observation>& seen, size_t now,
                                   std::optional<double> Observation::*figure)
{
    if (!usable(seen[now]) || !(seen[now].*figure)) return std::nullopt;
    for (size_t before = now; before-- > 0;) {
        const int days = daysBetween(seen[before].taken.date, seen[now].taken.date);
        if (days > 0 && usable(seen[before]) && seen[before].*figure)
            return (*(seen[now].*figure) - *(seen[before].*figure)) / days;
    }
    return std::nullopt;
}

std::vector<SeriesPoint> pointsOf(const std::vector<Observation>& seen, const std::optional<Date>& stuck_on)
{
    std::vector<SeriesPoint> points;
    for (size_t i = 0; i < seen.size(); ++i) {
        SeriesPoint point;
        point.seen = seen[i];
        if (stuck_on) point.days_since_stuck = daysBetween(*stuck_on, seen[i].taken.date);
        point.coverage_percent_per_day = changePerDay(seen, i, &Observation::coverage_percent);
        point.root_length_mm_per_day = changePerDay(seen, i, &Observation::root_length_mm);
        points.push_back(std::move(point));
    }
    return points;
}

void findStrike(Series& series, const SeasonSettings& settings)
{
    std::optional<Date> without = series.cutting.stuck_on;  // last day known to be without roots
    std::optional<Strike> maybe;
    for (const auto& point : series.points) {
        const auto& seen = point.seen;
        if (!usable(seen)) continue;
        const std::optional<bool> roots = rootsSeen(seen, settings);
        if (!roots) continue;
        if (!*roots) {
            maybe.reset();
            without = seen.taken.date;
            continue;
        }
        if (!series.roots_first_seen) series.roots_first_seen = seen.taken.date;
        if (!maybe) maybe = Strike{without, seen.taken.date, seen.taken.date};
        // A second photo of the same day is the same look again, so it confirms nothing.
        if (seen.taken.date > maybe->by) {
            maybe->confirmed = seen.taken.date;
            series.struck = maybe;
            return;
        }
    }
}

int standingWaterDays(const std::vector<SeriesPoint>& points)
{
    int days = 0;
    std::optional<Date> previous;  // latest day of the run under way
    for (const auto& point : points) {
        if (!usable(point.seen) || !point.seen.standing_water) continue;
        const Date date = point.seen.taken.date;
        if (*point.seen.standing_water) {
            days += previous ? daysBetween(*previous, date) : 1;
            previous = date;
        } else {
            previous.reset();
        }
    }
    return days;
}

Series seriesOf(const PlannedCutting& cutting, bool in_plan, const std::vector<Observation>& seen,
                const SeasonSettings& settings)
{
    Series series;
    series.cutting = cutting;
    series.in_plan = in_plan;
    series.points = pointsOf(seen, cutting.stuck_on);
    if (!seen.empty()) {
        series.first_photo = seen.front().taken.date;
        series.latest_photo = seen.back().taken.date;
        series.days_since_stuck = series.points.back().days_since_stuck;
    }
    findStrike(series, settings);
    series.standing_water_days = standingWaterDays(series.points);
    return series;
}

}  // namespace

std::optional<bool> rootsSeen(const Observation& seen, const SeasonSettings& settings)
{
    if (!seen.coverage_percent) return std::nullopt;
    const bool alone = seen.photos_read == 1;
    return *seen.coverage_percent >
           (alone ? settings.detection_limit_alone_percent : settings.detection_limit_percent);
}

bool takenBefore(const Observation& a, const Observation& b)
{
    return std::tie(a.taken, a.photo, a.tub) < std::tie(b.taken, b.photo, b.tub);
}

bool usable(const Observation& seen)
{
    return seen.state != State::retake;
}

const SeriesPoint* latestKnown(const Series& series, std::optional<double> Observation::*figure)
{
    const auto known = std::find_if(
        series.points.rbegin(), series.points.rend(),
        [&](const SeriesPoint& point) { return usable(point.seen) && (point.seen.*figure).has_value(); });
    return known == series.points.rend() ? nullptr : &*known;
}

std::vector<Series> buildSeries(const std::vector<Observation>& observations, const std::optional<Plan>& plan,
                                const SeasonSettings& settings)
{
    Tubs tubs = byTub(observations);
    std::map<std::string, int> cuttings_in_tub;
    std::vector<Series> all;
    if (plan) {
        for (const auto& cutting : plan->cuttings) {
            ++cuttings_in_tub[cutting.tub];
            const auto seen = tubs.find(cutting.tub);
            all.push_back(seriesOf(cutting, true,
                                   seen == tubs.end() ? std::vector<Observation>{} : seen->second, settings));
        }
    }
    for (const auto& [tub, seen] : tubs) {
        if (cuttings_in_tub.count(tub) != 0) continue;
        PlannedCutting cutting;
        cutting.cutting = cutting.tub = tub;
        all.push_back(seriesOf(cutting, false, seen, settings));
    }
    for (auto& series : all)
        if (series.in_plan) series.cuttings_in_tub = cuttings_in_tub[series.cutting.tub];
    return all;
}

std::vector<std::string> seriesWarnings(const std::vector<Series>& series, bool have_plan)
{
    std::vector<std::string> warnings;
    for (const auto& one : series) {
        if (have_plan && !one.in_plan)
            warnings.push_back(one.cutting.tub +
                               ": this tub is on photos and not in the plan; add a row for it, or "
                               "correct the name on its photos");
        const auto older = std::count_if(one.points.begin(), one.points.end(), [](const SeriesPoint& point) {
            return point.days_since_stuck && *point.days_since_stuck < 0;
        });
        if (older > 0)
            warnings.push_back(one.cutting.cutting + ": " + std::to_string(older) +
                               " photo(s) from before it was stuck on " + isoDate(*one.cutting.stuck_on) +
                               "; check the dates");
    }
    return warnings;
}

}  // namespace slipglass
