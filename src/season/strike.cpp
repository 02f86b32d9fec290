#include "derive.h"

namespace slipglass {

namespace {

/// One look at a cutting: whether it had roots, and whether that look needs no second one.
struct Look {
    Date date;
    bool roots = false, sure = false;
};

bool longRoots(const Observation& seen, const SeasonSettings& settings)
{
    return seen.root_length_mm && *seen.root_length_mm > settings.strike_length_mm;
}

std::vector<Look> looksOf(const Series& series, const SeasonSettings& settings)
{
    std::vector<Look> looks;
    bool long_roots = false;  // on the latest photo
    for (const auto& point : series.points) {
        if (!isOfCutting(point)) continue;
        const std::optional<bool> roots = rootsSeen(point.seen, settings);
        if (!roots) continue;
        looks.push_back({point.seen.taken.date, *roots});
        long_roots = longRoots(point.seen, settings);
    }
    if (!looks.empty()) looks.back().sure = long_roots;
    if (series.ended_on && series.ended_on == series.potted_up_on)
        looks.push_back({*series.ended_on, true, true});
    return looks;
}

}  // namespace

const char* strikeText(StrikeState state)
{
    switch (state) {
        case StrikeState::no_photos:
            return "no photos";
        case StrikeState::not_yet:
            return "not yet";
        case StrikeState::struck:
            return "struck";
        case StrikeState::failed:
            break;
    }
    return "failed";
}

void setStrike(Series& series, const SeasonSettings& settings)
{
    const std::vector<Look> looks = looksOf(series, settings);
    series.rootless_until = series.cutting.stuck_on;
    std::optional<Strike> maybe;
    for (const Look& look : looks) {
        if (!look.roots) {
            maybe.reset();
            series.rootless_until = look.date;
            continue;
        }
        if (!series.roots_first_seen) series.roots_first_seen = look.date;
        if (!maybe) maybe = Strike{series.rootless_until, look.date, look.date};
        // A second photo of the same day is the same look again, so it confirms nothing.
        if (look.sure || look.date > maybe->by) {
            maybe->confirmed = look.date;
            series.struck = maybe;
            break;
        }
    }
    series.state = series.struck     ? StrikeState::struck
                   : series.ended_on ? StrikeState::failed
                   : looks.empty()   ? StrikeState::no_photos
                                     : StrikeState::not_yet;
    if (series.state == StrikeState::failed) series.rootless_until = series.ended_on;
}

}  // namespace slipglass
