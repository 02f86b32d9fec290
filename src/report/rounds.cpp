#include "slipglass/report/rounds.h"

#include <algorithm>
#include <array>
#include <map>

#include "json_values.h"
#include "plain_words.h"
#include "slipglass/season/figures.h"

namespace slipglass {

namespace {

std::string waterWhy(const Series& series)
{
    const SeriesPoint* water = latestKnown(series, &Observation::water_level_mm);
    if (!water || !water->seen.standing_water.value_or(false)) return "water stands";
    return figureText(water->seen.water_level_mm, 0) + " mm of water";
}

std::string noRootsWhy(const Series& series)
{
    if (!series.days_since_stuck) return "no roots seen";
    return "no roots on day " + std::to_string(*series.days_since_stuck);
}

std::string rootsWhy(const Series& series)
{
    const SeriesPoint* roots = latestKnown(series, &Observation::coverage_percent);
    return roots ? "roots on " + figureText(roots->seen.coverage_percent, 1) + " %" : "rooted";
}

/// The few words that a line has room for.
struct Words {
    const char* flag;
    const char* what;
    const char* why;  ///< or, where figures tell more:
    std::string (*why_of)(const Series&) = nullptr;
};
constexpr std::array<Words, 11> kWords{{{"standing-water", "tip the water out", "", waterWhy},
                                        {"waterlogged", "tip the water out, look for rot", "", waterWhy},
                                        {"slow-to-absorb", "give less water, more air", "water sinks slowly"},
                                        {"drying", "feel the medium, water lightly if dry", "pale"},
                                        {"no-roots-yet", "check that it lives", "", noRootsWhy},
                                        {"stalled", "check water and warmth", "no growth"},
                                        {"browning", "look at the base for rot", "roots turn brown"},
                                        {"ready-to-pot", "pot it up", "", rootsWhy},
                                        {"crowding", "separate the cuttings soon", "their roots meet"},
                                        {"green-wall", "shade the tub", "green on the wall"},
                                        {"retake", "take the photo again", "it could not be measured"}}};
constexpr const char* kPhotoDue = "photo-due";

Need needOf(const Flag& flag, const Series& series)
{
    Need need{flag.name, flagWords(flag.name), flag.date,  flag.severity, flag.name,
              {},        flag.evidence,        flag.advice};
    const auto known =
        std::find_if(kWords.begin(), kWords.end(), [&](const Words& w) { return flag.name == w.flag; });
    if (known == kWords.end()) return need;
    need.what = known->what;
    need.why = known->why_of ? known->why_of(series) : known->why;
    return need;
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
    if (!flag.holds || !series) return;
    auto& needs = tub.round.needs;
    const auto has = [&](const char* name) {
        return std::any_of(needs.begin(), needs.end(), [&](const Need& need) { return need.flag == name; });
    };
    if (flag.name == "standing-water" && has("waterlogged")) return;  // nothing new
    const auto same =
        std::find_if(needs.begin(), needs.end(), [&](const Need& need) { return need.flag == flag.name; });
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

/// The photo that a tub wants: its first, or one as new as the others'.
std::optional<Need> photoDue(const TubNow& tub, const std::optional<Date>& newest, int due_days)
{
    std::optional<Date> latest;
    for (const Series* series : tub.growing) latest = std::max(latest, series->latest_photo);
    Need need;
    need.flag = kPhotoDue;
    need.advice = "Take one of the side that is on its first photo.";
    if (!latest) {
        need.what = "take its first photo";
        need.why = need.evidence = "no photo yet";
        need.advice = "Take one now: later photos are compared with it.";
        return need;
    }
    const int days = daysBetween(*latest, *newest);
    if (days <= due_days) return std::nullopt;
    need.what = "take a photo";
    need.why = "none";
    need.since = latest;
    need.severity = Severity::look_soon;
    need.evidence = "its latest photo, of " + isoDate(*latest) + ", is " + counted(days, "day", "days") +
                    " older than the season's newest, of " + isoDate(*newest);
    return need;
}

bool more(const Need& a, const Need& b)
{
    return a.severity < b.severity;
}

}  // namespace

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
        std::stable_sort(needs.begin(), needs.end(), more);
        if (needs.empty())
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

std::string roundsJson(const Rounds& rounds)
{
    Json tubs = Json::array();
    for (const TubRound& round : rounds.tubs) {
        Json needs = Json::array();
        for (const Need& need : round.needs)
            needs.push_back({{"what", need.what},
                             {"why", need.why},
                             {"since", date(need.since)},
                             {"severity", severityText(need.severity)},
                             {"flag", need.flag},
                             {"cuttings", need.cuttings},
                             {"evidence", need.evidence},
                             {"advice", need.advice}});
        tubs.push_back({{"tub", round.tub}, {"needs", needs}});
    }
    const Json all = {
        {"newest_photo", date(rounds.newest_photo)}, {"tubs", tubs}, {"nothing_to_do", rounds.fine}};
    return all.dump(2, ' ', false, Json::error_handler_t::replace) + "\n";
}

}  // namespace slipglass
