// Names of files, tubs and plans that would play with the terminal, a disk or a spreadsheet.
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>
#include <set>

#include "../support/samples.h"
#include "../support/season_folder.h"
#include "run_program.h"
#include "slipglass/folded_name.h"
#include "slipglass/season/csv.h"

namespace slipglass {
namespace {

namespace fs = std::filesystem;
using test::Ran;
using Words = std::vector<std::string>;

const std::string kRed = "\x1B[31m", kAlso =
                                         "\xC2\x9B"
                                         "31m";  // the same as one character of two bytes

class NamesCli : public testing::Test {
protected:
    NamesCli() { fs::create_directories(scratch_ / "photos"); }

    std::string at(const std::string& name) const { return (scratch_ / name).string(); }
    void add(const std::string& name) const
    {
        fs::copy_file(test::samplePhoto("T01_2026-01-12"), scratch_ / "photos" / name);
    }
    Ran measured(const Words& more = {}, const std::string& settings = "") const
    {
        const std::string text = R"({"roots": {"learned": false})" + settings + "}";
        Words all{"measure", at("photos"), "--out",
                  at("out"), "--settings", scratch_.write("quick.json", text).string()};
        all.insert(all.end(), more.begin(), more.end());
        return test::run(all);
    }
    test::ScratchFolder scratch_;
};

void expectTame(const Ran& ran)
{
    for (const std::string* text : {&ran.out, &ran.err}) {
        EXPECT_EQ(text->find('\x1B'), std::string::npos) << *text;
        EXPECT_EQ(text->find("\xC2\x9B"), std::string::npos) << *text;
        EXPECT_EQ(text->find("\nfaked"), std::string::npos) << *text;
    }
}

TEST_F(NamesCli, TheTerminalObeysNoneOfThem)
{
    add("T" + kRed + "\nfaked_2026-01-12.jpg");
    add("U" + kAlso + "_2026-01-12.jpg");
    scratch_.write("photos/V" + kRed + "_2026-01-12.jpg", "no picture");
    const std::string plan = "tub,medium,tub_type\n\"T" + kRed + "\nfaked\",\"peat" + kRed +
                             "\nfaked\",quart\nU" + kAlso + ",bark" + kAlso + ",quart\n";
    const Ran ran = measured({"--batch", scratch_.write("b" + kRed + ".csv", plan).string()});
    EXPECT_EQ(ran.code, 2) << ran.err;
    expectTame(ran);
    EXPECT_NE(ran.out.find("T\\u001b["), std::string::npos) << ran.out;
    EXPECT_NE(ran.err.find("[31m\\nfaked_2026-01-12.jpg: "), std::string::npos) << ran.err;
    EXPECT_NE(ran.err.find("V\\u001b[31m"), std::string::npos) << ran.err;
    const std::string season = at("out"), truth = at("truth" + kRed);
    fs::create_directories(truth);
    for (const Words& typed : std::vector<Words>{
             {"rounds", season},
             {"rounds", season, "--json"},
             {"compare", season, "--by", "medium"},
             {"compare", season, "--by", "medium", "--json"},
             {"compare", season, "--by", "x" + kRed},
             {"verify", season, "--truth", truth, "--per-photo"},
             {"timelapse", season, "--tub", "T" + kRed, "-o", at("a.webp")},
             {"labels", "--batch", at("b" + kRed + ".csv"), "--out", at("l" + kRed + ".pdf")},
             {"plan", "--tubs", "4", "--medium", "a" + kRed + ",b", "--out", at("p" + kAlso + ".csv")},
             {"report", season, "-o", at("r" + kRed + ".html")},
             {"merge", "a" + kRed, "--out", at("m")},
             {"teach", season, "--corrections", truth, "--photos", truth},
             {"measure", "p" + kAlso + "\nfaked"},
             {"a" + kRed + "\nfaked"},
             {"measure", "--a" + kRed},
             {"measure", "p", "--threads", kAlso}}) {
        SCOPED_TRACE(typed[0] + " " + (typed.size() > 1 ? typed[1] : ""));
        const Ran said = test::run(typed);
        EXPECT_FALSE(said.out.empty() && said.err.empty());
        expectTame(said);
        if (typed.back() == "--json") {
            EXPECT_FALSE(nlohmann::json::parse(said.out).empty());
        }
    }
}

// Truth: what Windows takes for a device, drops or forbids, and folds.
TEST_F(NamesCli, EveryDiskTakesWhatIsWritten)
{
    for (const char* name : {"CON_2026-01-12.jpg", "a:b_2026-01-12.jpg", "T01_2026-01-12.jpg",
                             "t01_2026-01-12.jpg", "T01._2026-01-12.jpg", "T01_2026-01-13.jpg",
                             "t01_2026-01-13.JPG", "nul.jpg", "T01_2026-01-14 10:30:00.jpg"})
        add(name);
    const Ran ran = measured({"--batch", scratch_.write("b.csv", "tub\nCON\na:b\nT01\nT01.\n").string()});
    ASSERT_EQ(ran.lines().size(), 1U) << ran.err;
    EXPECT_EQ(ran.lines()[0].rfind("slipglass: t01: differs from 'T01' in capitals only", 0), 0U) << ran.err;
    std::set<std::string> folded;
    for (const auto& [path, bytes] : test::filesBelow(at("out"))) {
        EXPECT_TRUE(folded.insert(foldedName(path)).second) << path << " would be overwritten";
        for (const fs::path& part : fs::path(path)) {
            const std::string name = part.string();
            EXPECT_EQ(name.find_first_of("<>:\"|?*\\"), std::string::npos) << path;
            EXPECT_NE(name.back(), '.') << path;
            EXPECT_NE(foldedName(name.substr(0, name.find('.'))), "con") << path;
            EXPECT_NE(foldedName(name.substr(0, name.find('.'))), "nul") << path;
        }
    }
    EXPECT_EQ(measured().out.find("0 measured") == std::string::npos, false)
        << "found again under those names";
}

TEST_F(NamesCli, ASpreadsheetRunsNoneOfThem)
{
    add("=T01_2026-01-12.jpg");
    const std::string plan =
        scratch_.write("b.csv", "tub,medium,note,@own\n=T01,+peat,\"=HYPERLINK(\"\"x\"\")\",-1.5\n").string();
    ASSERT_EQ(measured({"--batch", plan}).code, 0);
    int guarded = 0;
    for (const char* table : {"observations.csv", "cuttings.csv", "flags.csv", "problems.csv", "water.csv"})
        for (const CsvRecord& record : parseCsv(test::readBytes(scratch_ / "out" / table), table))
            for (const std::string& field : record.fields) {
                const bool number =
                    !field.empty() && field.find_first_not_of("-0123456789.") == std::string::npos;
                EXPECT_TRUE(field.empty() || number ||
                            std::string("=+-@\t\r").find(field[0]) == std::string::npos)
                    << table << ": " << field;
                guarded += field == "'=T01";
            }
    EXPECT_GE(guarded, 3);
    const auto cuttings = [&] { return test::readBytes(scratch_ / "out/cuttings.csv"); };
    EXPECT_NE(cuttings().find(",-1.5"), std::string::npos);
    EXPECT_NE(cuttings().find("'+peat"), std::string::npos);
    const auto season = nlohmann::json::parse(test::readBytes(scratch_ / "out/season.json"));
    EXPECT_EQ(season["series"][0]["medium"], "+peat");

    EXPECT_EQ(measured({}, R"(, "tables": {"formulas_as_text": false})").code, 0);
    EXPECT_EQ(cuttings().find("'+peat"), std::string::npos) << "switched off";
    EXPECT_NE(cuttings().find("+peat"), std::string::npos);
}

TEST_F(NamesCli, APlanThatSlipglassWroteIsReadBackAsItWasMeant)
{
    const std::string plan = at("p.csv");
    ASSERT_EQ(test::run({"plan", "--tubs", "4", "--medium", "=peat,'=bark", "--out", plan}).code, 0);
    EXPECT_NE(test::readBytes(plan).find(",'=peat"), std::string::npos);
    EXPECT_NE(test::readBytes(plan).find(",''=bark"), std::string::npos);
    add("T01_2026-01-12.jpg");
    EXPECT_EQ(measured({"--batch", plan}).code, 0);
    const auto season = nlohmann::json::parse(test::readBytes(scratch_ / "out/season.json"));
    std::set<std::string> media;
    for (const auto& series : season["series"]) media.insert(series["medium"]);
    EXPECT_EQ(media, (std::set<std::string>{"=peat", "'=bark"}));
}

}  // namespace
}  // namespace slipglass
