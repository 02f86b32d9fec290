#include <gtest/gtest.h>

#include "../support/scratch_folder.h"
#include "slipglass/error.h"
#include "slipglass/overview/given.h"
#include "slipglass/report/writers.h"

namespace slipglass {
namespace {

using test::ScratchFolder;
using namespace std::chrono_literals;

Observation dry(const std::string& photo, Date date)
{
    Observation seen;
    seen.photo = photo;
    seen.tub = "T01";
    seen.taken = {date, std::nullopt};
    seen.state = State::measured;
    seen.coverage_percent = 0.5;
    return seen;
}

TEST(Given, TheSeasonCanBeReadBackFromItsFolderAlone)
{
    const ScratchFolder folder;
    Given given;
    given.plan = {"cutting,tub,variety,plot\nQ1,T01,\"Quince, late\",9\n", "batch.csv", {}};
    given.season.detection_limit_percent = 0.6;
    given.flags.no_roots_days = 3;
    given.problems = {{"shed.txt", "", "not measured", "is no picture", "Leave it out"}};
    given.today = 2026y / 2 / 1;
    const std::vector<Observation> seen{dry("a.jpg", 2026y / 1 / 12), dry("b.jpg", 2026y / 1 / 19)};
    {
        SeasonStore store(folder / "season.db");
        for (const Observation& one : seen) store.putPhoto(one.photo, {}, {one}, {});
        putGiven(store, given);
    }
    const Plan plan = parsePlan(given.plan->text, given.plan->name, given.today);
    const SeasonReport wanted = buildSeason(seen, given.problems, plan, given);
    const SeasonReport read = readSeason(folder.path());
    EXPECT_EQ(seasonJson(read), seasonJson(wanted));
    EXPECT_EQ(read.series.at(0).cutting.own_columns.at("plot"), "9");
    EXPECT_EQ(read.settings.detection_limit_percent, 0.6);
    EXPECT_EQ(read.problems.at(0).file, "shed.txt");
}

TEST(Given, KnowsHowPagesAreRead)
{
    const ScratchFolder folder;
    Given given;
    given.today = 2026y / 2 / 1;
    given.pages = {"de", "inch"};
    {
        SeasonStore store(folder / "season.db");
        putGiven(store, given);
    }
    EXPECT_EQ(readSeason(folder.path()).pages.language, "de");
    EXPECT_EQ(readSeason(folder.path()).pages.units, "inch");
}

TEST(Given, PagesAreNamedBesideWhatElseASettingsFileSays)
{
    const std::string with =
        withPages(R"({"water": {"standing_mm": 3}, "pages": {"units": "inch"}})", "de", "");
    EXPECT_NE(with.find("\"standing_mm\": 3"), std::string::npos);
    EXPECT_NE(with.find("\"language\": \"de\""), std::string::npos);
    EXPECT_NE(with.find("\"units\": \"inch\""), std::string::npos);
    EXPECT_EQ(withPages("{}", "", ""), "{}");
    EXPECT_EQ(withPages("not JSON", "de", ""), "not JSON");
    EXPECT_EQ(withPages("", "", ""), "");
}

TEST(Given, SaysAnewWhetherWaterStandsWhenItsLevelIsAnother)
{
    const ScratchFolder folder;
    SeasonStore store(folder / "season.db");
    Observation seen = dry("a.jpg", 2026y / 1 / 12);
    seen.water = {2.4, 2.1, 2.9};
    store.putPhoto(seen.photo, {}, {seen}, {});
    Given given;
    given.today = 2026y / 2 / 1;
    putGiven(store, given);
    EXPECT_EQ(seasonIn(store).observations[0].standing_water, true);
    given.standing.standing_mm = 3;
    putGiven(store, given);
    EXPECT_EQ(seasonIn(store).observations[0].standing_water, false);
}

TEST(Given, OfOldSeasonsSaysTheLevelInItsSettingsFileAlone)
{
    const ScratchFolder folder;
    SeasonStore store(folder / "season.db");
    store.putGiven({{"today", "2026-02-01"},
                    {"settings", R"({"flags":{"no_roots_days":3,"of_another_version":1},"season":7})"},
                    {"settings_file", R"({"water":{"standing_mm":3},"flags":{"no_roots_days":2}})"},
                    {"settings_file_file", "settings.json"}});
    const auto given = givenIn(store);
    ASSERT_TRUE(given);
    EXPECT_EQ(given->standing.standing_mm, 3);
    EXPECT_EQ(given->flags.no_roots_days, 3);
    EXPECT_EQ(given->settings->name, "settings.json");
}

TEST(Given, IsNoneWhereNoneWasWrittenWhole)
{
    const ScratchFolder folder;
    SeasonStore store(folder / "season.db");
    for (const char* today : {"", "some day"}) {
        store.putGiven({{"today", today}, {"problems", "{"}});
        EXPECT_FALSE(givenIn(store));
    }
}

TEST(Given, AFolderWithoutASeasonIsNamed)
{
    const ScratchFolder folder;
    try {
        readSeason(folder.path());
        FAIL();
    } catch (const Error& error) {
        EXPECT_EQ(error.problem(), "there is no season file");
    }
}

TEST(Given, ASeasonThatNoRunFinishedAsksForOne)
{
    const ScratchFolder folder;
    {
        SeasonStore store(folder / "season.db");
        store.putPhoto("a.jpg", {}, {dry("a.jpg", 2026y / 1 / 12)}, {});
    }
    EXPECT_THROW(readSeason(folder.path()), Error);
}

}  // namespace
}  // namespace slipglass
