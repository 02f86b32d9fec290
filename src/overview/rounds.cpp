#include "slipglass/overview/rounds.h"

#include <algorithm>
#include <map>

#include "slipglass/flags/kinds.h"
#include "slipglass/season/figures.h"
#include "slipglass/text.h"

namespace slipglass {

namespace {

Said waterWhy(const Series& series, const FlagKind& kind)
{
    const SeriesPoint* water = latestKnown(series, &Observation::water_level_mm);
    if (!water || !water->seen.standing_water.value_or(false)) return said(kind.seen);
    return said("{level} of water", {{"level", Mm{*water->seen.water_level_mm}}});
}

Said noRootsWhy(const Series& series, const FlagKind& kind)
{
    if (!series.days_since_stuck) return said(kind.seen);
    return said("no roots on day {day}", {{"day", std::to_string(*series.days_since_stuck)}});
}

Said rootsWhy(const Series& series, const FlagKind& kind)
{
    const SeriesPoint* roots = latestKnown(series, &Observation::coverage_percent);
    if (!roots) return said(kind.seen);
    return said("roots on {percent} %", {{"percent", Number{*roots->seen.coverage_percent, 1}}});
}

constexpr const char* kPhotoDue = "photo-due";
constexpr const char* kThenPot = translated("{advice} Once that is done it can be potted up.");

/// What was seen, in a figure where there is one.
Said whyOf(const FlagKind& kind, const Series& series)
{
    const std::string name = kind.name;
    if (name == "standing-water" || name == "waterlogged") return waterWhy(series, kind);
    if (name == "no-roots-yet") return noRootsWhy(series, kind);
    if (name == "ready-to-pot") return rootsWhy(series, kind);
    return said(kind.seen);
}

Need needOf(const Flag& flag, const Series& series)
{
    const FlagKind& kind = flagKind(flag.name);
    return {said(kind.ask), whyOf(kind, series), flag.date, flag.severity, flag.name, {},
            flag.evidence,  flag.advice};
}

/// A tub and its cuttings that are still in it.
struct TubNow {
    TubRound round;
    std::vector<const Series*> growing;
};

std::vector<TubNow> tubsOf(const std::vector<Series>& all)
{
    std::vector<TubNow> tubs;
    std::map<std::string, size_t> place;
    for (const Series& series : all) {
        if (series.ended_on) continue;
        const auto [at, is_new] = place.emplace(series.cutting.tub, tubs.size());
        if (is_new) tubs.push_back({{series.cutting.tub, {}}, {}});
        tubs[at->second].growing.push_back(&series);
    }
    return tubs;
}

const Series* seriesOf(const Flag& flag, const TubNow& tub)
{
    for (const Series* series : tub.growing)
        if (series->cutting.cutting == flag.cutting) return series;
    return nullptr;
}

/// Flags of one name are one need of the tub, however many of its cuttings raise it.
void addFlag(TubNow& tub, const Flag& flag)
{
    const Series* series = seriesOf(flag, tub);
    if (!flag.holds || flag.done_on || !series) return;
    auto& needs = tub.round.needs;
    const auto needFor = [&](const std::string& name) {
        return std::find_if(needs.begin(), needs.end(), [&](const Need& need) { return need.flag == name; });
    };
    if (!flag.waits_for.empty()) {
        const auto first = needFor(flag.waits_for);
        const bool soon_done = flag.waits_for == "waterlogged" || flag.waits_for == "standing-water";
        if (flag.name == "ready-to-pot" && soon_done && first != needs.end() &&
            first->advice.front().english != kThenPot)
            first->advice = {said(kThenPot, {{"advice", first->advice}})};
        return;
    }
    const auto same = needFor(flag.name);
    if (same != needs.end()) {
        same->cuttings.push_back(flag.cutting);
        return;
    }
    needs.push_back(needOf(flag, *series));
    needs.back().cuttings.push_back(flag.cutting);
}

std::optional<Date> newestPhoto(const std::vector<Series>& all)
{
    std::optional<Date> newest;
    for (const Series& series : all) newest = std::max(newest, series.latest_photo);
    return newest;
}

std::optional<Date> latestPhoto(const TubNow& tub)
{
    std::optional<Date> latest;
    for (const Series* series : tub.growing) latest = std::max(latest, series->latest_photo);
    return latest;
}

/// The photo that a tub wants to be as newly seen as the others.
std::optional<Need> photoDue(const TubNow& tub, const std::optional<Date>& newest, int due_days)
{
    const std::optional<Date> latest = latestPhoto(tub);
    if (!latest) return std::nullopt;
    Need need;
    need.flag = kPhotoDue;
    need.advice = {said("Take one of the side that is on its first photo.")};
    const int days = daysBetween(*latest, *newest);
    if (days <= due_days) return std::nullopt;
    need.what = said(flagKind(kPhotoDue).ask);
    need.why = said(flagKind(kPhotoDue).seen);
    need.since = latest;
    need.severity = Severity::look_soon;
    need.evidence = {
        saidOf(days, "its latest photo, of {latest}, is {n} day older than the season's newest, of {newest}",
               "its latest photo, of {latest}, is {n} days older than the season's newest, of {newest}",
               {{"latest", *latest}, {"newest", *newest}})};
    return need;
}

/// Photos of a tub that gave nothing at all: that nothing is wrong on the others is not known.
std::optional<Need> unreadable(const std::string& tub, const SeasonReport& season)
{
    const auto measured = [&](const std::string& photo) {
        return std::any_of(season.observations.begin(), season.observations.end(),
                           [&](const Observation& seen) { return seen.photo == photo; });
    };
    std::vector<const Problem*> problems;
    for (const Problem& problem : season.problems)
        if (problem.tub == tub && problem.state == "not measured" && !measured(problem.file))
            problems.push_back(&problem);
    if (problems.empty()) return std::nullopt;
    const FlagKind& kind = flagKind("retake");
    Need need;
    need.flag = kind.name;
    need.what = said(kind.ask);
    need.why = saidOf(static_cast<long long>(problems.size()), "{n} photo could not be read",
                      "{n} photos could not be read");
    for (const Problem* problem : problems)
        need.evidence.push_back(
            said("{file}: {reason}", {{"file", problem->file}, {"reason", Kept{problem->reason}}}));
    need.advice = {said("{remedy}, and take the file that cannot be read out of the folder.",
                        {{"remedy", Kept{problems.back()->remedy}}})};
    return need;
}

bool more(const Need& a, const Need& b)
{
    return a.severity < b.severity;
}

}  // namespace

std::optional<Date> nextRound(const Rounds& rounds)
{
    if (!rounds.newest_photo) return std::nullopt;
    return Date{std::chrono::sys_days{*rounds.newest_photo} + std::chrono::days{kRoundDays}};
}

Rounds roundsOf(const SeasonReport& season, int photo_due_days)
{
    std::vector<TubNow> tubs = tubsOf(season.series);
    std::map<std::string, size_t> urgency;  // place of a tub's first flag among all
    for (size_t i = 0; i < season.flags.size(); ++i)
        for (TubNow& tub : tubs) {
            if (tub.round.tub != season.flags[i].tub) continue;
            addFlag(tub, season.flags[i]);
            if (!tub.round.needs.empty()) urgency.emplace(tub.round.tub, i);
        }
    Rounds rounds;
    rounds.newest_photo = newestPhoto(season.series);
    for (TubNow& tub : tubs) {
        auto& needs = tub.round.needs;
        for (Need& need : needs)
            if (need.cuttings.size() == tub.growing.size()) need.cuttings.clear();
        if (const auto due = photoDue(tub, rounds.newest_photo, photo_due_days)) needs.push_back(*due);
        const bool asked =
            std::any_of(needs.begin(), needs.end(), [](const Need& need) { return need.flag == "retake"; });
        if (const auto lost = unreadable(tub.round.tub, season); lost && !asked) needs.push_back(*lost);
        std::stable_sort(needs.begin(), needs.end(), more);
        if (needs.empty() && !latestPhoto(tub))
            rounds.no_photo_yet.push_back(tub.round.tub);
        else if (needs.empty())
            rounds.fine.push_back(tub.round.tub);
        else
            rounds.tubs.push_back(std::move(tub.round));
    }
    std::stable_sort(rounds.tubs.begin(), rounds.tubs.end(), [&](const TubRound& a, const TubRound& b) {
        const auto placeOf = [&](const TubRound& round) {
            const auto found = urgency.find(round.tub);
            return found == urgency.end() ? SIZE_MAX : found->second;
        };
        if (more(a.needs.front(), b.needs.front())) return true;
        if (more(b.needs.front(), a.needs.front())) return false;
        return placeOf(a) < placeOf(b);
    });
    return rounds;
}

}  // namespace slipglass
