#include "slipglass/typed_date.h"

#include <gtest/gtest.h>

namespace slipglass {
namespace {

TEST(TypedDate, IsTakenInEveryFormThatMeansOneDay)
{
    for (const char* text : {"2026-11-27", "2026/11/27", "2026.11.27", "27/11/2026", "27.11.2026",
                             "27-11-2026", "27. 11. 2026", "11/27/2026", "27 Nov 2026", "27 november 2026",
                             "27-NOV-2026", "27. Nov. 2026", "Nov 27, 2026", "November 27 2026"}) {
        const TypedDate typed = typedDate(text);
        EXPECT_EQ(typed.date, parseIsoDate("2026-11-27")) << text << ": " << typed.problem;
        EXPECT_EQ(typed.problem + typed.remedy, "") << text;
    }
    EXPECT_EQ(typedDate("2026/5/6").date, parseIsoDate("2026-05-06")) << "after the year comes the month";
    EXPECT_EQ(typedDate("05/05/2026").date, parseIsoDate("2026-05-05")) << "the same day either way";
    EXPECT_EQ(typedDate("5 Sept 2026").date, parseIsoDate("2026-09-05"));
    EXPECT_EQ(typedDate("29/02/2028").date, parseIsoDate("2028-02-29"));
}

TEST(TypedDate, IsRefusedWhereTwoDaysCanBeMeantAndBothAreNamed)
{
    for (const char* text : {"05/06/2026", "5.6.2026", "05-06-2026"}) {
        const TypedDate typed = typedDate(text);
        EXPECT_FALSE(typed.date) << text;
        EXPECT_EQ(typed.problem, "is '" + std::string(text) + "', which may be 5 June or 6 May");
        EXPECT_EQ(typed.remedy, "Write 2026-06-05 or 2026-05-06");
    }
    EXPECT_EQ(typedDate("1/2/2026", "; so or so").remedy, "Write 2026-02-01 or 2026-01-02; so or so");
}

TEST(TypedDate, IsRefusedWithAYearOfTwoDigits)
{
    for (const char* text : {"27/11/26", "05/06/26", "27 Nov 26", "26-11-27", "Nov 27, 26"}) {
        const TypedDate typed = typedDate(text);
        EXPECT_FALSE(typed.date) << text;
        EXPECT_NE(typed.problem.find("has a year of two digits"), std::string::npos) << typed.problem;
        EXPECT_EQ(typed.remedy, "Write it like 2026-01-12");
    }
}

TEST(TypedDate, IsRefusedWhereTheCalendarHasNoSuchDay)
{
    for (const char* text : {"2026-02-30", "31/04/2026", "29.02.2026", "13/13/2026", "0/1/2026", "00/00/2026",
                             "2026-00-12", "31 Nov 2026", "2026/13/1"}) {
        const TypedDate typed = typedDate(text);
        EXPECT_FALSE(typed.date) << text;
        EXPECT_NE(typed.problem.find("the calendar has no such day"), std::string::npos) << typed.problem;
    }
}

TEST(TypedDate, IsRefusedWhereItIsNoDateAtAll)
{
    for (const char* text :
         {"", "soon", "46034", "12 Jan", "27/11-2026", "27 Foo 2026", "27 Ma 2026", "271126", "20261127",
          "2026-11-27T00:00", "27//11/2026", "-1/11/2026", "١٢/01/2026"}) {
        const TypedDate typed = typedDate(text, "; thus");
        EXPECT_FALSE(typed.date) << text;
        EXPECT_EQ(typed.problem, "is '" + std::string(text) + "', which is not a date as YYYY-MM-DD");
        EXPECT_EQ(typed.remedy, "Write it like 2026-01-12; thus");
    }
    EXPECT_FALSE(typedDate(std::string(1000000, 'a') + " 27, 2026").date);
    EXPECT_EQ(typedDate("27/11/1926").problem, "is 1926-11-27, before 2000");
    EXPECT_EQ(typedDate("27/11/1926", "; thus").remedy, "Correct the year");
}

}  // namespace
}  // namespace slipglass
