#include "slipglass/typed_date.h"

#include <array>
#include <regex>
#include <vector>

#include "slipglass/text.h"

namespace slipglass {

namespace {

constexpr int kFirstYear = 2000;  // before it nobody took such photos
constexpr std::array<const char*, 12> kMonths{"January",   "February", "March",    "April",
                                              "May",       "June",     "July",     "August",
                                              "September", "October",  "November", "December"};

/// Numbers as typed, before anybody asks whether the calendar has such a day.
struct Numbers {
    int year = 0, month = 0, day = 0;
    Date date() const
    {
        return {std::chrono::year{year}, std::chrono::month{static_cast<unsigned>(month)},
                std::chrono::day{static_cast<unsigned>(day)}};
    }
    std::string words() const
    {
        return std::to_string(day) + " " + kMonths.at(static_cast<size_t>(month) - 1);
    }
};

/// 1 for "jan", "Janu" or "January"; empty for what is no month.
std::optional<int> monthNamed(const std::string& word)
{
    for (size_t m = 0; m < kMonths.size(); ++m)
        if (word.size() >= 3 && inSmall(kMonths[m]).starts_with(inSmall(word)))
            return static_cast<int>(m) + 1;
    return std::nullopt;
}

/// What the text can mean: nothing, one day, or two.
std::vector<Numbers> meanings(const std::string& text)
{
    static const std::regex year_first(R"((\d{4}) ?([-/.]) ?(\d{1,2}) ?\2 ?(\d{1,2}))");
    static const std::regex year_last(R"((\d{1,2}) ?([-/.]) ?(\d{1,2}) ?\2 ?(\d{4}|\d{2}))");
    static const std::regex day_month(R"((\d{1,2})[-/. ] ?([A-Za-z]+)[-/., ] ?(\d{4}|\d{2}))");
    static const std::regex month_day(R"(([A-Za-z]+)[-. ] ?(\d{1,2})[-, ] ?(\d{4}|\d{2}))");
    constexpr size_t kLongest = 40;  // std::regex goes one call deeper with each letter
    if (text.size() > kLongest) return {};
    std::smatch part;
    const auto number = [&](size_t i) { return std::stoi(part.str(i)); };
    if (std::regex_match(text, part, year_first)) return {{number(1), number(3), number(4)}};
    if (std::regex_match(text, part, year_last)) {
        const int first = number(1), second = number(3), year = number(4);
        if (second > 12) return {{year, first, second}};
        if (first > 12 || first == second) return {{year, second, first}};
        return {{year, second, first}, {year, first, second}};
    }
    const bool day_first = std::regex_match(text, part, day_month);
    if (!day_first && !std::regex_match(text, part, month_day)) return {};
    const auto month = monthNamed(part.str(day_first ? 2 : 1));
    if (!month) return {};
    return {{number(3), *month, number(day_first ? 1 : 2)}};
}

}  // namespace

TypedDate typedDate(const std::string& text, const std::string& writing)
{
    const std::vector<Numbers> all = meanings(text);
    const std::string like = "Write it like 2026-01-12" + writing;
    const auto refused = [&](const std::string& why, const std::string& remedy) {
        return TypedDate{std::nullopt, "is '" + text + "', which " + why, remedy};
    };
    if (all.empty()) return refused("is not a date as YYYY-MM-DD", like);
    if (all[0].year < 100) return refused("has a year of two digits", like);
    if (all.size() == 2 && all[0].date().ok() && all[1].date().ok())
        return refused("may be " + all[0].words() + " or " + all[1].words(),
                       "Write " + isoDate(all[0].date()) + " or " + isoDate(all[1].date()) + writing);
    const Date date = all[0].date();
    if (!date.ok()) return refused("is not a date: the calendar has no such day", like);
    if (all[0].year < kFirstYear)
        return {std::nullopt, "is " + isoDate(date) + ", before " + std::to_string(kFirstYear),
                "Correct the year"};
    return {date, "", ""};
}

}  // namespace slipglass
