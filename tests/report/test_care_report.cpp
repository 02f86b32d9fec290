#include <gtest/gtest.h>

#include <map>
#include <nlohmann/json.hpp>

#include "../support/scratch_folder.h"
#include "../support/season_maker.h"
#include "slipglass/overview/given.h"
#include "slipglass/report/writers.h"
#include "slipglass/season/csv.h"

namespace slipglass {
namespace {

using test::covered;
using test::day;
using test::planned;
using test::watered;

/// The only row of a table, by column name.
std::map<std::string, std::string> rowOf(const std::string& csv)
{
    const auto records = parseCsv(csv, "written.csv");
    std::map<std::string, std::string> row;
    EXPECT_EQ(records.size(), 2U);
    for (size_t c = 0; c < records.at(0).fields.size(); ++c)
        row[records[0].fields[c]] = records.at(1).fields.at(c);
    return row;
}

const std::string kLog =
    "date,tub,what,amount_ml,weight_g,note\n"
    "2026-01-15,T01,watered,100,900,\"cold, from the butt\"\n"
    "2026-01-25,T01,,,880,\n";

SeasonReport seasonOf(const std::vector<Observation>& seen)
{
    Plan plan;
    plan.cuttings = {planned("Q1", "T01")};
    plan.cuttings[0].medium = "peat";
    return buildSeason(seen, {}, plan, {}, parseCare(kLog, "care.csv", day(100)));
}

TEST(WaterCsv, HoldsARowForEachTub)
{
    const auto row =
        rowOf(waterCsv(seasonOf({watered(0, 5), watered(4, 9), watered(14, 4), watered(21, 4)})));
    EXPECT_EQ(row.at("tub"), "T01");
    EXPECT_EQ(row.at("medium"), "peat");
    EXPECT_EQ(row.at("photos"), "4");
    EXPECT_EQ(row.at("photos_standing"), "4");
    EXPECT_EQ(row.at("never_dry"), "true");
    EXPECT_EQ(row.at("falls"), "2");
    EXPECT_EQ(row.at("fall_mm_per_day"), "0.25") << "0.5 and 0; not from day 0 to 4, when it was watered";
    EXPECT_EQ(row.at("fall_at_least"), "false");
    EXPECT_EQ(row.at("waterings"), "1");
    EXPECT_EQ(row.at("watered_onto_water"), "1");
    EXPECT_EQ(row.at("watered_too_often"), "true");
    EXPECT_NE(row.at("says").find("T01 never dried"), std::string::npos);
}

TEST(WaterCsv, LeavesEmptyWhatIsNotKnown)
{
    const auto row = rowOf(waterCsv(seasonOf({covered(0, 1)})));
    EXPECT_EQ(row.at("photos"), "0");
    EXPECT_EQ(row.at("fall_mm_per_day"), "");
    EXPECT_EQ(row.at("fall_at_least"), "");
    EXPECT_EQ(row.at("says"), "");
}

TEST(SeasonJson, TellsWhatWasDoneWhatTheTubWeighedAndHowItsWaterBehaves)
{
    const auto json = nlohmann::json::parse(seasonJson(seasonOf({watered(4, 9), watered(14, 4)})));
    const auto& series = json["series"][0];
    ASSERT_EQ(series["care"].size(), 2U);
    EXPECT_EQ(series["care"][0]["date"], "2026-01-15");
    EXPECT_EQ(series["care"][0]["what"], "watered");
    EXPECT_EQ(series["care"][0]["amount_ml"], 100);
    EXPECT_EQ(series["care"][0]["note"], "cold, from the butt");
    EXPECT_TRUE(series["care"][1]["amount_ml"].is_null());
    ASSERT_EQ(series["weight"].size(), 2U);
    EXPECT_TRUE(series["weight"][0]["g_per_day"].is_null());
    EXPECT_EQ(series["weight"][1]["g_per_day"], -2);
    EXPECT_EQ(series["weight"][1]["interrupted"], false);
    ASSERT_EQ(json["water"].size(), 1U);
    EXPECT_EQ(json["water"][0]["falls"][0]["mm_per_day"], 0.5);
    EXPECT_TRUE(json["water"][0]["falls"][0]["most_mm_per_day"].is_null());
    EXPECT_EQ(json["water_by_medium"][0]["medium"], "peat");
    EXPECT_EQ(json["water_by_medium"][0]["fall_mm_per_day"], 0.5);
}

TEST(SeasonJson, TellsWhoseRootsTheFiguresAre)
{
    Plan plan;
    plan.cuttings = {planned("Q1", "T01"), planned("Q2", "T01")};
    plan.cuttings[0].position = "left";
    plan.cuttings[1].position = "right";
    std::vector<Observation> seen{covered(0, 3), covered(7, 3)};
    PartFigures left, right;
    left.place = "left";
    left.coverage_percent = 2;
    left.shared_root_mm = 12.34;
    left.meets_next_mm = 5;
    right.place = "right";
    seen[0].parts = {left, right};
    auto json = nlohmann::json::parse(seasonJson(buildSeason(seen, {}, plan, {})));
    const auto& points = json["series"][0]["points"];
    EXPECT_EQ(json["series"][0]["part"], "left");
    EXPECT_EQ(json["series"][0]["figures_shared_in_tub"], false);
    EXPECT_EQ(points[0]["coverage_percent"], 2);
    EXPECT_EQ(points[0]["part"]["shared_root_mm"], 12.3);
    EXPECT_TRUE(points[1]["part"].is_null()) << "this photo does not tell the parts apart";
    EXPECT_TRUE(points[1]["coverage_percent"].is_null());
    EXPECT_TRUE(json["series"][1]["points"][0]["part"]["shared_root_mm"].is_null());

    plan.cuttings[1].position = "left";
    json = nlohmann::json::parse(seasonJson(buildSeason(seen, {}, plan, {})));
    EXPECT_EQ(json["series"][0]["part"], "");
    EXPECT_EQ(json["series"][0]["figures_shared_in_tub"], true);
    EXPECT_EQ(json["series"][0]["shared_because"], "Q1 and Q2 have the same position, left");
    EXPECT_EQ(json["series"][0]["points"][0]["coverage_percent"], 3);
    EXPECT_EQ(json["warnings"].size(), 1U);
}

TEST(Given, KeepsTheCareLogWithTheSeason)
{
    const test::ScratchFolder folder;
    Given given;
    given.care = {kLog + "2026-01-30,T09,moved,,,\n", "care.csv", {}};
    given.today = day(100);
    {
        SeasonStore store(folder / "season.db");
        const Observation seen = covered(7, 1);
        store.putPhoto(seen.photo, {}, {seen}, {});
        putGiven(store, given);
    }
    const SeasonReport season = readSeason(folder.path());
    EXPECT_EQ(season.series.at(0).care.size(), 2U);
    ASSERT_EQ(season.warnings.size(), 1U);
    EXPECT_EQ(season.warnings[0], "care.csv, line 4: the tub 'T09' is neither in the plan nor on a photo");
}

}  // namespace
}  // namespace slipglass
