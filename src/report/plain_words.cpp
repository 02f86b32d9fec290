#include "plain_words.h"

#include <glib.h>

#include <array>

#include "slipglass/flags/kinds.h"
#include "slipglass/season/figures.h"

namespace slipglass {

namespace {

std::string inBrackets(const std::string& words)
{
    return words.empty() ? "" : " (" + words + ")";
}

}  // namespace

std::string rangeWords(std::optional<double> low, std::optional<double> high, int decimals,
                       const Words& words)
{
    if (!low || !high) return "";
    return words("{low} to {high}",
                 {{"low", words.number(low, decimals)}, {"high", words.number(high, decimals)}});
}

std::string lengthRangeWords(std::optional<double> low, std::optional<double> high, int decimals,
                             const Words& words)
{
    if (!low || !high) return "";
    return words.withUnit(words("{low} to {high}", {{"low", words.lengthNumber(low, decimals)},
                                                    {"high", words.lengthNumber(high, decimals)}}));
}

std::string capitalised(const std::string& text)
{
    if (text.empty() || !g_utf8_validate(text.data(), static_cast<gssize>(text.size()), nullptr)) return text;
    std::array<char, 6> first{};
    const int size = g_unichar_to_utf8(g_unichar_toupper(g_utf8_get_char(text.c_str())), first.data());
    return std::string(first.data(), static_cast<size_t>(size)) + g_utf8_next_char(text.c_str());
}

std::string insideSentence(std::string text, const Words& words)
{
    if (words.language() != "en") return text;  // German nouns keep their capitals
    if (text.size() > 1 && text[0] >= 'A' && text[0] <= 'Z' && text[1] >= 'a') text.front() += 'a' - 'A';
    return text;
}

std::string flagWords(const std::string& flag, const Words& words)
{
    return words(flagKind(flag).words);
}

std::string severityWords(Severity severity, const Words& words)
{
    if (severity == Severity::act_today) return words("Do today");
    return severity == Severity::look_soon ? words("Look soon") : words("Good to know");
}

std::string careWords(const CareEvent& event, const Words& words)
{
    std::string text;
    switch (event.what) {
        case Care::watered:
            text = words("Watered");
            break;
        case Care::tipped_out:
            text = words("Water tipped out");
            break;
        case Care::moved:
            text = words("Moved");
            break;
        case Care::potted_up:
            text = words("Potted up");
            break;
        case Care::given_up:
            text = words("Given up");
            break;
        case Care::noted:
            text = words("Note");
            break;
        case Care::weighed:
            text = words("Weighed");
            break;
    }
    if (event.amount_ml) text += ", " + words.number(event.amount_ml, 0) + " ml";
    if (event.weight_g) text += ", " + words("tub weighs {weight} g", {{"weight", Number{*event.weight_g}}});
    return text;
}

std::string stateWords(const Series& series, const Words& words)
{
    if (series.potted_up_on) return words("Potted up");
    switch (series.state) {
        case StrikeState::struck:
            return words("Struck");
        case StrikeState::failed:
            return words("Given up");
        case StrikeState::not_yet:
            return series.roots_first_seen ? words("Roots just seen") : words("No roots yet");
        case StrikeState::no_photos:
            break;
    }
    return words("No photo yet");
}

std::string strikeSentence(const Series& series, const Words& words)
{
    if (series.struck && series.struck->after)
        return words("Struck between {after} and {by}.",
                     {{"after", *series.struck->after}, {"by", series.struck->by}});
    if (series.struck) return words("Struck by {by}.", {{"by", series.struck->by}});
    if (series.state == StrikeState::failed) return words("Given up before roots were seen.");
    if (series.points.empty()) return words("No photo yet.");
    if (series.roots_first_seen)
        return words("Roots first seen on {date}; one more photo will tell whether it struck.",
                     {{"date", *series.roots_first_seen}});
    return words("No roots seen yet.");
}

std::string pottingSentence(const Series& series, const Words& words, const std::string& first)
{
    const Potting& potting = series.potting;
    if (series.ended_on) return "";
    if (!first.empty() && potting.reached_on)
        return words("Rooted enough to be potted up since {date}, but first: {first}.",
                     {{"date", *potting.reached_on}, {"first", first}});
    if (!first.empty())
        return words("It may be rooted enough to be potted up, but first: {first}.", {{"first", first}});
    if (potting.reached_on) return words("Ready to pot up since {date}.", {{"date", *potting.reached_on}});
    if (!potting.likely) return "";
    const SaidPlace earliest{"earliest", words.shortDay(*potting.earliest)};
    const SaidPlace latest{"latest", words.shortDay(*potting.latest)};
    if (series.latest_photo && *potting.likely <= *series.latest_photo)
        return words(
            "Going by its growth, it may be ready to pot up already (8 times in 10 between {earliest} and "
            "{latest}).",
            {earliest, latest});
    return words(
        "If it goes on growing like this, it can be potted up within {days} days {chance} times in 100, and "
        "then "
        "about {likely} (8 times in 10 between {earliest} and {latest}).",
        {{"days", std::to_string(kForecastDays)},
         {"chance", words.number(potting.chance_percent, 0)},
         {"likely", *potting.likely},
         earliest,
         latest});
}

std::string coverageWords(const Observation& seen, const SeasonSettings& settings, const Words& words)
{
    if (!seen.coverage_percent) return words("not known");
    if (!rootsSeen(seen, settings).value_or(false)) return words("none seen");
    return words.number(seen.coverage_percent, 1) + " %" +
           inBrackets(rangeWords(seen.coverage_low, seen.coverage_high, 1, words));
}

std::string lengthWords(const Observation& seen, const SeasonSettings& settings, const Words& words)
{
    if (!seen.root_length_mm) return words("not known");
    if (rootsSeen(seen, settings) == false) return words("none seen");
    return words.length(*seen.root_length_mm, 0);
}

std::string waterWords(const Observation& seen, const Words& words)
{
    if (!seen.standing_water && !seen.water_level_mm) return words("not known");
    if (!seen.standing_water.value_or(false)) return words("none standing");
    if (!seen.water_level_mm) return words("standing");
    const std::string range =
        seen.water_low_mm && seen.water_high_mm
            ? words("{low} to {high}", {{"low", words.lengthNumber(seen.water_low_mm, 0)},
                                        {"high", words.lengthNumber(seen.water_high_mm, 0)}})
            : "";
    return words("{level} standing", {{"level", Mm{*seen.water_level_mm}}}) + inBrackets(range);
}

std::string wetnessWord(const Observation& seen, const Words& words)
{
    if (!seen.wetness) return words("not known");
    const double wetness = *seen.wetness;
    // Nobody waters a tub that stands in water because its upper part looks dry.
    if (wetness < 0.4 && seen.standing_water.value_or(false)) return words("pale above the water");
    // Thirds and a bit: 0.5 is as damp as on the first photo.
    if (wetness <= 0.25) return words("dry");
    if (wetness < 0.4) return words("drying");
    return wetness <= 0.7 ? words("damp") : words("wet");
}

std::string wetnessWords(const Observation& seen, const Words& words)
{
    return wetnessWord(seen, words) + inBrackets(words.number(seen.wetness, 2));
}

std::string keptWords(const std::vector<std::string>& sentences, const Words& words)
{
    std::vector<std::string> here;
    here.reserve(sentences.size());
    for (const std::string& sentence : sentences) here.push_back(words.kept(sentence));
    return joined(here, "; ");
}

}  // namespace slipglass
