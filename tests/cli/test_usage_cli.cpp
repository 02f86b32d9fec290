// What is said to a command typed wrong: one line, what is wrong, what to do, where to read on.
#include <gtest/gtest.h>

#include "run_program.h"

namespace slipglass {
namespace {

using Words = std::vector<std::string>;

class Usage : public testing::Test {
protected:
    /// The line on stderr, without "slipglass: ", after a look at what all such lines share.
    static std::string lineFor(const Words& typed)
    {
        const test::Ran ran = test::run(typed);
        EXPECT_EQ(ran.code, 1) << ran.err;
        EXPECT_EQ(ran.out, "");
        EXPECT_EQ(ran.lines().size(), 1U) << ran.err;
        if (ran.lines().empty()) return "";
        const std::string line = ran.lines()[0], name = "slipglass: ";
        EXPECT_EQ(line.find(name), 0U) << line;
        EXPECT_NE(line.find(" --help'."), std::string::npos) << line;
        EXPECT_EQ(line.find("argument"), std::string::npos) << "CLI11's own words: " << line;
        EXPECT_EQ(line.find("required"), std::string::npos) << "CLI11's own words: " << line;
        return line.substr(std::min(name.size(), line.size()));
    }
    test::ScratchFolder scratch_;
};

TEST_F(Usage, NamesAnUnknownOptionAndTheNearest)
{
    EXPECT_EQ(lineFor({"measure", "--bath", "plan.csv"}),
              "--bath is not an option of measure; did you mean --batch? See 'slipglass measure --help'.");
    EXPECT_EQ(lineFor({"measure", "photos", "--bath=plan.csv"}),
              "--bath is not an option of measure; did you mean --batch? See 'slipglass measure --help'.");
    EXPECT_EQ(lineFor({"plan", "--tub", "8", "--out", "a.csv"}),
              "--tub is not an option of plan; did you mean --tubs? See 'slipglass plan --help'.")
        << "what is unknown comes before what is missing";
    EXPECT_EQ(lineFor({"plan", "--tubs", "8", "--cuttings", "2", "--out", "a.csv"}),
              "--cuttings is not an option of plan; did you mean --cuttings-per-tub? See 'slipglass plan "
              "--help'.");
    EXPECT_EQ(lineFor({"measure", "photos", "--greenhouse"}),
              "--greenhouse is not an option of measure. See 'slipglass measure --help'.");
}

TEST_F(Usage, NamesAnUnknownCommandAndTheNearestOrAll)
{
    EXPECT_EQ(lineFor({"mesure", "photos", "--out", "season"}),
              "'mesure' is not a command; did you mean measure? See 'slipglass --help'.");
    const std::string all =
        "There are measure, shelf, merge, labels, verify, teach, compare, plan, rounds, report, timelapse, "
        "settings. See "
        "'slipglass "
        "--help'.";
    EXPECT_EQ(lineFor({"nothing"}), "'nothing' is not a command. " + all);
    EXPECT_EQ(lineFor({}), "no command is given. " + all);
}

TEST_F(Usage, ShelfWithoutAFolderTakesOneInTheHomeFolder)
{
    // A home folder in which none can be made: it ends at once, and names what it wanted.
    const char* const now = getenv("HOME");
    const std::string home = now ? now : "";
    setenv("HOME", scratch_.write("home", "").c_str(), 1);
    const test::Ran ran = test::run({"shelf", "--no-browser"});
    setenv("HOME", home.c_str(), 1);
    EXPECT_EQ(ran.code, 1);
    EXPECT_NE(ran.err.find("home/slipglass-season: cannot be written to."), std::string::npos) << ran.err;
}

TEST_F(Usage, SaysWhereAnOptionBeforeTheCommandBelongs)
{
    EXPECT_EQ(
        lineFor({"--bath", "x"}),
        "--bath is not an option of slipglass itself; did you mean --batch, behind measure or labels or "
        "teach? See 'slipglass --help'.");
    EXPECT_NE(lineFor({"--photo-due", "7", "rounds", "season"}).find("Give it behind its command: rounds."),
              std::string::npos);
    EXPECT_NE(lineFor({"--verson"}).find("did you mean --version?"), std::string::npos);
    EXPECT_NE(lineFor({"--greenhouse"}).find("Give a command first"), std::string::npos);
}

TEST_F(Usage, SaysWhatIsMissing)
{
    EXPECT_EQ(lineFor({"measure"}),
              "measure needs PHOTOS (photos, or folders of photos). See 'slipglass measure --help'.");
    EXPECT_EQ(
        lineFor({"timelapse"}),
        "timelapse needs DIR (the folder that 'measure --out' wrote) and --tub ID (its id) and --out FILE "
        "(the film to write: .webp, or with ffmpeg .mp4 or .webm). See 'slipglass timelapse --help'.");
    EXPECT_EQ(lineFor({"measure", "photos", "--out"}),
              "--out of measure has no value. Give DIR behind it. See 'slipglass measure --help'.");
    EXPECT_EQ(lineFor({"measure", "photos", "--out", "--batch", "plan.csv"}),
              "--out of measure is '--batch'. Give DIR behind it. See 'slipglass measure --help'.");
}

TEST_F(Usage, SaysWhatIsTooMuch)
{
    EXPECT_EQ(lineFor({"rounds", "season", "T01"}),
              "'T01' is one word more than rounds takes. See 'slipglass rounds --help'.");
    EXPECT_EQ(lineFor({"measure", "photos", "--out", "a", "--out", "b"}),
              "--out of measure is given 2 times. Give it once. See 'slipglass measure --help'.");
    EXPECT_EQ(lineFor({"measure", "photos", "--json=maybe"}),
              "--json of measure takes no value. Give it alone. See 'slipglass measure --help'.");
}

TEST_F(Usage, SaysWhichValuesThereAre)
{
    for (const char* threads : {"many", "300", "1.5", "-1"})
        EXPECT_EQ(lineFor({"measure", "photos", "--threads", threads}),
                  "--threads of measure is '" + std::string(threads) +
                      "'. Give a whole number from 0 to 256. See 'slipglass measure --help'.");
    EXPECT_NE(lineFor({"measure", "photos", "--without", "bach"})
                  .find("is 'bach'. Give batch or care or settings or corrections. See"),
              std::string::npos);
    EXPECT_NE(
        lineFor({"labels", "--tubs", "3", "--out", "a.pdf", "--paper", "a3"}).find("Give a4 or letter."),
        std::string::npos);
    EXPECT_NE(lineFor({"plan", "--tubs", "x", "--out", "a.csv"})
                  .find("--tubs of plan is 'x'. Give a whole number."),
              std::string::npos);
    EXPECT_NE(lineFor({"timelapse", "season", "--tub", "T01", "-o", "a.webp", "--seconds-per-photo", "0"})
                  .find("is '0'. Give a number from 0.04 to 60."),
              std::string::npos);
}

// These are found by the command itself, after CLI11 is content.
TEST_F(Usage, HasOneFormWhoeverFindsTheMistake)
{
    const std::string out = (scratch_ / "a.csv").string();
    EXPECT_EQ(lineFor({"plan", "--tubs", "0", "--out", out}),
              "--tubs is 0. Give a number from 1 to 999. See 'slipglass plan --help'.");
    EXPECT_EQ(lineFor({"plan", "--tubs", "4", "--stuck-on", "5/6/2026", "--out", out}),
              "--stuck-on is '5/6/2026', which may be 5 June or 6 May. Write 2026-06-05 or 2026-05-06. See "
              "'slipglass plan --help'.");
    EXPECT_EQ(lineFor({"teach", scratch_.path().string()}),
              "teach: there are no corrections to learn from. Name their folder with --corrections, or use "
              "--undo. See 'slipglass teach --help'.");
}

TEST_F(Usage, LetsNoWordPlayWithTheTerminal)
{
    EXPECT_EQ(lineFor({"a\033[31mb"}).find("'a\\u001b[31mb' is not a command"), 0U);
}

TEST_F(Usage, TakesChoicesInAnyCase)
{
    const std::string out = (scratch_ / "a.pdf").string();
    EXPECT_EQ(test::run({"labels", "--tubs", "3", "--out", out, "--paper", "Letter"}).code, 0);
}

}  // namespace
}  // namespace slipglass
