#include "run.h"

#include "slipglass/flags/kinds.h"

#include <set>

namespace slipglass {

Date dateOf(const SeriesPoint* point)
{
    return point->seen.taken.date;
}

int daysCovered(const Points& points)
{
    std::set<Date> days;
    for (const auto* point : points) days.insert(dateOf(point));
    return static_cast<int>(days.size());
}

Flag flagFor(const Series& series, const char* name, Severity severity, const PhotoRun& run)
{
    Flag flag;
    flag.tub = series.cutting.tub;
    flag.cutting = series.cutting.cutting;
    flag.name = flagKind(name).name;  // a name that is none shows at once
    flag.severity = severity;
    flag.date = dateOf(run.points.front());
    for (const auto* point : run.points) flag.photos.push_back(point->seen.photo);
    flag.holds = !run.ended;
    flag.cleared = run.ended;
    return flag;
}

void alsoRestsOn(Flag& flag, const SeriesPoint& before)
{
    const auto& photos = flag.photos;
    if (std::find(photos.begin(), photos.end(), before.seen.photo) == photos.end())
        flag.photos.insert(flag.photos.begin(), before.seen.photo);
}

void addSinceThenUnseen(Text& evidence, const Series& series, const PhotoRun& run)
{
    if (run.ended || !series.latest_photo || *series.latest_photo == dateOf(run.points.back())) return;
    evidence.push_back(
        said("not visible since then (latest photo {date})", {{"date", *series.latest_photo}}));
}

}  // namespace slipglass
