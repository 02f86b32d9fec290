#include "slipglass/flags/flags.h"

#include <algorithm>
#include <tuple>

#include "each_flag.h"
#include "slipglass/flags/kinds.h"

namespace slipglass {

namespace {

using Find = std::optional<Flag> (*)(const Series&, const FlagSettings&);
constexpr Find kEach[] = {waterlogged, standingWater, browning,   drying,    crowding, slowToAbsorb,
                          stalled,     readyToPot,    noRootsYet, greenWall, retake};

size_t harmRank(const Flag& flag)
{
    const auto& kinds = flagKinds();
    const auto kind =
        std::find_if(kinds.begin(), kinds.end(), [&](const FlagKind& one) { return flag.name == one.name; });
    return static_cast<size_t>(kind - kinds.begin());
}

bool moreUrgent(const Flag& a, const Flag& b)
{
    if (a.holds != b.holds) return a.holds;
    if (!a.holds && a.cleared != b.cleared) return a.cleared > b.cleared;
    const auto a_rank = harmRank(a), b_rank = harmRank(b);
    return std::tie(a.severity, a_rank, b.how_much, a.date, a.tub, a.cutting) <
           std::tie(b.severity, b_rank, a.how_much, b.date, b.tub, b.cutting);
}

/// What was asked for is done, or will not be done any more.
Flag clearedAtEnd(Flag flag, const Series& series)
{
    if (series.ended_on && flag.holds) {
        flag.holds = false;
        flag.cleared = series.ended_on;
    }
    return flag;
}

}  // namespace

const char* severityText(Severity severity)
{
    switch (severity) {
        case Severity::act_today:
            return "act today";
        case Severity::look_soon:
            return "look soon";
        case Severity::note:
            break;
    }
    return "note";
}

namespace {

void setDone(Flag& flag, const Series& series)
{
    const auto done_by = flagKind(flag.name).done_by;
    if (!flag.holds || !done_by || flag.photos.empty()) return;
    const auto rests_on =
        std::find_if(series.points.begin(), series.points.end(),
                     [&](const SeriesPoint& point) { return point.seen.photo == flag.photos.back(); });
    if (rests_on == series.points.end()) return;
    for (const CareEvent& event : series.care)
        if (event.what == *done_by && event.date >= rests_on->seen.taken.date) flag.done_on = event.date;
}

/// Of one cutting's flags, in the order of kinds. Of several that come first the last is told: the water is
/// soon out, rot is not.
void setOrder(std::vector<Flag>& flags)
{
    for (Flag& flag : flags)
        for (const Flag& other : flags)
            if (flag.holds && other.holds && !other.done_on && comesBefore(other.name, flag.name))
                flag.waits_for = other.name;
}

}  // namespace

std::vector<Flag> findFlags(const std::vector<Series>& series, const FlagSettings& settings)
{
    std::vector<Flag> flags;
    for (const auto& one : series) {
        std::vector<Flag> of_cutting;
        for (const Find find : kEach)
            if (auto flag = find(one, settings)) of_cutting.push_back(clearedAtEnd(std::move(*flag), one));
        for (Flag& flag : of_cutting) setDone(flag, one);
        setOrder(of_cutting);
        flags.insert(flags.end(), of_cutting.begin(), of_cutting.end());
    }
    std::stable_sort(flags.begin(), flags.end(), moreUrgent);
    return flags;
}

}  // namespace slipglass
