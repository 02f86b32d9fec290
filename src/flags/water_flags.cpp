#include <algorithm>

#include "each_flag.h"
#include "run.h"
#include "slipglass/season/figures.h"
#include "slipglass/season/water_behaviour.h"

namespace slipglass {

namespace {

std::optional<bool> waterStands(const SeriesPoint& point)
{
    return usable(point.seen) ? point.seen.standing_water : std::nullopt;
}

Text waterText(const Observation& seen)
{
    if (seen.water_level_mm && seen.water_low_mm && seen.water_high_mm)
        return {said("{level} of water ({low} to {high})", {{"level", Mm{*seen.water_level_mm}},
                                                            {"low", BareMm{*seen.water_low_mm}},
                                                            {"high", BareMm{*seen.water_high_mm}}})};
    if (seen.water_level_mm) return {said("{level} of water", {{"level", Mm{*seen.water_level_mm}}})};
    if (seen.water_level_percent)
        return {said("water in the lowest {percent} % of the medium",
                     {{"percent", Number{*seen.water_level_percent}}})};
    return {said("standing water")};
}

}  // namespace

std::optional<Flag> standingWater(const Series& series, const FlagSettings& /*settings*/)
{
    const auto run = latestRun(series, waterStands);
    if (!run) return std::nullopt;
    Flag flag = flagFor(series, "standing-water", Severity::act_today, *run);
    flag.how_much = run->points.back()->seen.water_level_mm.value_or(0);
    const Observation& last = run->points.back()->seen;
    flag.evidence = {
        said("{water} at the base on {date}", {{"water", waterText(last)}, {"date", last.taken.date}})};
    addSinceThenUnseen(flag.evidence, series, *run);
    flag.advice = {said(
        "Tip the water out, holding the cutting and the medium back, and water less until none stands at the "
        "base. "
        "If the tub has no holes, make some. Keep lamps and heat mats dry while you do it.")};
    return flag;
}

namespace {

/// The first point at which the run is long enough to be `waterlogged`; empty when it never is.
std::optional<size_t> waterloggedFrom(const PhotoRun& run, const FlagSettings& settings)
{
    for (size_t i = 0; i < run.points.size(); ++i) {
        const Points so_far(run.points.begin(), run.points.begin() + static_cast<long>(i) + 1);
        if (daysCovered(so_far) >= settings.waterlogged_photos ||
            daysBetween(dateOf(so_far.front()), dateOf(so_far.back())) >= settings.waterlogged_days)
            return i;
    }
    return std::nullopt;
}

}  // namespace

std::optional<Flag> waterlogged(const Series& series, const FlagSettings& settings)
{
    const auto run = latestRun(series, waterStands);
    if (!run) return std::nullopt;
    const auto from = waterloggedFrom(*run, settings);
    if (!from) return std::nullopt;
    Flag flag = flagFor(series, "waterlogged", Severity::act_today, *run);
    flag.date = dateOf(run->points[*from]);
    flag.how_much = run->points.back()->seen.water_level_mm.value_or(0);
    const Date first = dateOf(run->points.front());
    const Date last = dateOf(run->points.back());
    flag.evidence = {said("water at the base on {photos} photos running, {first} to {last}; last {water}",
                          {{"photos", std::to_string(run->points.size())},
                           {"first", first},
                           {"last", last},
                           {"water", waterText(run->points.back()->seen)}})};
    addSinceThenUnseen(flag.evidence, series, *run);
    flag.advice = {said(
        "Tip the water out today and let the medium drain. Look at the base of the stem: soft, dark or "
        "smelling of rot "
        "means it may be lost; firm means it can recover. Water less, and add holes or more perlite next "
        "time.")};
    return flag;
}

namespace {

/// How much lighter the wall is than on the tub's first photo that tells, percent.
std::optional<double> lightening(const Series& series, const Observation& now)
{
    if (!now.wall_lightness) return std::nullopt;
    for (const SeriesPoint& first : series.points)
        if (usable(first.seen) && first.seen.wetness && first.seen.wall_lightness)
            return 100 * (*now.wall_lightness / *first.seen.wall_lightness - 1);
    return std::nullopt;
}

/// To ask for water where there is enough does harm: only where nothing speaks against it.
std::optional<bool> isDrying(const Series& series, const Observation& seen, const FlagSettings& settings)
{
    if (!usable(seen) || !seen.wetness) return std::nullopt;
    if (seen.standing_water.value_or(false)) return false;
    const bool drier = *seen.wetness <= settings.drying_wetness &&
                       lightening(series, seen).value_or(0) >= settings.drying_lightening_percent;
    if (drier && !seen.standing_water) return std::nullopt;
    return drier;
}

}  // namespace

std::optional<Flag> drying(const Series& series, const FlagSettings& settings)
{
    const auto run =
        latestRun(series, [&](const SeriesPoint& point) { return isDrying(series, point.seen, settings); });
    if (!run) return std::nullopt;
    Flag flag = flagFor(series, "drying", Severity::look_soon, *run);
    const SeriesPoint& last = *run->points.back();
    flag.evidence = {
        said("the medium at the wall has lightened to a wetness of {wetness} (0 dry, 1 wet) on {date}",
             {{"wetness", Number{*last.seen.wetness, 2}}, {"date", dateOf(&last)}})};
    addSinceThenUnseen(flag.evidence, series, *run);
    flag.advice = {said(
        "Feel the medium first: a different light can make it look paler. If it is dry, water lightly, until "
        "damp and "
        "not soggy. Dry peat, perlite and vermiculite give off dust: wet it gently and do not breathe it.")};
    return flag;
}

namespace {

/// The photo of an earlier day that a level is compared with; null when none knows its level.
const SeriesPoint* levelBefore(const Series& series, const SeriesPoint& now)
{
    const Points earlier = earlierThan(series, now, [](const Observation& seen) {
        return seen.water_level_mm.has_value() && seen.standing_water.has_value();
    });
    return earlier.empty() ? nullptr : earlier.back();
}

std::optional<LevelFall> fallUpTo(const Series& series, const SeriesPoint& now)
{
    const SeriesPoint* before = levelBefore(series, now);
    return before ? levelFall(before->seen, now.seen, series.care) : std::nullopt;
}

std::optional<bool> isSlow(const Series& series, const SeriesPoint& point, const FlagSettings& settings)
{
    const std::optional<bool> stands = waterStands(point);
    if (!stands || !*stands) return stands;  // no water left: it was absorbed, however long that took
    const auto fall = fallUpTo(series, point);
    if (!fall) return std::nullopt;
    if (fall->most_mm_per_day && *fall->most_mm_per_day < settings.slow_fall_mm_per_day) return true;
    if (fall->mm_per_day >= settings.slow_fall_mm_per_day) return false;
    return std::nullopt;  // within what the levels err
}

}  // namespace

std::optional<Flag> slowToAbsorb(const Series& series, const FlagSettings& settings)
{
    const auto run =
        latestRun(series, [&](const SeriesPoint& point) { return isSlow(series, point, settings); });
    if (!run) return std::nullopt;
    Flag flag = flagFor(series, "slow-to-absorb", Severity::look_soon, *run);
    const SeriesPoint &last = *run->points.back(), &before = *levelBefore(series, last);
    const LevelFall fall = *fallUpTo(series, last);
    flag.evidence = {
        said("the water level fell by {fall} a day, {most} at most, from {before} on {date_before} to "
             "{now} on {date}",
             {{"fall", Mm{std::max(0.0, fall.mm_per_day), 1}},
              {"most", BareMm{*fall.most_mm_per_day, 1}},
              {"before", Mm{*before.seen.water_level_mm, 1}},
              {"date_before", fall.from},
              {"now", Mm{*last.seen.water_level_mm, 1}},
              {"date", fall.to}})};
    addSinceThenUnseen(flag.evidence, series, *run);
    alsoRestsOn(flag, *levelBefore(series, *run->points.front()));
    flag.advice = {said(
        "If you watered in between, that explains it: keep a care log and it is taken into account. Else the "
        "medium is as wet as it gets and lets no air to the roots: tip the water out, make holes or larger "
        "ones, water less, and mix in more perlite next time.")};
    return flag;
}

}  // namespace slipglass
