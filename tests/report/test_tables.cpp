#include <gtest/gtest.h>

#include <clocale>
#include <fstream>
#include <limits>
#include <nlohmann/json.hpp>

#include "../support/season_maker.h"
#include "slipglass/report/writers.h"
#include "slipglass/season/csv.h"
#include "slipglass/season/figures.h"

namespace slipglass {
namespace {

using test::covered;
using test::planned;
using test::seenOn;
using test::watered;
using Fields = std::vector<std::string>;

/// The columns that design section 6 fixes, in its order.
const Fields kDesignColumns{"photo",
                            "tub",
                            "date",
                            "state",
                            "coverage_percent",
                            "coverage_low",
                            "coverage_high",
                            "root_length_mm",
                            "root_width_mm",
                            "browned_percent",
                            "deepest_root_mm",
                            "water_level_mm",
                            "water_level_percent",
                            "water_low_mm",
                            "water_high_mm",
                            "standing_water",
                            "wetness",
                            "wall_area_mm2",
                            "px_per_mm",
                            "confidence",
                            "notes"};

SeasonReport seasonOf(const std::vector<Observation>& seen, const std::vector<Problem>& problems = {})
{
    return buildSeason(seen, problems, std::nullopt, {});
}

/// Rows by column name.
std::vector<std::map<std::string, std::string>> rowsOf(const std::string& csv)
{
    const auto records = parseCsv(csv, "written.csv");
    std::vector<std::map<std::string, std::string>> rows;
    for (size_t r = 1; r < records.size(); ++r) {
        EXPECT_EQ(records[r].fields.size(), records[0].fields.size());
        rows.emplace_back();
        for (size_t c = 0; c < records[0].fields.size(); ++c)
            rows.back()[records[0].fields[c]] = records[r].fields.at(c);
    }
    return rows;
}

// Source: RFC 4180 (2005), section 2; tests/data/reference/README-csv.md. Exact: text, no tolerance.
TEST(CsvWriter, WritesEveryRecordOfTheRfc4180Vectors)
{
    const auto all =
        nlohmann::json::parse(std::ifstream(SLIPGLASS_TEST_DATA "/reference/10-rfc4180-vectors.json"));
    int written = 0;
    for (const auto& vector : all["vectors"]) {
        // A record of one empty field would be an empty line, which is read as none: it is written as
        // Python's csv module does.
        const bool none = vector["record"] == "\r\n";
        EXPECT_EQ(csvRecord(vector["fields"].get<Fields>(), {false}),
                  vector[none ? "python_csv_record" : "record"].get<std::string>())
            << vector["name"];
        ++written;
    }
    EXPECT_EQ(written, 18);
}

TEST(CsvWriter, ReplacesWhatIsNotUtf8)
{
    EXPECT_EQ(csvRecord({"M\xFCller"}), "M\xEF\xBF\xBDller\r\n");
}

TEST(ObservationsCsv, HasTheColumnsOfTheDesignPageFirst)
{
    const auto records = parseCsv(observationsCsv(seasonOf({})), "x.csv");
    ASSERT_EQ(records.size(), 1U);
    ASSERT_GE(records[0].fields.size(), kDesignColumns.size());
    EXPECT_EQ(Fields(records[0].fields.begin(),
                     records[0].fields.begin() + static_cast<long>(kDesignColumns.size())),
              kDesignColumns);
    EXPECT_EQ(std::set<std::string>(records[0].fields.begin(), records[0].fields.end()).size(),
              records[0].fields.size());
}

TEST(ObservationsCsv, LeavesWhatIsNotKnownEmpty)
{
    auto seen = seenOn(0);
    seen.coverage_percent = std::numeric_limits<double>::quiet_NaN();
    seen.water_level_mm = std::numeric_limits<double>::infinity();
    const auto rows = rowsOf(observationsCsv(seasonOf({seen})));
    ASSERT_EQ(rows.size(), 1U);
    for (const auto& figure : kFigures) EXPECT_EQ(rows[0].at(figure.name), "") << figure.name;
    EXPECT_EQ(rows[0].at("standing_water"), "");
    EXPECT_EQ(rows[0].at("notes"), "");
    EXPECT_EQ(rows[0].at("time"), "");
}

TEST(ObservationsCsv, WritesAZeroThatWasMeasured)
{
    const auto rows = rowsOf(observationsCsv(seasonOf({watered(0, 0)})));
    EXPECT_EQ(rows[0].at("water_level_mm"), "0.0");
    EXPECT_EQ(rows[0].at("standing_water"), "false");
}

TEST(ObservationsCsv, WritesEachFigureUnderItsOwnName)
{
    Observation seen = seenOn(0);
    double value = 1;
    for (const auto& figure : kFigures) seen.*figure.value = value++;
    seen.water.level = 8;
    seen.notes = {"blurred", "glare, left"};
    seen.taken.second_of_day = 9 * 3600 + 5 * 60 + 7;
    SeasonReport season = seasonOf({seen});
    season.observations[0].wetness = seen.wetness;  // which a season derives from all photos of the tub
    const auto row = rowsOf(observationsCsv(season)).at(0);
    value = 1;
    for (const auto& figure : kFigures) EXPECT_EQ(row.at(figure.name), figureText(value++, figure.decimals));
    EXPECT_EQ(row.at("standing_water"), "true");
    EXPECT_EQ(row.at("notes"), "blurred; glare, left");
    EXPECT_EQ(row.at("time"), "09:05:07");
    EXPECT_EQ(row.at("date"), "2026-01-12");
}

TEST(ObservationsCsv, DoesNotDependOnTheLocaleOrTheOrderOfObservations)
{
    const std::string expected = observationsCsv(seasonOf({covered(0, 1.5), covered(7, 2.5)}));
    if (std::setlocale(LC_ALL, "de_DE.UTF-8") == nullptr) std::setlocale(LC_ALL, "C.UTF-8");
    EXPECT_EQ(observationsCsv(seasonOf({covered(7, 2.5), covered(0, 1.5)})), expected);
    std::setlocale(LC_ALL, "C");
    EXPECT_NE(expected.find(",1.50,"), std::string::npos);
}

TEST(FlagsCsv, HasTheColumnsOfTheDesignPageFirst)
{
    const auto records = parseCsv(flagsCsv(seasonOf({watered(0, 5), watered(7, 0)})), "x.csv");
    ASSERT_EQ(records.size(), 2U);
    EXPECT_EQ(Fields(records[0].fields.begin(), records[0].fields.begin() + 7),
              (Fields{"tub", "cutting", "date", "flag", "severity", "evidence", "advice"}));
    const auto row = rowsOf(flagsCsv(seasonOf({watered(0, 5), watered(7, 0)}))).at(0);
    EXPECT_EQ(row.at("flag"), "standing-water");
    EXPECT_EQ(row.at("holds"), "false");
    EXPECT_EQ(row.at("cleared"), "2026-01-19");
    EXPECT_EQ(row.at("photos"), "T01/T01_2026-01-12.jpg");
}

TEST(ProblemsCsv, HasARowPerProblemInOrder)
{
    const auto rows = rowsOf(problemsCsv(seasonOf({}, {{"b.jpg", "T01", "retake", "glare", "Move the lamp"},
                                                       {"a.jpg", "", "not measured", "empty", "Copy it"}})));
    ASSERT_EQ(rows.size(), 2U);
    EXPECT_EQ(rows[0].at("file"), "a.jpg");
    EXPECT_EQ(rows[1].at("remedy"), "Move the lamp");
}

TEST(SeasonJson, CarriesAVersionAllSeriesFlagsAndProblems)
{
    Plan plan;
    plan.cuttings = {planned("a", "T01"), planned("b", "T01")};
    plan.cuttings[0].own_columns["shelf"] = "top";
    const auto json = nlohmann::json::parse(seasonJson(buildSeason(
        {covered(7, 1), covered(14, 2), watered(21, 5)}, {{"x", "", "not measured", "r", "d"}}, plan, {})));
    EXPECT_EQ(json["schema_version"], 2);
    ASSERT_EQ(json["series"].size(), 2U);
    const auto& series = json["series"][0];
    EXPECT_EQ(series["cutting"], "a");
    EXPECT_EQ(series["own_columns"]["shelf"], "top");
    EXPECT_EQ(series["figures_shared_in_tub"], true);
    EXPECT_EQ(series["days_since_stuck"], 21);
    EXPECT_EQ(series["struck"]["after"], "2026-01-12");
    EXPECT_EQ(series["struck"]["by"], "2026-01-19");
    EXPECT_EQ(series["struck"]["confirmed"], "2026-01-26");
    ASSERT_EQ(series["points"].size(), 3U);
    EXPECT_EQ(series["points"][1]["coverage_percent"], 2.0);
    EXPECT_EQ(series["points"][1]["coverage_percent_per_day"], 0.1429);  // 1 % in 7 days, to 4 decimals
    EXPECT_EQ(json["flags"].size(), 2U);
    EXPECT_EQ(json["problems"].size(), 1U);
}

TEST(SeasonJson, SaysNullForWhatIsNotKnown)
{
    auto seen = seenOn(0);
    seen.coverage_percent = std::numeric_limits<double>::quiet_NaN();
    const auto json = nlohmann::json::parse(seasonJson(seasonOf({seen})));
    const auto& point = json["series"][0]["points"][0];
    for (const auto& figure : kFigures) EXPECT_TRUE(point.at(figure.name).is_null()) << figure.name;
    EXPECT_TRUE(point["standing_water"].is_null());
    EXPECT_TRUE(json["series"][0]["struck"].is_null());
}

TEST(SeasonJson, IsValidWhateverIdsHold)
{
    const std::string tub = "T\"\n<b>\xFF\x01";
    const auto json = nlohmann::json::parse(seasonJson(seasonOf({seenOn(0, tub)})));
    EXPECT_EQ(json["series"][0]["tub"], "T\"\n<b>\xEF\xBF\xBD\x01");
}

}  // namespace
}  // namespace slipglass
