#include <set>

#include "each_flag.h"
#include "run.h"
#include "slipglass/season/figures.h"
#include "slipglass/text.h"

namespace slipglass {

namespace {

/// The earlier photo with the least green wall, if there is more now by the settings' share.
const SeriesPoint* lessGreenBefore(const Series& series, const SeriesPoint& now, const FlagSettings& settings)
{
    const SeriesPoint* least = nullptr;
    const auto known = [](const Observation& seen) { return seen.green_percent.has_value(); };
    for (const SeriesPoint* point : earlierThan(series, now, known))
        if (!least || *point->seen.green_percent < *least->seen.green_percent) least = point;
    if (!least || *now.seen.green_percent < *least->seen.green_percent + settings.green_percent)
        return nullptr;
    return least;
}

}  // namespace

std::optional<Flag> greenWall(const Series& series, const FlagSettings& settings)
{
    const auto run = latestRun(series, [&](const SeriesPoint& point) -> std::optional<bool> {
        if (!usable(point.seen) || !point.seen.green_percent) return std::nullopt;
        return lessGreenBefore(series, point, settings) != nullptr;
    });
    if (!run) return std::nullopt;
    Flag flag = flagFor(series, "green-wall", Severity::note, *run);
    const SeriesPoint& last = *run->points.back();
    const SeriesPoint& before = *lessGreenBefore(series, last, settings);
    flag.evidence = {said("green on {percent} % of the wall on {date}, {percent_before} % on {date_before}",
                          {{"percent", Number{*last.seen.green_percent}},
                           {"date", dateOf(&last)},
                           {"percent_before", Number{*before.seen.green_percent}},
                           {"date_before", dateOf(&before)}})};
    addSinceThenUnseen(flag.evidence, series, *run);
    alsoRestsOn(flag, before);
    flag.advice = {said(
        "Shade the tub's sides, with card or foil kept clear of lamps and heat mats: algae need light, roots "
        "do "
        "not. They do no harm to the roots by themselves, but they hide them and show that the medium is "
        "kept wet.")};
    return flag;
}

namespace {

/// A day with one good photo of the tub is a good day, however many bad ones were taken on it.
std::set<Date> daysWithGoodPhoto(const Series& series)
{
    std::set<Date> days;
    for (const auto& point : series.points)
        if (usable(point.seen)) days.insert(point.seen.taken.date);
    return days;
}

}  // namespace

std::optional<Flag> retake(const Series& series, const FlagSettings& /*settings*/)
{
    const auto good_days = daysWithGoodPhoto(series);
    const auto run = latestRun(series, [&](const SeriesPoint& point) -> std::optional<bool> {
        return good_days.count(point.seen.taken.date) == 0;
    });
    if (!run) return std::nullopt;
    const int days = daysCovered(run->points);
    Flag flag = flagFor(series, "retake", days > 1 ? Severity::look_soon : Severity::note, *run);
    const Observation& last = run->points.back()->seen;
    Text notes;
    for (const std::string& note : last.notes) notes.push_back(said("{note}", {{"note", Kept{note}}}));
    const std::vector<SaidPlace> places{{"date", last.taken.date}, {"notes", notes}};
    if (days > 1 && !notes.empty())
        flag.evidence = {saidOf(
            days - 1, "the photo of {date} could not be measured; the same on {n} earlier day: {notes}",
            "the photo of {date} could not be measured; the same on {n} earlier days: {notes}", places)};
    else if (days > 1)
        flag.evidence = {
            saidOf(days - 1, "the photo of {date} could not be measured; the same on {n} earlier day",
                   "the photo of {date} could not be measured; the same on {n} earlier days", places)};
    else
        flag.evidence = {notes.empty() ? said("the photo of {date} could not be measured", places)
                                       : said("the photo of {date} could not be measured: {notes}", places)};
    flag.advice = {
        said("Take it again: the whole tub in the picture and upright, the camera level with its middle, in "
             "focus, without "
             "flash and with no lamp mirrored in the wall.")};
    return flag;
}

}  // namespace slipglass
