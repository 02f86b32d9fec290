#pragma once
// What the flags are made with: runs of photos on which something holds.
#include <algorithm>
#include <optional>
#include <string>
#include <vector>

#include "slipglass/flags/flags.h"

namespace slipglass {

using Points = std::vector<const SeriesPoint*>;

/// A run of photos on which a condition holds, from the first that shows it to the last.
struct PhotoRun {
    Points points;
    std::optional<Date> ended;  ///< first photo that shows the opposite; empty while the run lasts
};

/// The latest run of points for which `holds` (SeriesPoint -> optional<bool>) is true. Where it is empty
/// nothing is known, which neither starts nor ends a run.
template <class Holds>
std::optional<PhotoRun> latestRun(const Series& series, Holds&& holds)
{
    std::optional<PhotoRun> run;
    for (const auto& point : series.points) {
        const std::optional<bool> held = holds(point);
        if (!held) continue;
        if (*held) {
            if (!run || run->ended) run = PhotoRun{};
            run->points.push_back(&point);
        } else if (run && !run->ended) {
            run->ended = point.seen.taken.date;
        }
    }
    return run;
}

/// Usable points of days before `now` that know what is asked for.
template <class Known>
Points earlierThan(const Series& series, const SeriesPoint& now, Known&& known)
{
    Points points;
    for (const auto& point : series.points) {
        if (&point == &now) break;
        if (usable(point.seen) && point.seen.taken.date < now.seen.taken.date && known(point.seen))
            points.push_back(&point);
    }
    return points;
}

Date dateOf(const SeriesPoint* point);

/// Different days in `points`.
int daysCovered(const Points& points);

/// A flag dated by the run's first photo that rests on its photos; evidence and advice are still to be said.
Flag flagFor(const Series& series, const char* name, Severity severity, const PhotoRun& run);

/// Adds the photo a run is compared with, unless the flag names it already.
void alsoRestsOn(Flag& flag, const SeriesPoint& before);

/// Adds "not visible since then (...)" for a run that lasts although newer photos could not tell.
void addSinceThenUnseen(Text& evidence, const Series& series, const PhotoRun& run);

}  // namespace slipglass
