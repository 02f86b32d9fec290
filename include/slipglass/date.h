#pragma once
#include <chrono>
#include <compare>
#include <optional>
#include <string>
#include <string_view>

namespace slipglass {

/// A calendar day, with no time zone: the day the user would name.
using Date = std::chrono::year_month_day;

/// When a photo was taken. The time of day orders two photos of one day and is often unknown.
struct TakenAt {
    Date date;
    std::optional<int> second_of_day;  ///< 0..86399

    auto operator<=>(const TakenAt&) const =
        default;  // NOLINT(modernize-use-nullptr): clang-tidy 14 misreads it
};

/// ISO 8601 calendar date, YYYY-MM-DD.
std::string isoDate(Date date);

/// Empty unless `text` is exactly YYYY-MM-DD and names a day of the (proleptic Gregorian) calendar.
std::optional<Date> parseIsoDate(std::string_view text);

/// Days from `from` to `to`; negative when `to` is earlier.
int daysBetween(Date from, Date to);

/// Today, local time. The only place a clock is read; pass the result on.
Date today();

}  // namespace slipglass
