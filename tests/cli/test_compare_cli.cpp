// slipglass compare as a process, on seasons made up without pictures.
#include <gtest/gtest.h>

#include <map>
#include <nlohmann/json.hpp>

#include "../support/season_maker.h"
#include "run_program.h"
#include "slipglass/overview/given.h"
#include "slipglass/report/writers.h"
#include "slipglass/season/csv.h"

namespace slipglass {
namespace {

using test::Ran;

/// Ten tubs of each medium, of which so many show roots from day 21 on; all tubs are on one photo a week.
void makeSeason(const std::filesystem::path& folder, int peat_struck, int vermiculite_struck)
{
    std::string plan = csvRecord({"cutting", "tub", "medium", "stuck_on", "heat mat"});
    std::map<int, std::vector<Observation>> seen;  // by day
    for (int i = 0; i < 20; ++i) {
        const bool peat = i < 10;
        const std::string tub = std::to_string(100 + i);
        plan += csvRecord({tub, tub, peat ? "peat" : "vermiculite", "2026-01-12", ""});
        for (int day = 0; day <= 42; day += 7) {
            const bool roots = day >= 21 && (peat ? i < peat_struck : i - 10 < vermiculite_struck);
            seen[day].push_back(test::covered(day, roots ? 5 : 0, tub));
            seen[day].back().photo = "all_" + isoDate(test::day(day)) + ".jpg";
        }
    }
    SeasonStore store(folder / "season.db");
    for (const auto& [day, on_photo] : seen) store.putPhoto(on_photo.front().photo, {}, on_photo, {});
    Given given;
    given.plan = {plan, "batch.csv", {}};
    given.today = test::day(42);
    putGiven(store, given);
}

class CompareCli : public testing::Test {
protected:
    std::string season(const std::string& name, int peat_struck, int vermiculite_struck) const
    {
        makeSeason(scratch_ / name, peat_struck, vermiculite_struck);
        return (scratch_ / name).string();
    }
    test::ScratchFolder scratch_;
};

TEST_F(CompareCli, SaysWhichMediumStruckBestAndHowOftenChanceDoesThat)
{
    const Ran ran = test::run({"compare", season("2026", 9, 5), "--by", "medium"});
    EXPECT_EQ(ran.code, 0) << ran.err;
    EXPECT_EQ(ran.out.find("peat struck 9 of 10, vermiculite 5 of 10; with so few, chance alone does this\n"
                           "about 1 time in 7."),
              0U)
        << ran.out;
    EXPECT_EQ(ran.err, "");
}

TEST_F(CompareCli, WritesBothTablesAndJson)
{
    const std::string out = (scratch_ / "tables").string();
    const Ran ran = test::run({"compare", season("2026", 9, 5), "--by", "medium", "--json", "--out", out});
    EXPECT_EQ(ran.code, 0) << ran.err;
    const auto json = nlohmann::json::parse(ran.out);
    EXPECT_EQ(json["groups"][0]["median_days_after"], 14);
    EXPECT_EQ(json["groups"][0]["median_days_by"], 21);
    EXPECT_EQ(readCsvFile(out + "/groups.csv").size(), 3U);
    EXPECT_EQ(readCsvFile(out + "/differences.csv").at(1).fields.at(3), "40.0");
}

TEST_F(CompareCli, KeepsSeveralSeasonsApartAndComparesThemWhenAsked)
{
    const std::string first = season("2025", 10, 10), second = season("2026", 4, 1);
    const Ran media = test::run({"compare", first, second, "--by", "medium", "--json"});
    EXPECT_EQ(nlohmann::json::parse(media.out)["kept_apart"][0], "season") << media.err;
    const Ran seasons = test::run({"compare", first, second, "--by", "season"});
    EXPECT_EQ(seasons.out.find("2025 struck 20 of 20, 2026 5 of 20;"), 0U) << seasons.out;
    const Ran twice = test::run({"compare", first, first, "--by", "season"});
    EXPECT_EQ(twice.code, 1);
    EXPECT_NE(twice.err.find("given twice"), std::string::npos) << twice.err;
}

TEST_F(CompareCli, AnswersWhatCannotBeCompared)
{
    const std::string folder = season("2026", 9, 5);
    const Ran unknown = test::run({"compare", folder, "--by", "medum"});
    EXPECT_EQ(unknown.code, 1);
    EXPECT_EQ(unknown.lines().size(), 1U);
    EXPECT_NE(unknown.err.find("nearest is 'medium'"), std::string::npos) << unknown.err;
    const Ran empty = test::run({"compare", folder, "--by", "heat mat"});
    EXPECT_EQ(empty.code, 0) << empty.err;
    EXPECT_EQ(empty.out.find("The plan gives no heat mat for any cutting; all together struck 14 of 20."), 0U)
        << empty.out;
    EXPECT_EQ(test::run({"compare", (scratch_ / "nowhere").string(), "--by", "medium"}).code, 1);
}

}  // namespace
}  // namespace slipglass
