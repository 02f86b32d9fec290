#include <gtest/gtest.h>

#include <filesystem>

#include "../support/scratch_folder.h"
#include "run_program.h"

namespace slipglass {
namespace {

namespace fs = std::filesystem;
using test::Ran;
using test::run;

void expectOneLine(const Ran& ran, const std::string& words)
{
    EXPECT_EQ(ran.code, 1);
    EXPECT_EQ(ran.out, "");
    ASSERT_EQ(ran.lines().size(), 1u) << ran.err;
    EXPECT_EQ(ran.lines()[0].find("slipglass: "), 0u);
    EXPECT_NE(ran.lines()[0].find(words), std::string::npos) << ran.err;
}

TEST(TeachCommand, SaysInOneLineWhatIsMissing)
{
    const test::ScratchFolder scratch;
    const std::string out = (scratch / "out").string(), some = (scratch / "some").string();
    scratch.write("some/T01_2026-01-12.json", R"({"schema": 1})");
    expectOneLine(run({"teach", out}), "--corrections");
    expectOneLine(run({"teach", out, "--corrections", some}), "--photos");
    expectOneLine(run({"teach", out, "--corrections", some, "--photos", some}), "holds no season");
    expectOneLine(run({"teach", out, "--undo"}), "is no folder");
    EXPECT_FALSE(fs::exists(out));
}

TEST(TeachCommand, TakesAwayWhatWasTaught)
{
    const test::ScratchFolder scratch;
    const fs::path file = scratch.write("out/taught.json", "{}");
    const std::string out = (scratch / "out").string();
    const Ran undone = run({"teach", out, "--undo"});
    EXPECT_EQ(undone.code, 0);
    EXPECT_NE(undone.out.find("Taken away"), std::string::npos);
    EXPECT_FALSE(fs::exists(file));
    const Ran again = run({"teach", out, "--undo", "--json"});
    EXPECT_EQ(again.code, 0);
    EXPECT_NE(again.out.find("\"undone\": false"), std::string::npos);
}

TEST(MeasureCommand, NeedsTheFolderOfCorrectionsThatItIsGiven)
{
    const test::ScratchFolder scratch;
    expectOneLine(run({"measure", scratch.path().string(), "--out", (scratch / "out").string(),
                       "--corrections", (scratch / "nowhere").string()}),
                  "is no folder");
    EXPECT_FALSE(fs::exists(scratch / "out"));
}

}  // namespace
}  // namespace slipglass
