#include <algorithm>

#include "cut_text.h"
#include "json_values.h"
#include "plain_words.h"
#include "slipglass/report/rounds_text.h"
#include "slipglass/terminal_text.h"

namespace slipglass {

namespace {

constexpr size_t kColumns = 80;
constexpr size_t kLongestId = 16;  // columns

std::string shortId(const std::string& id)
{
    return cutInMiddle(id, kLongestId);
}

std::string namesOf(const std::vector<std::string>& cuttings)
{
    std::vector<std::string> ids(cuttings.size());
    std::transform(cuttings.begin(), cuttings.end(), ids.begin(), shortId);
    return joined(ids, " and ");
}

/// What, for which cutting, why and since when, as far as there is room.
std::string firstNeed(const Need& need, size_t columns)
{
    std::string text = english(need.what);
    const auto addIfItFits = [&](const std::string& more) {
        if (terminalWidth(text + more) <= columns) text += more;
    };
    if (!need.cuttings.empty()) addIfItFits(" (" + namesOf(need.cuttings) + ")");
    if (const std::string why = english(need.why); !why.empty()) addIfItFits(": " + why);
    if (need.since) addIfItFits(" since " + Words().shortDay(*need.since));
    return cutAt(text, columns);
}

std::string countOfRest(size_t rest)
{
    return rest ? " (+" + std::to_string(rest) + ")" : "";
}

/// As many of the tub's needs as there is room for, and how many there are besides.
std::string needsText(const std::vector<Need>& needs, size_t columns)
{
    size_t rest = needs.size() - 1;
    std::string text = firstNeed(needs.front(), columns - terminalWidth(countOfRest(rest)));
    for (; rest > 0; --rest) {
        const std::string with = text + "; " + english(needs[needs.size() - rest].what);
        if (terminalWidth(with + countOfRest(rest - 1)) > columns) break;
        text = with;
    }
    return text + countOfRest(rest);
}

/// As many names as a line has room for, and how many there are besides; nothing where there are none.
std::string namesLine(std::string text, const std::vector<std::string>& tubs)
{
    if (tubs.empty()) return {};
    for (size_t i = 0; i < tubs.size(); ++i) {
        const std::string id = (i > 0 ? ", " : "") + shortId(tubs[i]);
        const size_t left = tubs.size() - i;
        const std::string rest = (i > 0 ? " and " : "") + std::to_string(left) + (i > 0 ? " more" : " tubs");
        const size_t room = left > 1 ? terminalWidth(" and 9999 more") : 0;
        if (terminalWidth(text + id) + room > kColumns) return text + rest;
        text += id;
    }
    return text;
}

}  // namespace

std::vector<std::string> roundsLines(const Rounds& rounds)
{
    size_t id_width = 0, call_width = 0;
    for (const TubRound& round : rounds.tubs) {
        id_width = std::max(id_width, terminalWidth(shortId(round.tub)));
        call_width = std::max(call_width, terminalWidth(severityText(round.needs.front().severity)));
    }
    std::vector<std::string> lines;
    for (const TubRound& round : rounds.tubs) {
        const std::string start = leftAligned(shortId(round.tub), id_width) + "  " +
                                  leftAligned(severityText(round.needs.front().severity), call_width) + "  ";
        lines.push_back(start + needsText(round.needs, kColumns - terminalWidth(start)));
    }
    const bool none_else = rounds.tubs.empty() && rounds.no_photo_yet.empty();
    for (const std::string& line :
         {namesLine("No photo yet: ", rounds.no_photo_yet),
          namesLine(none_else ? "Nothing to do: " : "Nothing to do for the rest: ", rounds.fine)})
        if (!line.empty()) lines.push_back(line);
    if (lines.empty()) lines.emplace_back("Nothing to do: no cutting is left in a tub");
    return lines;
}

std::string roundsJson(const Rounds& rounds)
{
    Json tubs = Json::array();
    for (const TubRound& round : rounds.tubs) {
        Json needs = Json::array();
        for (const Need& need : round.needs)
            needs.push_back({{"what", english(need.what)},
                             {"why", english(need.why)},
                             {"since", date(need.since)},
                             {"severity", severityText(need.severity)},
                             {"flag", need.flag},
                             {"cuttings", need.cuttings},
                             {"evidence", english(need.evidence)},
                             {"advice", english(need.advice)}});
        tubs.push_back({{"tub", round.tub}, {"needs", needs}});
    }
    const Json all = {{"newest_photo", date(rounds.newest_photo)},
                      {"tubs", tubs},
                      {"no_photo_yet", rounds.no_photo_yet},
                      {"nothing_to_do", rounds.fine}};
    return all.dump(2, ' ', false, Json::error_handler_t::replace) + "\n";
}

}  // namespace slipglass
