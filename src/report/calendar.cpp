#include <algorithm>

#include "plain_words.h"
#include "slipglass/report/writers.h"
#include "slipglass/season/figures.h"

// Source: RFC 5545, "Internet Calendaring and Scheduling Core Object Specification (iCalendar)", 2009.

namespace slipglass {

namespace {

constexpr size_t kLineOctets = 75;  // RFC 5545, 3.1
constexpr int kRounds = 4;          // so many weeks ahead; the file is written anew every week

std::string basicDate(Date day)
{
    std::string text = isoDate(day);
    std::erase(text, '-');
    return text;
}

Date daysAfter(Date day, int days)
{
    return Date{std::chrono::sys_days{day} + std::chrono::days{days}};
}

/// 3.3.11: what has a meaning in a text is written with a backslash.
std::string escaped(const std::string& text)
{
    std::string result;
    for (const char c : validUtf8(text)) {
        if (c == '\n') {
            result += "\\n";
            continue;
        }
        if (static_cast<unsigned char>(c) < ' ' || c == 0x7f) continue;
        if (c == '\\' || c == ';' || c == ',') result += '\\';
        result += c;
    }
    return result;
}

/// A content line, folded after 75 octets at most, never inside a character.
std::string folded(const std::string& line)
{
    std::string result;
    size_t in_line = 0;
    for (size_t at = 0; at < line.size();) {
        size_t end = at + 1;
        while (end < line.size() && (static_cast<unsigned char>(line[end]) & 0xC0U) == 0x80U) ++end;
        if (in_line + end - at > kLineOctets) {
            result += "\r\n ";
            in_line = 1;
        }
        result.append(line, at, end - at);
        in_line += end - at;
        at = end;
    }
    return result + "\r\n";
}

struct Event {
    std::string uid;
    Date day, until;  ///< both are part of it
    std::string summary, description;
};

std::string eventText(const Event& event, Date stamp)
{
    std::string text;
    for (const std::string& line :
         {std::string("BEGIN:VEVENT"), "UID:" + escaped(event.uid),
          "DTSTAMP:" + basicDate(stamp) + "T000000Z", "DTSTART;VALUE=DATE:" + basicDate(event.day),
          "DTEND;VALUE=DATE:" + basicDate(daysAfter(event.until, 1)), "SUMMARY:" + escaped(event.summary),
          "DESCRIPTION:" + escaped(event.description), std::string("TRANSP:TRANSPARENT"),
          std::string("END:VEVENT")})
        text += folded(line);
    return text;
}

std::string inCapitals(std::string text)
{
    for (char& c : text) c = static_cast<char>(c >= 'a' && c <= 'z' ? c - 'a' + 'A' : c);
    return text;
}

std::vector<Event> roundEvents(const SeasonReport& season, const Rounds& rounds, const Words& words)
{
    const size_t tubs = rounds.tubs.size() + rounds.no_photo_yet.size() + rounds.fine.size();
    std::vector<Event> events;
    if (tubs == 0 || season.series.empty()) return events;
    const std::string what = words.numbered(static_cast<long long>(tubs), "{n} tub", "{n} tubs");
    Date day = *nextRound(rounds);
    for (int nth = 0; nth < kRounds; ++nth, day = daysAfter(day, kRoundDays))
        events.push_back(
            {"round-" + isoDate(day) + "@slipglass", day, day,
             words("Rooting season: photo day and round, {tubs}", {{"tubs", what}}),
             words("Photograph {tubs}, each from the same side. Then run: slipglass measure, with "
                   "the folders you always give, and do what slipglass rounds says.",
                   {{"tubs", what}})});
    return events;
}

std::vector<Event> pottingEvents(const SeasonReport& season, const Words& words)
{
    std::vector<Event> events;
    for (const Series& series : season.series) {
        const Potting& potting = series.potting;
        if (series.ended_on || potting.reached_on || !potting.likely ||
            *potting.likely <= *series.latest_photo)
            continue;
        const std::string &id = series.cutting.cutting, &tub = series.cutting.tub;
        events.push_back(
            {"potting-" + id + "@slipglass", *potting.likely, *potting.likely,
             id == tub
                 ? words("Likely ready to pot up: {cutting}", {{"cutting", id}})
                 : words("Likely ready to pot up: {cutting} (tub {tub})", {{"cutting", id}, {"tub", tub}}),
             pottingSentence(series, words) + " " + words("A hint, not a date: look before you pot it up.")});
    }
    return events;
}

}  // namespace

std::string calendarIcs(const SeasonReport& season, const Rounds& rounds)
{
    const Words words(season.pages);
    std::string text;
    for (const std::string& line : {std::string("BEGIN:VCALENDAR"), std::string("VERSION:2.0"),
                                    "PRODID:-//slipglass//rooting season//" + inCapitals(words.language()),
                                    std::string("CALSCALE:GREGORIAN"), std::string("METHOD:PUBLISH")})
        text += folded(line);
    if (rounds.newest_photo) {
        auto events = roundEvents(season, rounds, words);
        for (Event& event : pottingEvents(season, words)) events.push_back(std::move(event));
        for (const Event& event : events) text += eventText(event, *rounds.newest_photo);
    }
    return text + folded("END:VCALENDAR");
}

}  // namespace slipglass
