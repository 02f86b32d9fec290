#include <gtest/gtest.h>

#include "../support/table.h"
#include "slipglass/date.h"

namespace slipglass {
namespace {

Date day(int year, unsigned month, unsigned day_of_month)
{
    return {std::chrono::year{year}, std::chrono::month{month}, std::chrono::day{day_of_month}};
}

// Source: ISO 8601; tests/data/reference/10-iso8601.csv (parsed by Python 3.11). Of the valid forms only the
// extended calendar date is taken, ten characters that are a day; everything else, valid or not, is refused.
// Exact.
TEST(IsoDate, TakesTheExtendedCalendarDateOfTheVectorsAndNoOther)
{
    int taken = 0, refused = 0;
    for (const auto& row : test::referenceTable("10-iso8601.csv")) {
        const std::string text = row.at("text"), python = row.at("parsed_by_python_3.11");
        const auto date = parseIsoDate(text);
        const bool is_day = text == python.substr(0, 10);
        ASSERT_EQ(date.has_value(), is_day) << text << ", " << row.at("form");
        if (date) {
            EXPECT_EQ(isoDate(*date), text);
        }
        ++(date ? taken : refused);
    }
    EXPECT_EQ(taken, 3);
    EXPECT_EQ(refused, 26);
}

TEST(IsoDate, IsNotTakenWithAnythingAroundIt)
{
    for (const char* text : {"", " 2024-03-05", "2024-03-05 ", "2024-03-05\n", "+024-03-05", "2024-0a-05",
                             "2024-00-05", "2024-03-00", "2024-04-31"})
        EXPECT_FALSE(parseIsoDate(text)) << text;
}

TEST(IsoDate, IsWrittenWithAllItsZeros)
{
    EXPECT_EQ(isoDate(day(2026, 1, 2)), "2026-01-02");
    EXPECT_EQ(isoDate(day(987, 11, 30)), "0987-11-30");
}

TEST(DaysBetween, CountsLeapDaysAndKnowsWhichWay)
{
    EXPECT_EQ(daysBetween(day(2024, 2, 28), day(2024, 3, 1)), 2);
    EXPECT_EQ(daysBetween(day(2023, 2, 28), day(2023, 3, 1)), 1);
    EXPECT_EQ(daysBetween(day(2026, 1, 12), day(2025, 12, 31)), -12);
    EXPECT_EQ(daysBetween(day(2026, 1, 12), day(2026, 1, 12)), 0);
    // Source: 400 Gregorian years have 146097 days (97 leap years). Exact.
    EXPECT_EQ(daysBetween(day(2000, 1, 1), day(2400, 1, 1)), 146097);
}

TEST(TakenAt, OrdersByDayThenTimeWithUnknownTimesFirst)
{
    const TakenAt unknown{day(2026, 1, 12), std::nullopt}, early{day(2026, 1, 12), 5},
        next{day(2026, 1, 13), 1};
    EXPECT_LT(unknown, early);
    EXPECT_LT(early, next);
}

}  // namespace
}  // namespace slipglass
