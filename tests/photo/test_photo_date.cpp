#include <gtest/gtest.h>

#include <array>
#include <cstdio>

#include "../../src/photo/photo_date.h"
#include "../support/table.h"
#include "slipglass/error.h"
#include "slipglass/photo/read_photo.h"

namespace slipglass {
namespace {

constexpr Date kToday{std::chrono::year{2026}, std::chrono::month{3}, std::chrono::day{1}};

/// "2026-01-12" or "2026-01-12T09:30:10".
std::string text(const TakenAt& taken)
{
    if (!taken.second_of_day) return isoDate(taken.date);
    const int s = *taken.second_of_day;
    std::array<char, 32> time{};
    std::snprintf(time.data(), time.size(), "T%02d:%02d:%02d", s / 3600, s / 60 % 60, s % 60);
    return isoDate(taken.date) + time.data();
}

PhotoFile named(const std::string& name)
{
    PhotoFile file;
    file.path = file.name = name;
    return file;
}

PhotoFacts withExif(const std::string& date)
{
    PhotoFacts facts;
    facts.exif_taken = parseExifDateTime(date);
    EXPECT_TRUE(facts.exif_taken) << date;
    return facts;
}

std::string dateOf(const std::string& name, const PhotoFacts& facts = {})
{
    return text(takenAt(named(name), facts, kToday));
}

std::string problemOf(const std::string& name, const PhotoFacts& facts = {})
{
    try {
        return "dated " + dateOf(name, facts);
    } catch (const Error& e) {
        EXPECT_EQ(e.input(), name);
        EXPECT_EQ(e.remedy(), "Start the file name with the tub and the day: TUB_YYYY-MM-DD");
        return e.problem();
    }
}

// Source: EXIF 2.3x, DateTimeOriginal; tests/data/reference/10-exif-datetime.csv. Exact.
TEST(ExifDateTime, IsReadAsTheStandardSays)
{
    int tried = 0;
    for (const auto& row : test::referenceTable("10-exif-datetime.csv")) {
        if (row.at("field") != "DateTimeOriginal") continue;
        const auto taken = parseExifDateTime(row.at("raw_value"));
        EXPECT_EQ(taken ? text(*taken) : "", row.at("iso_local")) << row.at("note");
        if (row.at("valid") == "unknown") {
            EXPECT_TRUE(isUnknownExifDateTime(row.at("raw_value")));
        }
        ++tried;
    }
    EXPECT_EQ(tried, 13);
}

TEST(PhotoDate, TypedInTheNameComesFirst)
{
    EXPECT_EQ(dateOf("T01_2026-01-12.jpg"), "2026-01-12");
    EXPECT_EQ(dateOf("T01_2026-01-12.jpg", withExif("2026:02:02 10:00:00")), "2026-01-12");
    EXPECT_EQ(dateOf("2026-01-12_b.jpg", withExif("2026:02:02 10:00:00")), "2026-01-12");
    EXPECT_EQ(dateOf("T01_2026-01-12_edited_2026-02-01.jpg"), "2026-01-12");
}

TEST(PhotoDate, TypedInTheNameKeepsTheTimeOfDayOfAClockThatShowsTheSameDay)
{
    EXPECT_EQ(dateOf("T01_2026-01-12.jpg", withExif("2026:01:12 09:30:10")), "2026-01-12T09:30:10");
    EXPECT_EQ(dateOf("T01_2026-01-12_IMG_20260112_101112.jpg"), "2026-01-12T10:11:12");
    EXPECT_EQ(dateOf("T01_2026-01-12_IMG_20260113_101112.jpg"), "2026-01-12");
}

TEST(PhotoDate, OfExifComesBeforeThePhonesOwnName)
{
    EXPECT_EQ(dateOf("IMG_20260112_093010.jpg", withExif("2026:01:11 08:00:00")), "2026-01-11T08:00:00");
    EXPECT_EQ(dateOf("Screenshot_2026-01-12.png", withExif("2026:01:11 08:00:00")), "2026-01-11T08:00:00");
}

// Common practice: how phones and apps name files.
TEST(PhotoDate, IsReadFromThePhonesOwnName)
{
    const std::vector<std::pair<std::string, std::string>> name_and_date{
        {"IMG_20260112_093010.jpg", "2026-01-12T09:30:10"},
        {"20260112_093010.jpg", "2026-01-12T09:30:10"},
        {"20260112_093010(0).jpg", "2026-01-12T09:30:10"},
        {"PXL_20260112_093010123.jpg", "2026-01-12T09:30:10"},
        {"PXL_20260112_093010123.MP.jpg", "2026-01-12T09:30:10"},
        {"20260112093010.jpg", "2026-01-12T09:30:10"},
        {"IMG-20260112-WA0001.jpg", "2026-01-12"},
        {"Screenshot_20260112-093010_Gallery.jpg", "2026-01-12T09:30:10"},
        {"Screenshot_2026-01-12-09-30-10.png", "2026-01-12T09:30:10"},
        {"Photo 2026-01-12 09.30.10.jpg", "2026-01-12T09:30:10"},
        {"2026-01-12 09.30.10.jpg", "2026-01-12T09:30:10"},
        {"Image 2026-01-12 at 09.30.10.jpeg", "2026-01-12T09:30:10"},
        {"IMG_2026-01-12.jpg", "2026-01-12"},
        {"12345678_20260112.jpg", "2026-01-12"},         // a number that is no date, then a date
        {"20260112_996199.jpg", "2026-01-12"},           // no such time of day
        {"scan 20260230 of 20260112.jpg", "2026-01-12"}  // no such day, then a day
    };
    for (const auto& [name, date] : name_and_date) EXPECT_EQ(problemOf(name), "dated " + date) << name;
}

TEST(PhotoDate, IsNotReadIntoOtherNumbers)
{
    for (const std::string name : {"IMG_0412.HEIC", "1768210210123.jpg", "9920260112.jpg", "202601121.jpg",
                                   "DSC12345678.jpg", "31129999.jpg", "T01.jpg", "photo.jpg", "2026-1-2.jpg"})
        EXPECT_EQ(problemOf(name), "no date in its name or EXIF data") << name;
}

TEST(PhotoDate, ThatCannotBeTrueIsAProblemNotAGuess)
{
    EXPECT_EQ(problemOf("T01_2026-02-30.jpg", withExif("2026:02:02 10:00:00")),
              "its name says 2026-02-30, a day the calendar does not have");
    EXPECT_EQ(problemOf("T01_1999-12-31.jpg"),
              "its name says 1999-12-31, before 2000, when no phone took photos");
    EXPECT_EQ(problemOf("T01_2026-03-02.jpg"), "its name says 2026-03-02, after today, 2026-03-01");
    EXPECT_EQ(problemOf("T01_2000-01-01.jpg"),
              "its name says 2000-01-01, which is what a clock shows after a reset");
    EXPECT_EQ(problemOf("IMG_20260302_080000.jpg"),
              "its name says 2026-03-02 08:00:00, after today, 2026-03-01");
    EXPECT_EQ(problemOf("IMG_0001.jpg", withExif("2027:01:12 09:30:10")),
              "its EXIF date is 2027-01-12 09:30:10, after today, 2026-03-01");
    PhotoFacts reset;
    reset.why_no_date = "its EXIF date is \"2000:01:01 00:00:12\", which is what a clock shows after a reset";
    EXPECT_EQ(problemOf("IMG_0001.jpg", reset), reset.why_no_date);
    EXPECT_EQ(problemOf("IMG_20260112_093010.jpg", reset), "dated 2026-01-12T09:30:10");
}

TEST(PhotoDate, OfTodayIsTrue)
{
    EXPECT_EQ(dateOf("T01_2026-03-01.jpg", withExif("2026:03:01 23:59:59")), "2026-03-01T23:59:59");
}

// From memory: the dates to which cameras and phones are reset.
TEST(ResetDate, IsKnownByTheStartOfItsYearOrOfItsClock)
{
    const auto impossible = [](const std::string& exif) {
        return !whyImpossible(*parseExifDateTime(exif), std::nullopt).empty();
    };
    for (const std::string exif :
         {"1970:01:01 00:00:00", "1980:01:01 00:10:00", "1999:12:31 23:59:59", "2000:01:01 17:00:00",
          "2005:01:01 00:00:31", "2012:01:01 00:59:59", "2020:01:01 00:00:00", "2002:12:08 12:00:00"})
        EXPECT_TRUE(impossible(exif)) << exif;
    for (const std::string exif : {"2000:01:02 00:00:00", "2012:01:01 01:00:00", "2012:01:02 00:00:00",
                                   "2002:12:08 12:00:01", "2026:01:01 00:10:00"})
        EXPECT_FALSE(impossible(exif)) << exif;
}

}  // namespace
}  // namespace slipglass
