#include <gtest/gtest.h>

#include <regex>

#include "../support/season_maker.h"
#include "slipglass/report/writers.h"

namespace slipglass {
namespace {

using test::covered;
using test::day;
using test::planned;
using test::seenOn;
using test::watered;

std::string index(const SeasonReport& season)
{
    return indexHtml(season, forPages(season, {}));
}

std::string cutting(const SeasonReport& season, const PicturesThere& there = {})
{
    const Graph graph = drawGraph(season.series.at(0), season.flags, season.settings);
    return cuttingHtml(season, 0, graph, forPages(season, there));
}

/// What the page says at a glance, one "value what" each.
std::vector<std::string> glance(const std::string& page)
{
    static const std::regex figure("<div><dt>([^<]*)</dt><dd[^>]*>([^<]*)</dd></div>");
    std::vector<std::string> figures;
    for (auto at = std::sregex_iterator(page.begin(), page.end(), figure); at != std::sregex_iterator(); ++at)
        figures.push_back((*at)[2].str() + " " + (*at)[1].str());
    return figures;
}

TEST(SeasonPage, TellsFourFiguresAtAGlance)
{
    Plan plan;
    for (const char* tub : {"T01", "T02", "T03"}) {
        plan.cuttings.push_back(planned(tub, tub));
        plan.cuttings.back().stuck_on = day(0);
    }
    // T01 and T02 strike between days 7 and 14; T03 stands in water.
    const SeasonReport season =
        buildSeason({covered(7, 0, "T01"), covered(14, 2, "T01"), covered(21, 3, "T01"), covered(7, 0, "T02"),
                     covered(14, 2, "T02"), covered(21, 3, "T02"), watered(21, 9, "T03")},
                    {}, plan, {});
    EXPECT_EQ(glance(index(season)),
              (std::vector<std::string>{"1 tub needs you today", "2 of 3 cuttings struck",
                                        "7–14 median days to strike", "9 Feb next photos due"}));
    EXPECT_NE(index(season).find("data-newest=\"2026-02-02\""), std::string::npos);
    EXPECT_NE(index(season).find("data-due=\"2026-02-09\""), std::string::npos);
}

TEST(SeasonPage, TellsWhatChangedInTheWeekToTheNewestPhoto)
{
    const SeasonReport season =
        buildSeason({watered(0, 9, "T01"), watered(7, 0, "T01"), covered(7, 2, "T02"), covered(14, 3, "T02"),
                     watered(7, 0, "T03"), watered(14, 9, "T03"), watered(14, 0, "T01")},
                    {}, std::nullopt, {});
    const std::string page = index(season);
    EXPECT_NE(page.find("In the week to 26 Jan"), std::string::npos);
    EXPECT_NE(page.find("<strong>New</strong> water stands at the base: T03"), std::string::npos);
    // That of T01 was over on day 7, a week before.
    EXPECT_EQ(page.find("<strong>Over</strong>"), std::string::npos);
    const SeasonReport a_week_before =
        buildSeason({watered(0, 9, "T01"), watered(7, 0, "T01")}, {}, std::nullopt, {});
    EXPECT_NE(index(a_week_before).find("<strong>Over</strong> water stands at the base: T01"),
              std::string::npos);
    const SeasonReport quiet = buildSeason({covered(0, 0), covered(14, 0)}, {}, std::nullopt, {});
    EXPECT_NE(index(quiet).find("In the week to 26 Jan nothing changed"), std::string::npos);
}

TEST(SeasonPage, ComparesGroupsOfThreeTubsAndFoldsSmallerOnes)
{
    Plan plan;
    std::vector<Observation> seen;
    for (int i = 0; i < 7; ++i) {
        const std::string tub = "T" + std::to_string(i);
        plan.cuttings.push_back(planned(tub, tub));
        plan.cuttings.back().medium = i < 3 ? "peat" : i < 6 ? "perlite" : "bark";
        seen.push_back(covered(7, 0, tub));
        seen.push_back(covered(14, i < 3 ? 2 : 0, tub));
        seen.push_back(covered(21, i < 3 ? 3 : 0, tub));
    }
    const std::string page = index(buildSeason(seen, {}, plan, {}));
    EXPECT_NE(page.find("<th scope=\"row\">peat</th><td class=\"number\" data-is=\"struck\">3 of 3</td>"),
              std::string::npos);
    EXPECT_NE(page.find("data-is=\"roots cover %\">3.0</td>"), std::string::npos);
    EXPECT_NE(page.find("data-is=\"roots cover %\">none seen</td>"), std::string::npos);
    EXPECT_EQ(page.find("<th scope=\"row\">bark</th>"), std::string::npos);
    EXPECT_NE(page.find("By medium: 1 more, too few to tell yet"), std::string::npos);
    EXPECT_NE(page.find("<li>bark: 0 of 1 struck</li>"), std::string::npos);
}

TEST(SeasonPage, DrawsACuttingsLineOnlyWhereRootsAreSeen)
{
    const std::string none = index(buildSeason({covered(0, 0.1), covered(7, 0.2)}, {}, std::nullopt, {}));
    EXPECT_EQ(none.find("<svg"), std::string::npos);
    const std::string some = index(buildSeason({covered(0, 1), covered(7, 2)}, {}, std::nullopt, {}));
    EXPECT_NE(some.find("class=\"spark\""), std::string::npos);
    EXPECT_NE(some.find("role=\"img\" aria-label=\"Roots of all cuttings over time"), std::string::npos);
}

TEST(CuttingPage, CallsNothingARootBelowTheDetectionLimit)
{
    Observation seen = covered(7, 0.2);
    seen.root_length_mm = 17;
    seen.browned_percent = 100;
    seen.gained_root_mm = 13;
    PicturesThere there;
    there.growth["T01"] = {{"2026-01-19", "#123456", false, 0.0}};
    there.files["T01"] = "T01";
    const std::string page = cutting(buildSeason({seen}, {}, std::nullopt, {}), there);
    for (const char* figure : {"0.2 %", "17 mm", "100 %", "13 mm", "#123456", "0 mm²"})
        EXPECT_EQ(page.find(figure), std::string::npos) << figure;
    EXPECT_NE(page.find("Root length none seen"), std::string::npos);  // on the graph, by pointer
    EXPECT_NE(page.find("<dt>Root length</dt><dd>none seen"), std::string::npos);
}

TEST(CuttingPage, SaysOfEachDayOfTheGrowthMapWhatIsNewOrThatNoneIsSeen)
{
    const Observation seen = covered(7, 2);
    PicturesThere there;
    PhotoPictures all;
    all.photo = "report/pictures/T01/a.jpg";
    all.found = "report/pictures/T01/a.found.png";
    all.wall = "report/pictures/T01/a.wall.jpg";
    all.width = all.height = 100;
    there.photos[{seen.photo, seen.tub}] = all;
    there.growth["T01"] = {{"2026-01-12", "#111111", false, 0.0}, {"2026-01-19", "#222222", true, 55.0}};
    there.files["T01"] = "T01";
    const std::string page = cutting(buildSeason({seen}, {}, std::nullopt, {}), there);
    EXPECT_NE(page.find("12 Jan 2026</time>: none seen"), std::string::npos);
    EXPECT_NE(page.find("19 Jan 2026</time>: 55 mm² new"), std::string::npos);
}

TEST(BenchSheet, HasABoxForEachThingToDo)
{
    Plan plan;
    plan.cuttings = {planned("a", "T01"), planned("b", "T02"), planned("c", "T03")};
    plan.cuttings[0].position = "sill, left";
    const SeasonReport season = buildSeason({watered(0, 9, "T01"), watered(0, 0, "T02")}, {}, plan, {});
    const std::string page = benchSheetHtml(season, roundsOf(season));
    EXPECT_NE(page.find("<th scope=\"row\">T01</th><td>sill, left"), std::string::npos);
    EXPECT_NE(page.find("<strong>Tip the water out</strong>: 9 mm of water since 12 Jan"), std::string::npos);
    EXPECT_NE(page.find("First photo of: T03"), std::string::npos);
    EXPECT_NE(page.find("Nothing but their photo: T02"), std::string::npos);
}

}  // namespace
}  // namespace slipglass
