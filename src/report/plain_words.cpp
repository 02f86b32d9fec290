#include "plain_words.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "slipglass/flags/kinds.h"
#include "slipglass/season/figures.h"

namespace slipglass {

namespace {

constexpr std::array<const char*, 12> kMonths{"Jan", "Feb", "Mar", "Apr", "May", "Jun",
                                              "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"};

std::string inBrackets(const std::string& words)
{
    return words.empty() ? "" : " (" + words + ")";
}

}  // namespace

std::string rangeWords(std::optional<double> low, std::optional<double> high, int decimals)
{
    return low && high ? figureText(low, decimals) + " to " + figureText(high, decimals) : "";
}

std::string capitalised(std::string text)
{
    // Letters of other scripts stay as they are.
    if (!text.empty() && text.front() >= 'a' && text.front() <= 'z') text.front() -= 'a' - 'A';
    return text;
}

std::string uncapitalised(std::string text)
{
    if (text.size() > 1 && text[0] >= 'A' && text[0] <= 'Z' && text[1] >= 'a') text.front() += 'a' - 'A';
    return text;
}

std::string shortDay(Date day)
{
    return std::to_string(static_cast<unsigned>(day.day())) + " " +
           kMonths[static_cast<unsigned>(day.month()) - 1];
}

std::string dayWords(Date day)
{
    return shortDay(day) + " " + std::to_string(static_cast<int>(day.year()));
}

std::string flagWords(const std::string& flag)
{
    return flagKind(flag).words;
}

const char* severityWords(Severity severity)
{
    if (severity == Severity::act_today) return "Do today";
    return severity == Severity::look_soon ? "Look soon" : "Good to know";
}

std::string careWords(const CareEvent& event)
{
    std::string words;
    switch (event.what) {
        case Care::watered:
            words = "Watered";
            break;
        case Care::tipped_out:
            words = "Water tipped out";
            break;
        case Care::moved:
            words = "Moved";
            break;
        case Care::potted_up:
            words = "Potted up";
            break;
        case Care::given_up:
            words = "Given up";
            break;
        case Care::noted:
            words = "Note";
            break;
        case Care::weighed:
            words = "Weighed";
            break;
    }
    if (event.amount_ml) words += ", " + figureText(event.amount_ml, 0) + " ml";
    if (event.weight_g) words += ", tub weighs " + figureText(event.weight_g, 0) + " g";
    return words;
}

const char* stateWords(const Series& series)
{
    if (series.potted_up_on) return "Potted up";
    switch (series.state) {
        case StrikeState::struck:
            return "Struck";
        case StrikeState::failed:
            return "Given up";
        case StrikeState::not_yet:
            return series.roots_first_seen ? "Roots just seen" : "No roots yet";
        case StrikeState::no_photos:
            break;
    }
    return "No photo yet";
}

std::string strikeSentence(const Series& series)
{
    if (series.struck)
        return "Struck " +
               (series.struck->after ? "between " + dayWords(*series.struck->after) + " and "
                                     : std::string("by ")) +
               dayWords(series.struck->by) + ".";
    if (series.state == StrikeState::failed) return "Given up before roots were seen.";
    if (series.points.empty()) return "No photo yet.";
    if (series.roots_first_seen)
        return "Roots first seen on " + dayWords(*series.roots_first_seen) +
               "; one more photo will tell whether it struck.";
    return "No roots seen yet.";
}

std::string pottingSentence(const Series& series, const std::string& first)
{
    const Potting& potting = series.potting;
    if (series.ended_on) return "";
    if (!first.empty())
        return (potting.reached_on ? "Rooted enough to be potted up since " + dayWords(*potting.reached_on)
                                   : std::string("It may be rooted enough to be potted up")) +
               ", but first: " + first + ".";
    if (potting.reached_on) return "Ready to pot up since " + dayWords(*potting.reached_on) + ".";
    if (!potting.likely) return "";
    const std::string span =
        " (8 times in 10 between " + shortDay(*potting.earliest) + " and " + shortDay(*potting.latest) + ").";
    if (series.latest_photo && *potting.likely <= *series.latest_photo)
        return "Going by its growth, it may be ready to pot up already" + span;
    return "If it goes on growing like this, it can be potted up within " + std::to_string(kForecastDays) +
           " days " + figureText(potting.chance_percent, 0) + " times in 100, and then about " +
           dayWords(*potting.likely) + span;
}

std::string coverageWords(const Observation& seen, const SeasonSettings& settings)
{
    if (!seen.coverage_percent) return "not known";
    if (!rootsSeen(seen, settings).value_or(false)) return "none seen";
    return figureText(seen.coverage_percent, 1) + " %" +
           inBrackets(rangeWords(seen.coverage_low, seen.coverage_high, 1));
}

std::string lengthWords(const Observation& seen, const SeasonSettings& settings)
{
    if (!seen.root_length_mm) return "not known";
    if (rootsSeen(seen, settings) == false) return "none seen";
    return figureText(seen.root_length_mm, 0) + " mm";
}

std::string waterWords(const Observation& seen)
{
    if (!seen.standing_water && !seen.water_level_mm) return "not known";
    if (!seen.standing_water.value_or(false)) return "none standing";
    if (!seen.water_level_mm) return "standing";
    return figureText(seen.water_level_mm, 0) + " mm standing" +
           inBrackets(rangeWords(seen.water_low_mm, seen.water_high_mm, 0));
}

std::string wetnessWord(const Observation& seen)
{
    if (!seen.wetness) return "not known";
    const double wetness = *seen.wetness;
    // Nobody waters a tub that stands in water because its upper part looks dry.
    if (wetness < 0.4 && seen.standing_water.value_or(false)) return "pale above the water";
    // Thirds and a bit: 0.5 is as damp as on the first photo.
    return wetness <= 0.25 ? "dry" : wetness < 0.4 ? "drying" : wetness <= 0.7 ? "damp" : "wet";
}

std::string wetnessWords(const Observation& seen)
{
    return wetnessWord(seen) + inBrackets(figureText(seen.wetness, 2));
}

}  // namespace slipglass
