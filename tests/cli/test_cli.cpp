// The program as a process. Exit codes: 0 every photo measured, 2 done but some could not be measured, 1
// could not run, 130 ended by Ctrl-C (README.md, "All commands", or the --help of each command).
#include <gtest/gtest.h>

#include <sys/stat.h>
#include <chrono>
#include <nlohmann/json.hpp>
#include <thread>

#include "../support/samples.h"
#include "../support/season_folder.h"
#include "run_program.h"
#include "slipglass/error.h"

namespace slipglass {
namespace {

namespace fs = std::filesystem;
using test::Ran;

class Cli : public testing::Test {
protected:
    Cli() { fs::create_directories(photos()); }

    fs::path photos() const { return scratch_ / "photos"; }
    fs::path out() const { return scratch_ / "out"; }
    std::string write(const std::string& name, const std::string& text) const
    {
        return scratch_.write(name, text).string();
    }
    void add(const std::string& sample, const std::string& as = "") const
    {
        fs::copy_file(test::samplePhoto(sample), photos() / (as.empty() ? sample + ".jpg" : as));
    }
    /// With coarse panels: it is not accuracy that is tested here.
    std::vector<std::string> measureArguments(std::vector<std::string> more = {}) const
    {
        std::vector<std::string> all{"measure",    photos().string(),
                                     "--out",      out().string(),
                                     "--settings", write("quick.json", R"({"roots": {"learned": false}})")};
        all.insert(all.end(), more.begin(), more.end());
        return all;
    }
    Ran measured(std::vector<std::string> more = {}) const
    {
        return test::run(measureArguments(std::move(more)));
    }

    test::ScratchFolder scratch_;
};

/// One clear line on stderr that holds each of the words, and nothing done.
void expectOneLine(const Ran& ran, const std::vector<std::string>& words)
{
    EXPECT_EQ(ran.code, 1) << ran.err;
    const auto lines = ran.lines();
    ASSERT_EQ(lines.size(), 1U) << ran.err;
    EXPECT_EQ(lines[0].find("slipglass: "), 0U) << lines[0];
    EXPECT_EQ(lines[0].find("not your doing"), std::string::npos) << lines[0];
    for (const std::string& word : words)
        EXPECT_NE(lines[0].find(word), std::string::npos) << "'" << word << "' in: " << lines[0];
    EXPECT_TRUE(ran.out.empty()) << ran.out;
}

TEST_F(Cli, EndsWith0WhenEveryPhotoIsMeasured)
{
    add("T01_2026-01-12");
    add("T01_2026-02-02");
    const Ran ran = measured({"--batch", write("batch.csv", "tub,tub_type\nT01,quart\n")});
    EXPECT_EQ(ran.code, 0) << ran.err;
    EXPECT_EQ(ran.err, "") << "no progress where there is no terminal";
    EXPECT_NE(ran.out.find("no cutting has stuck_on"), std::string::npos) << ran.out;
    EXPECT_NE(ran.out.find("T01"), std::string::npos);
    EXPECT_NE(ran.out.find("2 measured"), std::string::npos);
    EXPECT_NE(ran.out.find("index.html"), std::string::npos);
    EXPECT_TRUE(fs::exists(out() / "report" / "index.html"));
    EXPECT_EQ(measured().out.find("no cutting has stuck_on"), std::string::npos)
        << "said once, not every week";
}

TEST_F(Cli, ThePagesStayInTheLanguageOnceNamed)
{
    add("T01_2026-01-12");
    const auto page = [&] { return test::readBytes(out() / "report" / "index.html"); };
    EXPECT_EQ(measured({"--language", "de", "--units", "inch"}).code, 0);
    EXPECT_NE(page().find("Stecklingssaison"), std::string::npos);
    EXPECT_EQ(measured().code, 0) << "with a settings file that says nothing of pages";
    EXPECT_NE(page().find("Stecklingssaison"), std::string::npos);
    EXPECT_EQ(test::run({"measure", photos().string(), "--out", out().string()}).code, 0);
    EXPECT_NE(page().find("Stecklingssaison"), std::string::npos);
    const std::string csv = test::readBytes(out() / "observations.csv");
    EXPECT_EQ(measured({"--language", "en", "--units", "mm"}).code, 0);
    EXPECT_NE(page().find("Rooting season"), std::string::npos);
    EXPECT_EQ(test::readBytes(out() / "observations.csv"), csv);
    const std::string spanish =
        write("es.json", R"({"roots": {"learned": false}, "pages": {"language": "es"}})");
    EXPECT_EQ(test::run({"measure", photos().string(), "--out", out().string(), "--settings", spanish}).code,
              0);
    EXPECT_NE(page().find("Temporada de esquejes"), std::string::npos);
    const std::string one = (scratch_ / "one.html").string();
    EXPECT_EQ(test::run({"report", out().string(), "-o", one, "--language", "de"}).code, 0);
    EXPECT_NE(test::readBytes(one).find("Stecklingssaison"), std::string::npos);
    expectOneLine(measured({"--language", "fr"}), {"fr", "en"});
}

TEST_F(Cli, SendsTheWholeSeasonAsOnePageAndSaysHowLargeItIs)
{
    add("T01_2026-02-02");
    ASSERT_EQ(measured().code, 0);
    const std::string page = (scratch_ / "season.html").string();
    const Ran ran = test::run({"report", out().string(), "-o", page});
    EXPECT_EQ(ran.code, 0) << ran.err;
    EXPECT_NE(ran.out.find("1 cutting, "), std::string::npos) << ran.out;
    EXPECT_NE(ran.out.find(" kB"), std::string::npos) << ran.out;
    EXPECT_NE(test::readBytes(page).find("data:image/jpeg;base64,"), std::string::npos);
    expectOneLine(test::run({"report", out().string(), "-o", (scratch_ / "season.pdf").string()}),
                  {"season.pdf", ".html"});
    expectOneLine(test::run({"report", photos().string(), "-o", page}), {"season"});
}

TEST_F(Cli, EndsWith2WhenSomePhotosAreNotAndGoesOnWithTheRest)
{
    add("T01_2026-01-12");
    const std::string whole = test::readBytes(test::samplePhoto("T01_2026-02-02"));
    write("photos/T01_2026-02-02.jpg", whole.substr(0, 30000));
    write("photos/T01_2026-02-03.jpg", "");
    write("photos/T01_2026-02-04.jpg", "To do: buy more labels.");
    fs::copy_file(fs::path(SLIPGLASS_TEST_DATA) / "photo" / "bomb.png", photos() / "T01_2026-02-05.png");
    const Ran ran = measured();
    EXPECT_EQ(ran.code, 2) << ran.err;
    EXPECT_NE(ran.out.find("4 not measured"), std::string::npos) << ran.out;
    EXPECT_NE(ran.out.find("problems.csv"), std::string::npos) << ran.out;
    const std::string problems = test::readBytes(out() / "problems.csv");
    for (const char* file :
         {"T01_2026-02-02.jpg", "T01_2026-02-03.jpg", "T01_2026-02-04.jpg", "T01_2026-02-05.png"})
        EXPECT_NE(problems.find(file), std::string::npos) << file;
    EXPECT_NE(test::readBytes(out() / "observations.csv").find("T01_2026-01-12.jpg"), std::string::npos);
}

TEST_F(Cli, SumsUpAsJson)
{
    add("T01_2026-01-12");
    write("photos/T01_2026-02-04.jpg", "To do: buy more labels.");
    const Ran ran = measured({"--json"});
    EXPECT_EQ(ran.code, 2);
    const auto told = nlohmann::json::parse(ran.out);
    EXPECT_EQ(told["measured"], 1);
    EXPECT_EQ(told["not_measured"], 1);
    EXPECT_EQ(told["stopped"], false);
    EXPECT_TRUE(told["flags"].is_array());
}

TEST_F(Cli, HelpsWithEachCommand)
{
    for (const char* command : {"measure", "labels", "verify"}) {
        const Ran ran = test::run({command, "--help"});
        EXPECT_EQ(ran.code, 0) << command;
        EXPECT_NE(ran.out.find(std::string(command) == "verify" ? "--truth" : "--out"), std::string::npos);
        EXPECT_EQ(ran.err, "");
    }
    EXPECT_EQ(test::run({"--help"}).code, 0);
    const Ran version = test::run({"--version"});
    EXPECT_EQ(version.code, 0);
    EXPECT_NE(version.out.find('.'), std::string::npos);
}

TEST_F(Cli, EndsWith1OnWrongUse)
{
    for (const std::vector<std::string>& typed :
         std::vector<std::vector<std::string>>{{},
                                               {"mesure"},
                                               {"measure"},
                                               {"measure", "a", "--ou", "b"},
                                               {"measure", "a", "--threads", "many"},
                                               {"labels"},
                                               {"verify", "a"}}) {
        const Ran ran = test::run(typed);
        EXPECT_EQ(ran.code, 1) << ran.err;
        EXPECT_FALSE(ran.err.empty());
    }
}

TEST_F(Cli, NamesAFolderThatIsNotThere)
{
    expectOneLine(test::run({"measure", (scratch_ / "nowhere").string(), "--out", out().string()}),
                  {"nowhere"});
}

TEST_F(Cli, SaysThatThereIsNoPhoto)
{
    expectOneLine(measured(), {"photos", "no photo"});
    write("photos/batch.csv", "tub\nT01\n");
    expectOneLine(measured(), {"photos", "no photo"});
}

TEST_F(Cli, NamesWhatIsWrongInThePlan)
{
    add("T01_2026-01-12");
    const std::vector<std::pair<std::string, std::vector<std::string>>> plans = {
        {"tubb,medium\nT01,peat\n", {"tub", "tubb"}},
        {"cutting,tub\nA,T01\nA,T02\n", {"A", "3"}},
        {"tub\nT01\nT01\n", {"T01", "3"}},
        {"tub,stuck_on\nT01,2026-02-30\n", {"2026-02-30", "2"}},
        {"tub,stuck_on\nT01,12.1.2026\n", {"12.1.2026", "2"}},
        {"tub,tub_type\nT01,quartt\n", {"quartt", "quart"}},
        {"tub,medium\nT01\n", {"2"}},
        {"", {"batch.csv"}},
        {"tub\n", {"batch.csv"}},
        {"tub\n\"T01\n", {"batch.csv"}},
    };
    for (const auto& [text, words] : plans) {
        SCOPED_TRACE(text);
        expectOneLine(measured({"--batch", write("batch.csv", text)}), words);
    }
    expectOneLine(measured({"--batch", (scratch_ / "gone.csv").string()}), {"gone.csv"});
    EXPECT_FALSE(fs::exists(out())) << "a plan is checked before anything is made";
}

TEST_F(Cli, NamesWhatIsWrongInTheCareLog)
{
    add("T01_2026-01-12");
    const std::vector<std::pair<std::string, std::vector<std::string>>> logs = {
        {"", {"care.csv", "empty"}},
        {"date,tub\n", {"care.csv", "what"}},
        {"date,tub,what,weight_g\n2026-02-01,T01,watered,heavy\n", {"line 2", "weight_g", "heavy"}},
        {"date,tub,what\n2026-02-01,T01,waterd\n", {"line 2", "watered"}},
        {"date,tub,what\n1.2.2026,T01,watered\n", {"line 2", "1.2.2026"}},
    };
    for (const auto& [text, words] : logs) {
        SCOPED_TRACE(text);
        expectOneLine(measured({"--care", write("care.csv", text)}), words);
    }
    expectOneLine(measured({"--care", (scratch_ / "gone.csv").string()}), {"gone.csv"});
    EXPECT_FALSE(fs::exists(out())) << "a care log is checked before anything is made";
}

TEST_F(Cli, WarnsOfATubNobodyKnowsInTheCareLogAndGoesOn)
{
    add("T01_2026-01-12");
    const Ran ran = measured({"--care", write("care.csv",
                                              "date,tub,what,weight_g\n2026-02-01,T1,watered,\n"
                                              "2026-02-02,T01,watered,900\n")});
    EXPECT_EQ(ran.code, 0) << ran.err;
    ASSERT_EQ(ran.lines().size(), 1U) << ran.err;
    EXPECT_NE(ran.err.find("line 2: the tub 'T1' is neither in the plan nor on a photo"), std::string::npos)
        << ran.err;
    const auto season = nlohmann::json::parse(test::readBytes(out() / "season.json"));
    EXPECT_EQ(season["series"][0]["care"].size(), 1U);
    EXPECT_EQ(season["series"][0]["weight"][0]["weight_g"], 900);
    EXPECT_EQ(test::readBytes(out() / "water.csv").substr(0, 11), "tub,medium,");
}

TEST_F(Cli, NamesWhatIsWrongInTheSettings)
{
    add("T01_2026-01-12");
    const std::vector<std::pair<std::string, std::vector<std::string>>> settings = {
        {R"({"water": {"standing_m": 2}})", {"standing_m", "standing_mm"}},
        {R"({"watr": {"standing_mm": 2}})", {"watr", "water"}},
        {R"({"water": {"standing_mm": -1}})", {"standing_mm", "-1"}},
        {R"({"water": {"standing_mm": "two"}})", {"standing_mm"}},
        {R"({"water": )", {"settings.json"}},
        {R"({"tub_types": [{"name": "pot", "rim_diameter_mm": 80, "base_diameter_mm": 90, "height_mm": 100}]})",
         {"pot"}},
    };
    for (const auto& [text, words] : settings) {
        SCOPED_TRACE(text);
        expectOneLine(test::run({"measure", photos().string(), "--out", out().string(), "--settings",
                                 write("settings.json", text)}),
                      words);
    }
    EXPECT_FALSE(fs::exists(out()));
}

/// A run that reads for ever would end this test by its time.
TEST_F(Cli, TakesNothingButAFileForAFile)
{
    add("T01_2026-01-12");
    fs::create_directory(scratch_ / "folder");
    ASSERT_EQ(mkfifo((scratch_ / "pipe").c_str(), 0600), 0);
    for (const char* option : {"--batch", "--care", "--settings"}) {
        for (const std::string& given : {(scratch_ / "pipe").string(), std::string("/dev/zero")})
            expectOneLine(test::run({"measure", photos().string(), "--out", out().string(), option, given}),
                          {given, "is a pipe or a device, not a file"});
        const std::string folder = (scratch_ / "folder").string();
        expectOneLine(test::run({"measure", photos().string(), "--out", out().string(), option, folder}),
                      {folder, "is a folder, not a file"});
    }
    expectOneLine(measured({"--part", "1/2", "--tubs", "/dev/zero"}), {"/dev/zero", "not a file"});
    expectOneLine(test::run({"labels", "--batch", "/dev/zero", "--out", (scratch_ / "a.pdf").string()}),
                  {"/dev/zero", "not a file"});
    EXPECT_FALSE(fs::exists(out()));
    // Of photos, one is a row and the others are measured.
    const Ran ran = measured({"/dev/zero", (scratch_ / "pipe").string()});
    EXPECT_EQ(ran.code, 2) << ran.err;
    ASSERT_EQ(ran.lines().size(), 2U) << ran.err;
    EXPECT_EQ(ran.lines()[0].find("slipglass: pipe: is a pipe or a device, not a file. "), 0U) << ran.err;
    EXPECT_EQ(ran.lines()[1].find("slipglass: zero: is a pipe or a device, not a file. "), 0U) << ran.err;
    EXPECT_NE(ran.out.find("1 measured"), std::string::npos) << ran.out;
}

TEST_F(Cli, CutsAFieldOfAnyLengthInWhatItSays)
{
    add("T01_2026-01-12");
    const std::string cell(300000, 'x');
    for (const std::string& plan : {"tub,tub_type\nT01," + cell + "\n", "tub,stuck_on\nT01," + cell + "\n",
                                    "tub," + cell + "\nT01,\n\"x\n"}) {
        const Ran ran = measured({"--batch", write("batch.csv", plan)});
        EXPECT_EQ(ran.code, 1);
        EXPECT_LT(ran.err.size(), 2000U);
        EXPECT_NE(ran.err.find("batch.csv"), std::string::npos) << ran.err;
    }
}

TEST_F(Cli, NamesAnOutputThatCannotBeWritten)
{
    add("T01_2026-01-12");
    const std::string file = write("a-file", "");
    expectOneLine(test::run({"measure", photos().string(), "--out", file + "/out"}), {"a-file"});
    expectOneLine(test::run({"measure", photos().string(), "--out", file}), {"a-file"});
}

TEST_F(Cli, RefusesASeasonFileThatIsNone)
{
    add("T01_2026-01-12");
    write("out/season.db", std::string(5000, 'x'));
    expectOneLine(measured(), {"season.db"});
    EXPECT_EQ(test::readBytes(out() / "season.db"), std::string(5000, 'x')) << "it may be somebody's";
}

// A limit on a file's size stands in for a full disk: a write fails midway, with an errno of its own.
TEST_F(Cli, SaysThatTheDiskIsFullAndGoesOnLater)
{
    add("T01_2026-01-12");
    add("T01_2026-02-02");
    for (const rlim_t limit : {rlim_t{4096}, rlim_t{60000}}) {
        SCOPED_TRACE(limit);
        const Ran ran = test::Program(measureArguments({"--threads", "1"}), limit).wait();
        EXPECT_EQ(ran.code, 1) << ran.out;
        EXPECT_EQ(ran.lines().size(), 1U) << ran.err;
        EXPECT_EQ(ran.err.find("not your doing"), std::string::npos) << ran.err;
    }
    const Ran again = measured();
    EXPECT_EQ(again.code, 0) << again.err;
    EXPECT_NE(again.out.find("measured"), std::string::npos);
    EXPECT_EQ(SeasonStore(out() / "season.db", SeasonStore::Use::read).observations().size(), 2U);
}

TEST_F(Cli, LeavesAValidSeasonWhenStopped)
{
    const std::vector<std::string> samples = {"T01_2026-01-12", "T01_2026-02-02", "T01_2026-02-09",
                                              "T01_2026-02-17", "T02_2026-01-12", "T02_2026-02-26"};
    for (const std::string& sample : samples) add(sample);
    const test::Program program(measureArguments({"--threads", "1"}));
    size_t kept = 0;
    for (int i = 0; i < 3000 && kept < 2; ++i) {
        std::this_thread::sleep_for(std::chrono::milliseconds(10));
        try {
            kept = SeasonStore(out() / "season.db", SeasonStore::Use::read).photos().size();
        } catch (const Error&) {
            // not made yet
        }
    }
    program.send(SIGINT);
    const Ran stopped = program.wait();
    EXPECT_EQ(stopped.code, 130) << stopped.err;
    EXPECT_NE(stopped.err.find("stopped"), std::string::npos);
    EXPECT_EQ(stopped.lines().size(), 1U) << stopped.err;
    const size_t after = SeasonStore(out() / "season.db", SeasonStore::Use::read).photos().size();
    EXPECT_GE(after, 2U);
    EXPECT_LT(after, samples.size());

    EXPECT_EQ(measured().code, 0);
    const auto files = test::filesBelow(out());
    const std::string season = test::seasonText(out());
    fs::remove_all(out());
    EXPECT_EQ(measured().code, 0);
    EXPECT_TRUE(test::filesBelow(out()) == files);
    EXPECT_EQ(test::seasonText(out()), season);
}

TEST_F(Cli, SurvivesBeingKilled)
{
    for (const char* sample : {"T01_2026-01-12", "T01_2026-02-02", "T01_2026-02-09"}) add(sample);
    const test::Program program(measureArguments({"--threads", "1"}));
    for (int i = 0; i < 3000; ++i) {
        std::this_thread::sleep_for(std::chrono::milliseconds(10));
        if (fs::exists(out() / "masks")) break;
    }
    program.send(SIGKILL);
    EXPECT_EQ(program.wait().code, 128 + SIGKILL);
    EXPECT_EQ(measured().code, 0);
    EXPECT_EQ(SeasonStore(out() / "season.db", SeasonStore::Use::read).photos().size(), 3U);
    for (const auto& [name, bytes] : test::filesBelow(out()))
        EXPECT_EQ(name.find("tmp"), std::string::npos) << name << " was left behind";
}

TEST_F(Cli, MakesLabelsOfThePlan)
{
    const std::string batch = write("batch.csv", "tub,variety\nT01,Quince Plot Nine\nT02,Quince Shed Door\n");
    const Ran ran =
        test::run({"labels", "--batch", batch, "--out", (scratch_ / "labels.pdf").string(), "--json"});
    EXPECT_EQ(ran.code, 0) << ran.err;
    EXPECT_EQ(nlohmann::json::parse(ran.out)["labels"], 2);
    EXPECT_EQ(test::readBytes(scratch_ / "labels.pdf").find("%PDF-"), 0U);
    expectOneLine(test::run({"labels", "--batch", write("bad.csv", "tubb\nT01\n"), "--out",
                             (scratch_ / "bad.pdf").string()}),
                  {"bad.csv", "tubb"});
    EXPECT_FALSE(fs::exists(scratch_ / "bad.pdf"));
    expectOneLine(test::run({"labels", "--batch", batch, "--out", batch + "/labels.pdf"}), {"labels.pdf"});
}

// Truth: a plan that names the same tubs gives the same sheet.
TEST_F(Cli, MakesLabelsOfSoManyTubsWithoutAPlan)
{
    const auto sheet = [&](const std::vector<std::string>& tubs, const std::string& name) {
        std::vector<std::string> all{"labels", "--json", "--out", (scratch_ / name).string()};
        all.insert(all.end(), tubs.begin(), tubs.end());
        const Ran ran = test::run(all);
        EXPECT_EQ(ran.code, 0) << ran.err;
        EXPECT_EQ(nlohmann::json::parse(ran.out)["labels"], 8);
        return test::readBytes(scratch_ / name);
    };
    const std::string batch = write("eight.csv", "tub\nT01\nT02\nT03\nT04\nT05\nT06\nT07\nT08\n");
    EXPECT_EQ(sheet({"--tubs", "8"}, "a.pdf"), sheet({"--batch", batch}, "b.pdf"));

    const std::string out = (scratch_ / "none.pdf").string();
    expectOneLine(test::run({"labels", "--tubs", "8", "--batch", batch, "--out", out}),
                  {"--batch and --tubs"});
    expectOneLine(test::run({"labels", "--out", out}), {"--batch", "--tubs 8"});
    expectOneLine(test::run({"labels", "--tubs", "0", "--out", out}), {"--tubs", "1 to 999"});
    EXPECT_FALSE(fs::exists(out));
}

TEST_F(Cli, VerifiesAgainstTruth)
{
    add("T01_2026-02-24");
    ASSERT_EQ(measured({"--batch", write("batch.csv", "tub,tub_type\nT01,quart\n")}).code, 0);
    const Ran ran =
        test::run({"verify", out().string(), "--truth", (test::kSamples / "truth").string(), "--json"});
    EXPECT_EQ(ran.code, 2) << "35 truths have no photo here";
    const auto all = nlohmann::json::parse(ran.out)["all"];
    EXPECT_EQ(all["compared"], 1);
    expectOneLine(test::run({"verify", (scratch_ / "nowhere").string(), "--truth",
                             (test::kSamples / "truth").string()}),
                  {"nowhere"});
    expectOneLine(test::run({"verify", out().string(), "--truth", (scratch_ / "nowhere").string()}),
                  {"nowhere"});
}

}  // namespace
}  // namespace slipglass
