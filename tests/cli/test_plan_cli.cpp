// plan, rounds and timelapse as processes.
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "../support/samples.h"
#include "run_program.h"
#include "slipglass/season/plan.h"

namespace slipglass {
namespace {

namespace fs = std::filesystem;
using test::Ran;

class PlanCli : public testing::Test {
protected:
    std::string path(const std::string& name) const { return (scratch_ / name).string(); }
    Ran plan(std::vector<std::string> more) const
    {
        std::vector<std::string> all{"plan", "--out", path("batch.csv")};
        all.insert(all.end(), more.begin(), more.end());
        return test::run(all);
    }
    static void expectOneLine(const Ran& ran, const std::string& words)
    {
        EXPECT_EQ(ran.code, 1);
        ASSERT_EQ(ran.lines().size(), 1U) << ran.err;
        EXPECT_NE(ran.lines()[0].find(words), std::string::npos) << ran.err;
        EXPECT_TRUE(ran.out.empty()) << ran.out;
    }

    test::ScratchFolder scratch_;
};

TEST_F(PlanCli, WritesAPlanThatIsReadBackAndTheSameBytesAgain)
{
    const std::vector<std::string> wish{"--tubs",     "12",         "--medium",   "peat-perlite,thirds",
                                        "--stuck-on", "2026-01-12", "--tub-type", "quart"};
    const Ran ran = plan(wish);
    EXPECT_EQ(ran.code, 0) << ran.err;
    EXPECT_NE(ran.out.find("6 tubs  peat-perlite"), std::string::npos) << ran.out;
    EXPECT_NE(ran.out.find("seed 1"), std::string::npos) << ran.out;
    EXPECT_NE(ran.out.find("takes 49 cuttings a side, 98 tubs in all"), std::string::npos) << ran.out;
    const Plan read = readPlan(path("batch.csv"));
    EXPECT_TRUE(read.warnings.empty());
    EXPECT_EQ(read.cuttings.size(), 12U);
    const std::string bytes = test::readBytes(path("batch.csv"));
    std::vector<std::string> again = wish;
    again.emplace_back("--force");
    EXPECT_EQ(plan(again).code, 0);
    EXPECT_EQ(test::readBytes(path("batch.csv")), bytes);
    again.insert(again.end(), {"--seed", "2"});
    EXPECT_EQ(plan(again).code, 0);
    EXPECT_NE(test::readBytes(path("batch.csv")), bytes);
}

TEST_F(PlanCli, SaysWhatAPlanWithoutStuckOnCannotTell)
{
    const std::string words = "no cutting has stuck_on";
    EXPECT_NE(plan({"--tubs", "4"}).out.find(words), std::string::npos);
    EXPECT_EQ(plan({"--tubs", "4", "--stuck-on", "13/1/2026", "--force"}).out.find(words), std::string::npos);
    EXPECT_EQ(readPlan(path("batch.csv")).cuttings[0].stuck_on, parseIsoDate("2026-01-13"));
    EXPECT_NE(test::readBytes(path("batch.csv")).find("2026-01-13"), std::string::npos)
        << "files keep one form";
    EXPECT_NE(test::run({"plan", "--help"}).out.find("days to strike stay empty"), std::string::npos);
}

TEST_F(PlanCli, WritesOverNoFileUnlessTold)
{
    scratch_.write("batch.csv", "tub\nT01\n");
    expectOneLine(plan({"--tubs", "4", "--medium", "a,b"}), "is there already");
    EXPECT_EQ(test::readBytes(path("batch.csv")), "tub\nT01\n");
}

TEST_F(PlanCli, SaysAsJsonWhatItCanShow)
{
    const Ran ran = plan({"--tubs", "6", "--medium", "a,b", "--json"});
    ASSERT_EQ(ran.code, 0) << ran.err;
    const auto told = nlohmann::json::parse(ran.out);
    EXPECT_EQ(told.at("seed"), 1);
    EXPECT_EQ(told.at("block_sizes"), nlohmann::json::array({2, 2, 2}));
    const auto& show = told.at("can_show").at(0);
    EXPECT_EQ(show.at("cuttings"), nlohmann::json::array({3, 3}));
    EXPECT_TRUE(show.at("noticed_8_times_in_10").empty()) << "3 against 3 can show nothing";
    EXPECT_EQ(show.at("tubs_for_30_points"), 98);
}

TEST_F(PlanCli, AnswersWhatCannotBeInOneLine)
{
    expectOneLine(plan({"--tubs", "4", "--medium", "a,a"}), "names 'a' twice");
    expectOneLine(plan({"--tubs", "4", "--medium", "a,,b"}), "empty value");
    expectOneLine(plan({"--tubs", "1", "--medium", "a,b"}), "fewer than there are combinations");
    expectOneLine(plan({"--tubs", "4", "--medium", "a,b", "--stuck-on", "12.1.2026"}), "2026-01-12");
    expectOneLine(plan({"--tubs", "4", "--medium", "a,b", "--tub-type", "quort"}), "quart");
    EXPECT_FALSE(fs::exists(path("batch.csv")));
}

TEST_F(PlanCli, RoundsAndTimelapseTellWhatMeasureLeft)
{
    fs::create_directories(scratch_ / "photos");
    for (const char* stem : {"T03_2026-01-15", "T03_2026-02-22"})
        fs::copy_file(test::samplePhoto(stem), scratch_ / "photos" / std::string(stem).append(".jpg"));
    scratch_.write("quick.json", R"({"roots": {"learned": false}})");
    const Ran measured =
        test::run({"measure", path("photos"), "--out", path("out"), "--settings", path("quick.json")});
    ASSERT_EQ(measured.code, 0) << measured.err;
    const Ran rounds = test::run({"rounds", path("out")});
    EXPECT_EQ(rounds.code, 0) << rounds.err;
    EXPECT_NE(rounds.out.find("T03  act today  tip the water out"), std::string::npos) << rounds.out;
    const std::string line = rounds.out.substr(rounds.out.find("T03"));
    EXPECT_EQ(measured.out.substr(0, line.size()), line) << "measure ends with the same lines";
    const Ran json = test::run({"rounds", path("out"), "--json"});
    EXPECT_EQ(nlohmann::json::parse(json.out).at("tubs").at(0).at("tub"), "T03");

    const Ran film = test::run({"timelapse", path("out"), "--tub", "T03", "-o", path("T03.webp")});
    EXPECT_EQ(film.code, 0) << film.err;
    EXPECT_NE(film.out.find("2 photos of T03, 2026-01-15 to 2026-02-22"), std::string::npos) << film.out;
    EXPECT_EQ(test::readBytes(path("T03.webp")).substr(8, 4), "WEBP");
    const std::vector<std::string> wall{"timelapse", path("out"), "--tub",       "T03",
                                        "--wall",    "-o",        path("W.webp")};
    EXPECT_EQ(test::run(wall).code, 0);
    EXPECT_NE(test::readBytes(path("W.webp")), test::readBytes(path("T03.webp"))) << "another film";
    expectOneLine(
        test::run({"timelapse", path("out"), "--tub", "T03", "--tint", "age", "-o", path("b.webp")}),
        "Add --wall");
    expectOneLine(test::run({"timelapse", path("out"), "--tub", "T3", "-o", path("b.webp")}),
                  "'T03' is meant");
    expectOneLine(test::run({"timelapse", path("out"), "--tub", "T03", "-o", path("b.gif")}),
                  ".webp, .mp4 or .webm");
    EXPECT_FALSE(fs::exists(path("b.webp")));
}

TEST_F(PlanCli, RoundsWantASeasonFolder)
{
    expectOneLine(test::run({"rounds", scratch_.path().string()}), "there is no season file");
}

}  // namespace
}  // namespace slipglass
