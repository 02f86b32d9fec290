#include "each_flag.h"
#include "run.h"
#include "slipglass/season/figures.h"
#include "slipglass/text.h"

namespace slipglass {

namespace {

bool hasStruckBy(const Series& series, Date date)
{
    return series.struck && date >= series.struck->by;
}

/// The latest photo with roots that is old enough to be compared with `now`.
const SeriesPoint* longBefore(const Series& series, const SeriesPoint& now, const FlagSettings& settings)
{
    const Points before = earlierThan(series, now, [&](const Observation& seen) {
        return seen.coverage_percent && hasStruckBy(series, seen.taken.date) &&
               daysBetween(seen.taken.date, now.seen.taken.date) >= settings.stalled_days;
    });
    return before.empty() ? nullptr : before.back();
}

/// How far coverage must rise to be told from the error of a photo, points.
double leastRise(const Observation& before, const FlagSettings& settings)
{
    const double above = before.coverage_high.value_or(*before.coverage_percent) - *before.coverage_percent;
    return settings.stalled_rise_share * above;
}

std::optional<bool> isStalled(const Series& series, const SeriesPoint& now, const FlagSettings& settings)
{
    if (!usable(now.seen) || !now.seen.coverage_percent) return std::nullopt;
    if (!hasStruckBy(series, now.seen.taken.date) || now.potting_reached.value_or(false)) return false;
    const SeriesPoint* before = longBefore(series, now, settings);
    return before &&
           *now.seen.coverage_percent < *before->seen.coverage_percent + leastRise(before->seen, settings);
}

Text rootsText(const Observation& seen)
{
    const Number percent{*seen.coverage_percent, 1};
    if (!seen.root_length_mm) return {said("{percent} % of the wall", {{"percent", percent}})};
    return {said("{percent} % of the wall and {length}",
                 {{"percent", percent}, {"length", Mm{*seen.root_length_mm}}})};
}

}  // namespace

std::optional<Flag> stalled(const Series& series, const FlagSettings& settings)
{
    const auto run =
        latestRun(series, [&](const SeriesPoint& point) { return isStalled(series, point, settings); });
    if (!run) return std::nullopt;
    Flag flag = flagFor(series, "stalled", Severity::look_soon, *run);
    const SeriesPoint& last = *run->points.back();
    const SeriesPoint& before = *longBefore(series, last, settings);
    alsoRestsOn(flag, before);
    flag.evidence = {
        saidOf(daysBetween(dateOf(&before), dateOf(&last)),
               "roots on {roots} on {date}, {roots_before} on {date_before}, {n} day before: no more "
               "than a photo errs by",
               "roots on {roots} on {date}, {roots_before} on {date_before}, {n} days before: no "
               "more than a photo errs by",
               {{"roots", rootsText(last.seen)},
                {"date", dateOf(&last)},
                {"roots_before", rootsText(before.seen)},
                {"date_before", dateOf(&before)}})};
    addSinceThenUnseen(flag.evidence, series, *run);
    flag.advice = {said(
        "Check that the base is warm and the medium damp, not soggy: cold and wet hold roots back. If both "
        "are "
        "right, wait. Roots in the middle of the tub cannot be seen through the wall.")};
    return flag;
}

namespace {

constexpr const char* kPotUp = translated(
    "Pot it up, gently: young roots break easily. Tip the whole block out rather than pulling the stem, keep "
    "what holds to the roots, and keep it damp and shaded for the first days.");

/// Chance of getting there at all from which a fit may say that it has got there.
constexpr double kSurePercent = 80;

/// The growth of all photos says so, although the latest photo by itself does not.
std::optional<Flag> readyByFit(const Series& series)
{
    const Potting& potting = series.potting;
    const SeriesPoint* last = latestKnown(series, &Observation::coverage_percent);
    if (potting.chance_percent.value_or(0) < kSurePercent) return std::nullopt;
    if (!last || !potting.likely || *potting.likely > dateOf(last) || !last->deep_enough.value_or(true))
        return std::nullopt;
    Flag flag = flagFor(series, "ready-to-pot", Severity::look_soon, PhotoRun{{last}, std::nullopt});
    flag.evidence = {
        said("by the growth on all photos it got there about {likely} ({earliest} to {latest})",
             {{"likely", *potting.likely}, {"earliest", *potting.earliest}, {"latest", *potting.latest}}),
        said("the photo of {date} shows roots on {roots}",
             {{"date", dateOf(last)}, {"roots", rootsText(last->seen)}})};
    flag.advice = {said(kPotUp)};
    return flag;
}

}  // namespace

std::optional<Flag> readyToPot(const Series& series, const FlagSettings& /*settings*/)
{
    const auto run = latestRun(series, [](const SeriesPoint& point) { return point.potting_reached; });
    if (!run || run->ended)
        if (auto by_fit = readyByFit(series)) return by_fit;
    if (!run) return std::nullopt;
    Flag flag = flagFor(series, "ready-to-pot", Severity::look_soon, *run);
    const SeriesPoint& last = *run->points.back();
    const std::vector<SaidPlace> seen{{"roots", rootsText(last.seen)}, {"date", dateOf(&last)}};
    if (last.seen.deepest_root_mm) {
        std::vector<SaidPlace> with_depth = seen;
        with_depth.push_back({"depth", Mm{*last.seen.deepest_root_mm}});
        flag.evidence = {said("roots on {roots} on {date}, the deepest {depth} above the base", with_depth)};
    } else {
        flag.evidence = {said("roots on {roots} on {date}", seen), said("how deep they reach is not known")};
    }
    if (!last.seen.root_length_mm) flag.evidence.push_back(said("their length is not known"));
    addSinceThenUnseen(flag.evidence, series, *run);
    flag.advice = {said(kPotUp)};
    return flag;
}

}  // namespace slipglass
