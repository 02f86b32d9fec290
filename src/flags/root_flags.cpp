#include <algorithm>

#include "each_flag.h"
#include "run.h"
#include "slipglass/season/figures.h"
#include "slipglass/text.h"

namespace slipglass {

namespace {

bool knowsWhiteRoot(const Observation& seen)
{
    return seen.coverage_percent && seen.coverage_low && seen.coverage_high && seen.browned_percent;
}

/// White root area, percent of the wall, of a coverage.
double whiteOf(const Observation& seen, double coverage)
{
    return coverage * (1 - *seen.browned_percent / 100);
}

/// The earlier photo with most white root, if what is left of it now is less, by the settings' share, even
/// where both photos err as far as their intervals reach.
const SeriesPoint* whiterBefore(const Series& series, const SeriesPoint& now, const FlagSettings& settings)
{
    if (!knowsWhiteRoot(now.seen)) return nullptr;
    const SeriesPoint* best = nullptr;
    const auto surely = [](const SeriesPoint& p) { return whiteOf(p.seen, *p.seen.coverage_low); };
    for (const SeriesPoint* point : earlierThan(series, now, knowsWhiteRoot))
        if (!best || surely(*point) > surely(*best)) best = point;
    const double left = 1 - settings.white_root_loss_percent / 100;
    if (!best || whiteOf(now.seen, *now.seen.coverage_high) >= left * surely(*best)) return nullptr;
    return best;
}

/// Browned past the threshold in standing water, having been less so before.
bool brownsInWater(const Series& series, const SeriesPoint& now, const FlagSettings& settings)
{
    const Observation& seen = now.seen;
    if (!seen.browned_percent || !seen.standing_water.value_or(false)) return false;
    if (!seen.coverage_percent || seen.coverage_low.value_or(*seen.coverage_percent) <= 0) return false;
    if (*seen.browned_percent <= settings.browned_percent) return false;
    const Points before =
        earlierThan(series, now, [](const Observation& o) { return o.browned_percent.has_value(); });
    return std::any_of(before.begin(), before.end(), [&](const SeriesPoint* point) {
        return *point->seen.browned_percent < *seen.browned_percent;
    });
}

}  // namespace

std::optional<Flag> browning(const Series& series, const FlagSettings& settings)
{
    const auto run = latestRun(series, [&](const SeriesPoint& point) -> std::optional<bool> {
        if (!usable(point.seen) || !point.seen.browned_percent) return std::nullopt;
        return brownsInWater(series, point, settings) || whiterBefore(series, point, settings);
    });
    if (!run) return std::nullopt;
    Flag flag = flagFor(series, "browning", Severity::look_soon, *run);
    const SeriesPoint& last = *run->points.back();
    if (brownsInWater(series, last, settings))
        flag.evidence.push_back(
            said("{percent} % of the root area browned, in standing water, on {date}",
                 {{"percent", Number{*last.seen.browned_percent}}, {"date", dateOf(&last)}}));
    if (const SeriesPoint* before = whiterBefore(series, last, settings)) {
        flag.evidence.push_back(said(
            "white root down from {percent_before} % of the wall on {date_before} to {percent} % on {date}",
            {{"percent_before", Number{whiteOf(before->seen, *before->seen.coverage_percent), 1}},
             {"date_before", dateOf(before)},
             {"percent", Number{whiteOf(last.seen, *last.seen.coverage_percent), 1}},
             {"date", dateOf(&last)}}));
        alsoRestsOn(flag, *before);
    }
    addSinceThenUnseen(flag.evidence, series, *run);
    flag.advice = {said(
        "Likely rot, but look before acting: ripening roots darken too, and browning alone is not rot. Firm "
        "brown roots are alive; soft ones that slip off their core, or a smell, are rot. Tip standing water "
        "out, "
        "water less, and cut away only what is soft, with a clean blade.")};
    return flag;
}

namespace {

/// Days since it was stuck or, as a lower bound where that is not known, since its first photo.
int ageAt(const Series& series, const SeriesPoint& point)
{
    return point.days_since_stuck.value_or(daysBetween(*series.first_photo, point.seen.taken.date));
}

}  // namespace

std::optional<Flag> noRootsYet(const Series& series, const FlagSettings& settings)
{
    const auto run = latestRun(series, [&](const SeriesPoint& point) -> std::optional<bool> {
        const Date date = point.seen.taken.date;
        if (!usable(point.seen) || !point.seen.coverage_percent) return std::nullopt;
        if (series.roots_first_seen && date >= *series.roots_first_seen) return false;
        return ageAt(series, point) > settings.no_roots_days;
    });
    if (!run) return std::nullopt;
    const SeriesPoint& last = *run->points.back();
    const int age = ageAt(series, last);
    const bool likely_failed = age >= settings.likely_failed_days;
    Flag flag = flagFor(series, "no-roots-yet", likely_failed ? Severity::look_soon : Severity::note, *run);
    const std::vector<SaidPlace> places{{"date", dateOf(&last)}};
    flag.evidence = {series.cutting.stuck_on
                         ? saidOf(age, "no roots seen on {date}, {n} day after it was stuck",
                                  "no roots seen on {date}, {n} days after it was stuck", places)
                         : saidOf(age, "no roots seen on {date}, at least {n} day old (first photo)",
                                  "no roots seen on {date}, at least {n} days old (first photo)", places)};
    addSinceThenUnseen(flag.evidence, series, *run);
    flag.advice = {
        likely_failed
            ? said("By now it has likely failed. Look before you throw it away: green under the bark and "
                   "firm at "
                   "the "
                   "base means it can still root. Roots in the middle of the tub cannot be seen through the "
                   "wall.")
            : said(
                  "Check that it is damp and warm at the base, and wait. Do not pull it to look: that breaks "
                  "young "
                  "roots.")};
    return flag;
}

}  // namespace slipglass
