#include "slipglass/season/series.h"

#include <algorithm>
#include <map>
#include <set>
#include <tuple>

#include "derive.h"
#include "slipglass/folded_name.h"
#include "slipglass/season/figures.h"

namespace slipglass {

namespace {

Observation onlyFinite(Observation seen)
{
    for (const auto& figure : kFigures) seen.*figure.value = finite(seen.*figure.value);
    for (PartFigures& part : seen.parts)
        for (const auto& figure : kPartFigures) part.*figure.value = finite(part.*figure.value);
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

std::optional<Date> earlier(std::optional<Date> a, std::optional<Date> b)
{
    if (!a || !b) return a ? a : b;
    return std::min(*a, *b);
}

/// What was done to its tub, and so to the cutting; not what is said of another one alone. Water and weight
/// are the whole tub's.
void setCare(Series& series, const CareLog& log)
{
    for (const CareEvent& event : log.events) {
        const bool of_another = !event.cutting.empty() && event.cutting != series.cutting.cutting;
        const bool of_one =
            event.what == Care::given_up || event.what == Care::potted_up || event.what == Care::noted;
        if (event.tub == series.cutting.tub && !(of_one && of_another)) series.care.push_back(event);
    }
    series.weight = weighingsOf(series.care);
}

void setEnd(Series& series)
{
    series.given_up_on = series.cutting.given_up_on;
    series.potted_up_on = series.cutting.potted_up_on;
    for (const CareEvent& event : series.care) {
        if (event.what == Care::given_up) series.given_up_on = earlier(series.given_up_on, event.date);
        if (event.what == Care::potted_up) series.potted_up_on = earlier(series.potted_up_on, event.date);
    }
    series.ended_on = earlier(series.given_up_on, series.potted_up_on);
}

/// What the photos of its tub say of a cutting for as long as it stood in it.
void setPoints(Series& series, std::vector<Observation> seen)
{
    if (!series.part.empty())
        for (Observation& one : seen)
            one = seenOfCutting(std::move(one), series.tub_parts, series.cutting.cutting);
    if (series.ended_on)
        std::erase_if(seen, [&](const Observation& one) { return one.taken.date > *series.ended_on; });
    series.points = pointsOf(seen, series.cutting.stuck_on);
    if (seen.empty()) return;
    series.first_photo = seen.front().taken.date;
    series.latest_photo = seen.back().taken.date;
    series.days_since_stuck = series.points.back().days_since_stuck;
}

struct Given {
    const Tubs& tubs;
    const std::optional<Plan>& plan;
    const CareLog& care;
    const SeasonSettings& settings;
};

Series seriesOf(const PlannedCutting& cutting, bool in_plan, const Given& given)
{
    Series series;
    series.cutting = cutting;
    series.in_plan = in_plan;
    if (in_plan) {
        series.tub_parts = partsOfTub(*given.plan, cutting.tub);
        for (const auto& part : series.tub_parts.parts)
            if (part.cutting == cutting.cutting) series.part = part.place;
    }
    setCare(series, given.care);
    setEnd(series);
    if (const auto seen = given.tubs.find(cutting.tub); seen != given.tubs.end())
        setPoints(series, seen->second);
    setStrike(series, given.settings);
    setGrowth(series, given.settings);
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

bool isOfCutting(const SeriesPoint& point)
{
    return usable(point.seen) && point.days_since_stuck.value_or(0) >= 0;
}

const SeriesPoint* latestKnown(const Series& series, std::optional<double> Observation::*figure)
{
    const auto known = std::find_if(
        series.points.rbegin(), series.points.rend(),
        [&](const SeriesPoint& point) { return usable(point.seen) && (point.seen.*figure).has_value(); });
    return known == series.points.rend() ? nullptr : &*known;
}

std::vector<Series> buildSeries(const std::vector<Observation>& observations, const std::optional<Plan>& plan,
                                const SeasonSettings& settings, const CareLog& care)
{
    const Tubs tubs = byTub(observations);
    const Given given{tubs, plan, care, settings};
    std::map<std::string, int> cuttings_in_tub;
    std::vector<Series> all;
    if (plan) {
        for (const auto& cutting : plan->cuttings) {
            ++cuttings_in_tub[cutting.tub];
            all.push_back(seriesOf(cutting, true, given));
        }
    }
    for (const auto& [tub, seen] : tubs) {
        if (cuttings_in_tub.count(tub) != 0) continue;
        PlannedCutting cutting;
        cutting.cutting = cutting.tub = tub;
        all.push_back(seriesOf(cutting, false, given));
    }
    std::map<std::string, std::optional<Date>> ends;
    for (const auto& series : all) ends[series.cutting.cutting] = series.ended_on;
    for (auto& series : all) {
        if (series.in_plan) series.cuttings_in_tub = cuttings_in_tub[series.cutting.tub];
        for (auto& part : series.tub_parts.parts) part.ended_on = ends[part.cutting];
    }
    return all;
}

std::vector<std::string> seriesWarnings(const std::vector<Series>& series, bool have_plan)
{
    std::vector<std::string> warnings;
    std::map<std::string, std::string> first_of;  // those of the plan come first
    for (const auto& one : series) first_of.emplace(foldedName(one.cutting.tub), one.cutting.tub);
    for (const auto& one : series) {
        if (!one.in_plan && first_of.at(foldedName(one.cutting.tub)) != one.cutting.tub)
            warnings.push_back(one.cutting.tub + ": differs from '" +
                               first_of.at(foldedName(one.cutting.tub)) +
                               "' in capitals only; if that is one tub, correct the name on its photos");
        else if (have_plan && !one.in_plan)
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
        if (one.given_up_on && one.potted_up_on)
            warnings.push_back(one.cutting.cutting + ": given up on " + isoDate(*one.given_up_on) +
                               " and potted up on " + isoDate(*one.potted_up_on) +
                               "; the earlier holds, remove the other");
    }
    return warnings;
}

}  // namespace slipglass
