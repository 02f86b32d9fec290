#include "slipglass/flags/flags.h"

#include <algorithm>
#include <array>
#include <tuple>

#include "each_flag.h"

namespace slipglass {

namespace {

struct EachFlag {
    const char* name;
    std::optional<Flag> (*find)(const Series&, const FlagSettings&);
};
/// Among flags of one severity the one that can do most harm first.
constexpr std::array kByHarm{
    EachFlag{"waterlogged", waterlogged}, EachFlag{"standing-water", standingWater},
    EachFlag{"browning", browning},       EachFlag{"drying", drying},
    EachFlag{"crowding", crowding},       EachFlag{"slow-to-absorb", slowToAbsorb},
    EachFlag{"stalled", stalled},         EachFlag{"ready-to-pot", readyToPot},
    EachFlag{"no-roots-yet", noRootsYet}, EachFlag{"green-wall", greenWall},
    EachFlag{"retake", retake},
};

size_t harmRank(const Flag& flag)
{
    const auto each = std::find_if(kByHarm.begin(), kByHarm.end(),
                                   [&](const EachFlag& one) { return flag.name == one.name; });
    return static_cast<size_t>(each - kByHarm.begin());
}

bool moreUrgent(const Flag& a, const Flag& b)
{
    if (a.holds != b.holds) return a.holds;
    if (!a.holds && a.cleared != b.cleared) return a.cleared > b.cleared;
    const auto a_rank = harmRank(a), b_rank = harmRank(b);
    return std::tie(a.severity, a_rank, a.date, a.tub, a.cutting) <
           std::tie(b.severity, b_rank, b.date, b.tub, b.cutting);
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

std::vector<Flag> findFlags(const std::vector<Series>& series, const FlagSettings& settings)
{
    std::vector<Flag> flags;
    for (const auto& one : series)
        for (const auto& each : kByHarm)
            if (auto flag = each.find(one, settings)) flags.push_back(clearedAtEnd(std::move(*flag), one));
    std::stable_sort(flags.begin(), flags.end(), moreUrgent);
    return flags;
}

}  // namespace slipglass
