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

std::string rootsText(const Observation& seen)
{
    std::string text = figureText(seen.coverage_percent, 1) + " % of the wall";
    if (seen.root_length_mm) text += " and " + figureText(seen.root_length_mm, 0) + " mm";
    return text;
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
    flag.evidence = "roots on " + rootsText(last.seen) + " on " + isoDate(dateOf(&last)) + ", " +
                    rootsText(before.seen) + " on " + isoDate(dateOf(&before)) + ", " +
                    counted(daysBetween(dateOf(&before), dateOf(&last)), "day", "days") +
                    " before: no more than a photo errs by" + sinceThenUnseen(series, *run);
    flag.advice =
        "Check that the base is warm and the medium damp, not soggy: cold and wet hold roots back. If both "
        "are "
        "right, wait. Roots in the middle of the tub cannot be seen through the wall.";
    return flag;
}

namespace {

constexpr const char* kPotUp =
    "Pot it up, gently: young roots break easily. Tip the whole block out rather than pulling the stem, keep "
    "what holds to the roots, and keep it damp and shaded for the first days.";

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
    Flag flag = flagFor(series, "ready-to-pot", Severity::look_soon, Run{{last}, std::nullopt});
    flag.evidence = "by the growth on all photos it got there about " + isoDate(*potting.likely) + " (" +
                    isoDate(*potting.earliest) + " to " + isoDate(*potting.latest) + "); the photo of " +
                    isoDate(dateOf(last)) + " shows roots on " + rootsText(last->seen);
    flag.advice = kPotUp;
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
    flag.evidence = "roots on " + rootsText(last.seen) + " on " + isoDate(dateOf(&last));
    flag.evidence += last.seen.deepest_root_mm
                         ? ", the deepest " + figureText(last.seen.deepest_root_mm, 0) + " mm above the base"
                         : "; how deep they reach is not known";
    if (!last.seen.root_length_mm) flag.evidence += "; their length is not known";
    flag.evidence += sinceThenUnseen(series, *run);
    flag.advice = kPotUp;
    return flag;
}

}  // namespace slipglass
