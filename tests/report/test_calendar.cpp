// Source: RFC 5545, "Internet Calendaring and Scheduling Core Object Specification (iCalendar)", 2009.
#include <gtest/gtest.h>

#include <set>

#include "../support/season_maker.h"
#include "slipglass/report/writers.h"
#include "slipglass/text.h"

namespace slipglass {
namespace {

using test::covered;
using test::day;
using test::planned;

/// Content lines, unfolded (3.1). Looks at each line as it stands.
std::vector<std::string> linesOf(const std::string& text)
{
    std::vector<std::string> lines;
    for (size_t from = 0; from < text.size();) {
        const size_t end = text.find("\r\n", from);
        if (end == std::string::npos) {
            ADD_FAILURE() << "the last line does not end";
            break;
        }
        const std::string line = text.substr(from, end - from);
        EXPECT_LE(line.size(), 75U) << line;
        EXPECT_EQ(line.find('\n'), std::string::npos) << line;
        EXPECT_EQ(validUtf8(line), line) << "folded inside a character";
        if (line.starts_with(' '))
            lines.back() += line.substr(1);
        else
            lines.push_back(line);
        from = end + 2;
    }
    return lines;
}

std::vector<std::string> valuesOf(const std::vector<std::string>& lines, const std::string& name)
{
    std::vector<std::string> values;
    for (const std::string& line : lines)
        if (line.starts_with(name)) values.push_back(line.substr(name.size()));
    return values;
}

SeasonReport seasonWithAForecast(const std::string& id)
{
    Plan plan;
    plan.cuttings = {planned(id, "T01")};
    SeasonReport season = buildSeason({covered(0, 1), covered(7, 2)}, {}, plan, {});
    Potting& potting = season.series.at(0).potting;
    potting.earliest = day(20);
    potting.likely = day(24);
    potting.latest = day(33);
    potting.chance_percent = 81;
    return season;
}

TEST(Calendar, HasTheNextFourRoundsAndTheLikelyPottingDay)
{
    const SeasonReport season = seasonWithAForecast("Q9, \"late\"; α\\β");
    const std::string text = calendarIcs(season, roundsOf(season));
    const auto lines = linesOf(text);
    EXPECT_EQ(lines.front(), "BEGIN:VCALENDAR");
    EXPECT_EQ(lines.back(), "END:VCALENDAR");
    EXPECT_EQ(valuesOf(lines, "DTSTART;VALUE=DATE:"),
              (std::vector<std::string>{"20260126", "20260202", "20260209", "20260216", "20260205"}));
    // Days that are part of it end where the next one begins (3.6.1).
    EXPECT_EQ(valuesOf(lines, "DTEND;VALUE=DATE:").back(), "20260206");
    // The stamp is the newest photo's day, so that the same season gives the same bytes on any day.
    for (const std::string& stamp : valuesOf(lines, "DTSTAMP:")) EXPECT_EQ(stamp, "20260119T000000Z");
    EXPECT_EQ(valuesOf(lines, "SUMMARY:").back(),
              "Likely ready to pot up: Q9\\, \"late\"\\; α\\\\β (tub T01)");
    EXPECT_NE(valuesOf(lines, "DESCRIPTION:").back().find("8 times in 10 between 1 Feb and 14 Feb"),
              std::string::npos);
    const auto uids = valuesOf(lines, "UID:");
    EXPECT_EQ(std::set<std::string>(uids.begin(), uids.end()).size(), 5U);
    EXPECT_EQ(calendarIcs(season, roundsOf(season)), text);
}

TEST(Calendar, KeepsTheNameOfAPottingDayThatMoves)
{
    SeasonReport season = seasonWithAForecast("Q9");
    const auto before = valuesOf(linesOf(calendarIcs(season, roundsOf(season))), "UID:");
    season.series.at(0).potting.likely = day(26);
    EXPECT_EQ(valuesOf(linesOf(calendarIcs(season, roundsOf(season))), "UID:"), before);
}

TEST(Calendar, FoldsLongNamesAndHasNoPottingDayOfACuttingThatHasLeft)
{
    std::string id;
    for (int i = 0; i < 60; ++i) id += "ü";
    SeasonReport season = seasonWithAForecast(id);
    EXPECT_EQ(valuesOf(linesOf(calendarIcs(season, roundsOf(season))), "UID:").back(),
              "potting-" + id + "@slipglass");
    season.series.at(0).ended_on = day(8);
    EXPECT_EQ(calendarIcs(season, roundsOf(season)).find("potting-"), std::string::npos);
}

TEST(Calendar, IsEmptyBeforeTheFirstPhoto)
{
    const auto lines = linesOf(calendarIcs({}, roundsOf({})));
    EXPECT_TRUE(valuesOf(lines, "BEGIN:VEVENT").empty());
    EXPECT_EQ(lines.back(), "END:VCALENDAR");
}

}  // namespace
}  // namespace slipglass
