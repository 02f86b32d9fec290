#include "file_name.h"

#include <algorithm>
#include <array>
#include <cctype>
#include <iterator>
#include <regex>

namespace slipglass {

namespace {

/// What phones and cameras put before a date: never a tub. Common practice.
constexpr std::array kCameraWords{"img",   "image", "photo",      "picture", "pxl",
                                  "mvimg", "dsc",   "screenshot", "scan"};

bool isCameraWord(std::string word)
{
    std::transform(word.begin(), word.end(), word.begin(), [](unsigned char c) { return std::tolower(c); });
    return std::find(kCameraWords.begin(), kCameraWords.end(), word) != kCameraWords.end();
}

std::string trimmed(const std::string& text)
{
    const auto first = text.find_first_not_of(' ');
    if (first == std::string::npos) return "";
    return text.substr(first, text.find_last_not_of(' ') - first + 1);
}

struct DatedMatch {
    std::ptrdiff_t position;
    TakenAt taken;
};

/// Groups: 1 what is before, 2-4 year, month, day, 5-7 hour, minute, second or nothing.
std::optional<TakenAt> takenFrom(const std::smatch& match)
{
    const auto date = parseIsoDate(match.str(2) + "-" + match.str(3) + "-" + match.str(4));
    // A serial number may look like a date; years outside two centuries are not taken for one.
    if (!date || date->year() < std::chrono::year{1900} || date->year() > std::chrono::year{2099})
        return std::nullopt;
    TakenAt taken{*date, std::nullopt};
    if (!match[5].matched) return taken;
    const int hour = std::stoi(match.str(5)), minute = std::stoi(match.str(6)),
              second = std::stoi(match.str(7));
    if (hour < 24 && minute < 60 && second < 60) taken.second_of_day = (hour * 60 + minute) * 60 + second;
    return taken;
}

void collect(const std::string& stem, const std::regex& pattern, std::vector<DatedMatch>& found)
{
    for (std::sregex_iterator it(stem.begin(), stem.end(), pattern), end; it != end; ++it) {
        if (const auto taken = takenFrom(*it)) found.push_back({it->position(2), *taken});
    }
}

/// Dates within longer runs of digits are none: 1768210210123 counts milliseconds.
std::vector<TakenAt> phoneDates(const std::string& stem)
{
    // 20260112, 20260112_093010, 20260112-093010, 20260112093010, 20260112_093010123
    static const std::regex compact(
        "(^|[^0-9])([0-9]{4})([0-9]{2})([0-9]{2})(?:[-_ "
        "T.]?([0-9]{2})([0-9]{2})([0-9]{2})(?:[0-9]{3})?)?(?![0-9])");
    // 2026-01-12 09.30.10, 2026-01-12-09-30-10, 2026-01-12 at 09.30.10, 2026_01_12
    static const std::regex spaced(
        "(^|[^0-9])([0-9]{4})[-._]([0-9]{2})[-._]([0-9]{2})"
        "(?:(?:[-_ T.]| at )([0-9]{2})[-.:_]?([0-9]{2})[-.:_]?([0-9]{2}))?(?![0-9])");
    std::vector<DatedMatch> found;
    collect(stem, compact, found);
    collect(stem, spaced, found);
    std::stable_sort(found.begin(), found.end(),
                     [](const DatedMatch& a, const DatedMatch& b) { return a.position < b.position; });
    std::vector<TakenAt> dates;
    std::transform(found.begin(), found.end(), std::back_inserter(dates),
                   [](const DatedMatch& m) { return m.taken; });
    return dates;
}

}  // namespace

NameFacts readName(const std::string& stem)
{
    NameFacts facts;
    facts.phone_dates = phoneDates(stem);
    // The first date counts: what follows it is the user's own ("T01_2026-01-12_before-2026-02-01").
    static const std::regex typed("(?:(.*?)_)?([0-9]{4}-[0-9]{2}-[0-9]{2})(?:_.*)?");
    std::smatch match;
    if (!std::regex_match(stem, match, typed)) return facts;
    const std::string tub = trimmed(match.str(1));
    if (isCameraWord(tub)) return facts;
    facts.typed = match.str(2);
    if (!tub.empty()) facts.tub = tub;
    return facts;
}

bool isMerelyDate(const std::string& folder)
{
    static const std::regex date(
        "(19|20)[0-9]{2}([-._ ][0-9]{2}){1,2}|(19|20)[0-9]{2}[01][0-9][0-3][0-9]|"
        "[0-9]{1,2}[-._ ][0-9]{1,2}[-._ ](19|20)[0-9]{2}");
    return std::regex_match(folder, date);
}

}  // namespace slipglass
