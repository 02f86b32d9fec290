#include <gtest/gtest.h>

#include <cmath>
#include <map>
#include <nlohmann/json.hpp>

#include "../support/season_maker.h"
#include "slipglass/report/writers.h"
#include "slipglass/season/csv.h"

namespace slipglass {
namespace {

using test::covered;
using test::day;
using test::planned;
using test::unmeasured;

using Row = std::map<std::string, std::string>;

std::vector<Row> rowsOf(const SeasonReport& season)
{
    const auto records = parseCsv(cuttingsCsv(season), "cuttings.csv");
    std::vector<Row> rows;
    for (size_t r = 1; r < records.size(); ++r) {
        EXPECT_EQ(records[r].fields.size(), records[0].fields.size());
        rows.emplace_back();
        for (size_t c = 0; c < records[0].fields.size(); ++c)
            rows.back()[records[0].fields[c]] = records[r].fields.at(c);
    }
    return rows;
}

/// Coverage passes 4 % on day 45.
std::vector<Observation> growing(int until)
{
    std::vector<Observation> photos;
    for (int n = 0; n <= until; n += 7) {
        const double percent = 8 / (1 + std::exp(-0.15 * (n - 45)));
        photos.push_back(covered(n, percent, "T1"));
        photos.back().root_length_mm = 80 * percent;
    }
    return photos;
}

SeasonReport seasonOf(std::vector<Observation> photos)
{
    Plan plan;
    plan.own_column_names = {"plot", "state"};
    plan.cuttings = {planned("C1", "T1"), planned("C2", "T2"), planned("C3", "T3")};
    plan.cuttings[0].variety = "Quince Plot Nine";
    plan.cuttings[0].own_columns = {{"plot", "9"}, {"state", "mine"}};
    plan.cuttings[1].given_up_on = day(40);
    photos.push_back(covered(7, 0.1, "T2"));
    return buildSeason(std::move(photos), {}, plan, {});
}

TEST(CuttingsTable, HasARowForEachCuttingWithItsForecast)
{
    const auto rows = rowsOf(seasonOf(growing(42)));
    ASSERT_EQ(rows.size(), 3U);
    const Row& row = rows[0];
    EXPECT_EQ(row.at("cutting"), "C1");
    EXPECT_EQ(row.at("variety"), "Quince Plot Nine");
    EXPECT_EQ(row.at("stuck_on"), isoDate(day(0)));
    EXPECT_EQ(row.at("state"), "struck");
    EXPECT_EQ(row.at("struck_after"), isoDate(day(21)));
    EXPECT_EQ(row.at("struck_by"), isoDate(day(28)));
    EXPECT_EQ(row.at("photos"), "7");
    EXPECT_EQ(row.at("coverage_percent"), "3.11");
    EXPECT_EQ(row.at("potting_reached_on"), "");
    EXPECT_LT(row.at("potting_earliest"), row.at("potting_likely"));
    EXPECT_LT(row.at("potting_likely"), row.at("potting_latest"));
    EXPECT_NE(row.at("potting_chance_percent"), "");
    EXPECT_EQ(row.at("no_forecast_because"), "");
    EXPECT_EQ(row.at("plot"), "9");
    EXPECT_EQ(row.at("own_state"), "mine");
}

TEST(CuttingsTable, LeavesEmptyWhatIsNotKnown)
{
    const auto rows = rowsOf(seasonOf(growing(42)));
    EXPECT_EQ(rows[1].at("state"), "failed");
    EXPECT_EQ(rows[1].at("given_up_on"), isoDate(day(40)));
    EXPECT_EQ(rows[1].at("struck_by"), "");
    EXPECT_EQ(rows[1].at("no_forecast_because"), "it was given up");
    EXPECT_EQ(rows[2].at("state"), "no photos");
    for (const char* column : {"coverage_percent", "first_photo", "days_since_stuck", "potting_likely",
                               "coverage_doubling_days", "growth_curve", "flags"})
        EXPECT_EQ(rows[2].at(column), "") << column;
}

TEST(CuttingsTable, NamesTheFlagsThatHold)
{
    EXPECT_EQ(rowsOf(seasonOf(growing(56)))[0].at("flags"), "ready-to-pot");
}

TEST(SeasonJson, CarriesStateGrowthAndForecast)
{
    const auto json = nlohmann::json::parse(seasonJson(seasonOf(growing(42))));
    const auto& series = json["series"][0];
    EXPECT_EQ(series["state"], "struck");
    EXPECT_EQ(series["rootless_until"], isoDate(day(21)));
    EXPECT_EQ(series["growth"]["days_from_what"], "stuck_on");
    EXPECT_EQ(series["growth"]["coverage_percent"]["curves"][0]["curve"], "logistic");
    EXPECT_EQ(series["growth"]["coverage_percent"]["trend"], nullptr);
    EXPECT_GT(series["potting"]["likely"], isoDate(day(42)));
    EXPECT_GT(series["potting"]["chance_percent"], 33);
    EXPECT_EQ(series["points"][6]["potting_reached"], false);
    EXPECT_NEAR(series["points"][6]["coverage_relative_per_day"].get<double>(), std::log(3.1133 / 1.4594) / 7,
                1e-3);
    EXPECT_EQ(json["series"][1]["potting"]["likely"], nullptr);
    EXPECT_EQ(json["series"][1]["growth"]["coverage_percent"]["curves"].size(), 0U);
    EXPECT_EQ(json["potting_coverage_percent"], 4.0);
}

TEST(SeasonJson, HoldsNoNumberThatIsNone)
{
    std::vector<Observation> odd{unmeasured(0, "dark", "T1")};
    for (int n = 7; n <= 70; n += 7) odd.push_back(covered(n, n == 14 ? 100.0 : 1.0, "T1"));
    for (const auto& photos : {odd, std::vector<Observation>{unmeasured(0, "dark", "T1")}, growing(0)}) {
        const std::string json = seasonJson(seasonOf(photos));
        const std::string csv = cuttingsCsv(seasonOf(photos));
        for (const char* none : {"nan", "inf", "NaN", "Inf"}) {
            EXPECT_EQ(json.find(none), std::string::npos);
            EXPECT_EQ(csv.find(none), std::string::npos);
        }
    }
}

}  // namespace
}  // namespace slipglass
