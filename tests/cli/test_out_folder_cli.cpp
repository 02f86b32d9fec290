// Where the program may write: nothing of anybody's is overwritten unasked.
#include <gtest/gtest.h>

#include "../support/run_sql.h"
#include "../support/samples.h"
#include "../support/season_folder.h"
#include "run_program.h"

namespace slipglass {
namespace {

namespace fs = std::filesystem;
using test::Ran;
using Words = std::vector<std::string>;

class OutFolderCli : public testing::Test {
protected:
    OutFolderCli()
    {
        fs::create_directories(scratch_ / "photos");
        fs::copy_file(test::samplePhoto("T01_2026-01-12"), scratch_ / "photos/T01_2026-01-12.jpg");
    }
    std::string at(const std::string& name) const { return (scratch_ / name).string(); }
    Ran measured(const std::string& photos, const std::string& out, const Words& more = {}) const
    {
        Words all{"measure",    at(photos),
                  "--out",      at(out),
                  "--settings", scratch_.write("quick.json", R"({"roots": {"learned": false}})").string()};
        all.insert(all.end(), more.begin(), more.end());
        return test::run(all);
    }
    test::ScratchFolder scratch_;
};

/// One line that holds each of the words, and exit code 1.
void expectRefused(const Ran& ran, const Words& words)
{
    EXPECT_EQ(ran.code, 1) << ran.out;
    ASSERT_EQ(ran.lines().size(), 1U) << ran.err;
    for (const std::string& word : words) EXPECT_NE(ran.err.find(word), std::string::npos) << ran.err;
}

// `--out "$SEASON"` where SEASON was never set.
TEST_F(OutFolderCli, NoValueMayBeEmpty)
{
    const std::string photos = at("photos");
    const std::vector<Words> all{{"measure", photos, "--out", ""},
                                 {"measure", ""},
                                 {"measure", photos, "", "--out", at("out")},
                                 {"measure", photos, "--find-tubs", ""},
                                 {"measure", photos, "--batch", "", "--out", at("out")},
                                 {"merge", photos, "--out", ""},
                                 {"labels", "--tubs", "2", "--out", ""},
                                 {"report", photos, "--out", ""},
                                 {"timelapse", photos, "--tub", "T01", "--out", ""},
                                 {"plan", "--tubs", "4", "--out", ""},
                                 {"compare", photos, "--by", "medium", "--out", ""},
                                 {"verify", photos, "--truth", photos, "--csv", ""},
                                 {"teach", ""},
                                 {"shelf", "", "--no-browser"}};
    const auto before = test::filesBelow(fs::current_path());
    for (const Words& typed : all) {
        SCOPED_TRACE(typed[0]);
        expectRefused(test::run(typed), {" of " + typed[0] + " is empty", "variable"});
    }
    expectRefused(test::run({"measure", photos, "--out=", at("out")}), {"--out has nothing behind its '='"});
    EXPECT_EQ(test::filesBelow(fs::current_path()), before);
    EXPECT_FALSE(fs::exists(at("out")));
}

TEST_F(OutFolderCli, AFolderOfOtherThingsIsLeftAloneUnlessItIsMeant)
{
    scratch_.write("full/report/index.html", "mine");
    scratch_.write("full/thesis.txt", "mine");
    ASSERT_EQ(measured("photos", "season").code, 0);
    const auto before = test::filesBelow(at("full"));
    const Words words{"full", "report, thesis.txt", "--force"};
    expectRefused(measured("photos", "full"), words);
    expectRefused(test::run({"merge", at("season"), "--out", at("full")}), words);
    expectRefused(test::run({"compare", at("season"), "--by", "medium", "--out", at("full")}), words);
    expectRefused(test::run({"shelf", at("full"), "--no-browser"}), words);
    EXPECT_EQ(test::filesBelow(at("full")), before);

    EXPECT_EQ(measured("photos", "full", {"--force"}).code, 0);
    EXPECT_EQ(test::readBytes(at("full/thesis.txt")), "mine");
    EXPECT_EQ(measured("photos", "full").code, 0) << "now it has a season";
}

TEST_F(OutFolderCli, WhatTheCommandReadsMayLieThere)
{
    scratch_.write("photos/.hidden", "");
    fs::create_directories(scratch_ / "year");
    fs::copy(scratch_ / "photos", scratch_ / "year/photos");
    EXPECT_EQ(measured("photos", "photos").code, 0);
    scratch_.write("year/batch.csv", "tub\nT01\n");
    EXPECT_EQ(measured("year/photos", "year", {"--batch", at("year/batch.csv")}).code, 0);
    fs::remove(scratch_ / "year/season.db");
    EXPECT_EQ(measured("year/photos", "year", {"--batch", at("year/batch.csv")}).code, 0)
        << "what is left of a season is no other thing";
    const Words compared{"compare", at("year"), "--by", "medium", "--out", at("tables")};
    EXPECT_NE(test::run(compared).code, 1);
    EXPECT_NE(test::run(compared).code, 1) << "its own tables may be written again";
}

TEST_F(OutFolderCli, ASeasonThatCannotBeReadIsKeptWhateverIsSaid)
{
    ASSERT_EQ(measured("photos", "season").code, 0);
    for (const char* sql :
         {"PRAGMA user_version = 99", "PRAGMA user_version = 1", "PRAGMA application_id = 5"}) {
        SCOPED_TRACE(sql);
        fs::remove_all(at("other"));
        fs::copy(at("season"), at("other"), fs::copy_options::recursive);
        test::runSql(scratch_ / "other/season.db", sql);
        const auto before = test::filesBelow(at("other"));
        const std::string season = test::readBytes(at("other/season.db"));
        expectRefused(measured("photos", "other"), {"season.db", "--force"});
        EXPECT_EQ(test::filesBelow(at("other")), before);
        EXPECT_EQ(test::readBytes(at("other/season.db")), season);
        const Ran meant = measured("photos", "other", {"--force"});
        EXPECT_EQ(meant.code, 0) << meant.err;
        EXPECT_NE(meant.err.find("season.db.old"), std::string::npos) << meant.err;
        EXPECT_EQ(test::readBytes(at("other/season.db.old")), season);
        EXPECT_EQ(measured("photos", "other").code, 0);
    }
}

}  // namespace
}  // namespace slipglass
