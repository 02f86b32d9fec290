#include "slipglass/season/water_behaviour.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include "slipglass/season/figures.h"
#include "slipglass/statistics/trend.h"
#include "slipglass/text.h"

namespace slipglass {

namespace {

/// A photo tells of the state at a watering for as long as this. Common practice: photos are taken weekly.
constexpr int kPhotoHoldsDays = 7;
/// Photos of so many days before a tub is said never to dry. Guess.
constexpr int kFewDays = 3;

bool knowsLevel(const Observation& seen)
{
    return usable(seen) && seen.water_level_mm && seen.standing_water;
}

/// Half of the interval of a level.
std::optional<double> halfInterval(const Observation& seen)
{
    if (!seen.water_low_mm || !seen.water_high_mm) return std::nullopt;
    return (*seen.water_high_mm - *seen.water_low_mm) / 2;
}

void setMedian(const std::vector<LevelFall>& falls, std::optional<double>& mm_per_day, bool& at_least)
{
    std::vector<double> values;
    for (const LevelFall& fall : falls) {
        values.push_back(fall.mm_per_day);
        at_least = at_least || fall.at_least;
    }
    if (!values.empty()) mm_per_day = median(values);
}

std::string fallText(const std::optional<double>& mm_per_day, bool at_least)
{
    return (at_least ? "at least " : "") + figureText(mm_per_day, 1) + " mm a day";
}

/// Usable observations of a tub that show whether water stands.
std::vector<Observation> waterSeen(const std::vector<const Series*>& of_tub)
{
    std::map<std::string, Observation> by_photo;  // a cutting that has left its tub lacks the later ones
    for (const Series* series : of_tub)
        for (const SeriesPoint& point : series->points)
            if (usable(point.seen) && point.seen.standing_water)
                by_photo.emplace(point.seen.photo, point.seen);
    std::vector<Observation> seen;
    seen.reserve(by_photo.size());
    for (auto& [photo, one] : by_photo) seen.push_back(one);
    std::sort(seen.begin(), seen.end(), takenBefore);
    return seen;
}

std::string mediumOf(const std::vector<const Series*>& of_tub)
{
    std::string text;
    std::set<std::string> told;
    for (const Series* series : of_tub) {
        const std::string& medium = series->cutting.medium;
        if (!medium.empty() && told.insert(medium).second) text += (text.empty() ? "" : " / ") + medium;
    }
    return text;
}

void countWaterings(WaterBehaviour& tub, const std::vector<Observation>& seen,
                    const std::vector<CareEvent>& care)
{
    for (const CareEvent& event : care) {
        tub.tipped_out += event.what == Care::tipped_out ? 1 : 0;
        if (event.what != Care::watered) continue;
        ++tub.waterings;
        const Observation *before = nullptr, *after = nullptr;
        for (const Observation& one : seen) {
            const int days = daysBetween(event.date, one.taken.date);
            if (days < 0 && days >= -kPhotoHoldsDays) before = &one;
            if (days > 0 && days <= kPhotoHoldsDays && !after) after = &one;
        }
        const auto tippedOutBetween = [&](Date from, Date to) {
            return std::any_of(care.begin(), care.end(), [&](const CareEvent& other) {
                return other.what == Care::tipped_out && from <= other.date && other.date <= to;
            });
        };
        if (before && *before->standing_water && !tippedOutBetween(before->taken.date, event.date))
            ++tub.watered_onto_water;
        if (!after || tippedOutBetween(event.date, after->taken.date)) continue;
        ++tub.after_watering;
        tub.standing_after_watering += *after->standing_water ? 1 : 0;
    }
}

void say(WaterBehaviour& tub)
{
    const SaidPlace id{"tub", tub.tub};
    if (tub.never_dry)
        tub.says.push_back(saidOf(tub.photos, "{tub} never dried: water stood on each of its {n} photo",
                                  "{tub} never dried: water stood on each of its {n} photos", {id}));
    if (tub.watered_onto_water > 0)
        tub.says.push_back(saidOf(tub.watered_onto_water,
                                  "{tub} was watered {n} time while water still stood in it",
                                  "{tub} was watered {n} times while water still stood in it", {id}));
    if (tub.watered_too_often && tub.standing_after_watering > 0)
        tub.says.push_back(saidOf(
            tub.after_watering,
            "after watering, water stood in {tub} on {standing} of {n} photo: less, or less often, will do",
            "after watering, water stood in {tub} on {standing} of {n} photos: less, or less often, will do",
            {id, {"standing", std::to_string(tub.standing_after_watering)}}));
    if (!tub.fall_mm_per_day) return;
    const std::vector<SaidPlace> places{id, {"fall", Mm{*tub.fall_mm_per_day, 1}}};
    tub.says.push_back(
        tub.fall_at_least
            ? said("where water stood in {tub}, its level fell by at least {fall} a day", places)
            : said("where water stood in {tub}, its level fell by {fall} a day", places));
}

WaterBehaviour behaviourOf(const std::string& id, const std::vector<const Series*>& of_tub)
{
    WaterBehaviour tub;
    tub.tub = id;
    tub.medium = mediumOf(of_tub);
    const std::vector<Observation> seen = waterSeen(of_tub);
    const std::vector<CareEvent>& care = of_tub.front()->care;
    std::set<Date> days;
    const Observation* before = nullptr;
    for (const Observation& one : seen) {
        ++tub.photos;
        tub.photos_standing += *one.standing_water ? 1 : 0;
        days.insert(one.taken.date);
        if (!knowsLevel(one)) continue;
        if (before)
            if (const auto fall = levelFall(*before, one, care)) tub.falls.push_back(*fall);
        if (!before || before->taken.date < one.taken.date) before = &one;
    }
    setMedian(tub.falls, tub.fall_mm_per_day, tub.fall_at_least);
    tub.never_dry = static_cast<int>(days.size()) >= kFewDays && tub.photos_standing == tub.photos;
    countWaterings(tub, seen, care);
    tub.watered_too_often = tub.watered_onto_water > 0 ||
                            (tub.after_watering >= 2 && 2 * tub.standing_after_watering > tub.after_watering);
    say(tub);
    return tub;
}

std::string mediumSays(const MediumWater& medium)
{
    std::string text = "in " + medium.medium + " water stood on " + std::to_string(medium.photos_standing) +
                       " of " + counted(medium.photos, "photo", "photos");
    if (medium.fall_mm_per_day)
        text += ", and its level fell by " + fallText(medium.fall_mm_per_day, medium.fall_at_least) +
                " (median of " + counted(medium.falls, "span", "spans") + ")";
    return text;
}

}  // namespace

std::optional<LevelFall> levelFall(const Observation& first, const Observation& second,
                                   const std::vector<CareEvent>& of_tub)
{
    const Date from = first.taken.date, to = second.taken.date;
    const int days = daysBetween(from, to);
    if (days <= 0 || !knowsLevel(first) || !knowsLevel(second) || !*first.standing_water) return std::nullopt;
    if (handledBetween(of_tub, from, to)) return std::nullopt;
    const double fell = *first.water_level_mm - *second.water_level_mm;
    if (*second.water_level_mm > 0) {
        const auto first_error = halfInterval(first), second_error = halfInterval(second);
        const double error = std::hypot(first_error.value_or(0), second_error.value_or(0));
        if (fell < -error) return std::nullopt;
        LevelFall fall{from, to, fell / days, std::nullopt, false};
        if (first_error && second_error) fall.most_mm_per_day = (fell + error) / days;
        return fall;
    }
    // None was seen, and what may hide below the wall's foot is at most the interval's upper end.
    const double at_least = *first.water_level_mm - second.water_high_mm.value_or(0);
    if (at_least <= 0) return std::nullopt;
    return LevelFall{from, to, at_least / days, std::nullopt, true};
}

std::vector<WaterBehaviour> waterBehaviour(const std::vector<Series>& series)
{
    std::map<std::string, std::vector<const Series*>> by_tub;
    for (const Series& one : series) by_tub[one.cutting.tub].push_back(&one);
    std::vector<WaterBehaviour> tubs;
    tubs.reserve(by_tub.size());
    for (const auto& [id, of_tub] : by_tub) tubs.push_back(behaviourOf(id, of_tub));
    return tubs;
}

std::vector<MediumWater> waterByMedium(const std::vector<WaterBehaviour>& tubs)
{
    struct Gathered {
        MediumWater medium;
        std::vector<LevelFall> falls;
    };
    std::map<std::string, Gathered> by_medium;
    for (const WaterBehaviour& tub : tubs) {
        if (tub.medium.empty()) continue;
        Gathered& in = by_medium[inSmall(tub.medium)];
        if (in.medium.medium.empty()) in.medium.medium = tub.medium;
        ++in.medium.tubs;
        in.medium.photos += tub.photos;
        in.medium.photos_standing += tub.photos_standing;
        in.medium.falls += static_cast<int>(tub.falls.size());
        in.medium.never_dry += tub.never_dry ? 1 : 0;
        in.falls.insert(in.falls.end(), tub.falls.begin(), tub.falls.end());
    }
    std::vector<MediumWater> media;
    for (auto& [name, in] : by_medium) {
        setMedian(in.falls, in.medium.fall_mm_per_day, in.medium.fall_at_least);
        in.medium.says = mediumSays(in.medium);
        media.push_back(in.medium);
    }
    return media;
}

}  // namespace slipglass
