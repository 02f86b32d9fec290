// What a fault leaves behind: the N-th change of a run to a file fails, as on a full disk, or the run is
// killed there, or the power is cut. The next run has to end in the season that a run without a fault gives.
// Some N of all are tried; all with SLIPGLASS_EVERY_FAULT=1 in the environment (docs/reliability.md).
#include <gtest/gtest.h>

#include <algorithm>
#include <cstdlib>
#include <memory>

#include "../cli/run_program.h"
#include "../support/samples.h"
#include "../support/season_folder.h"

namespace slipglass {
namespace {

namespace fs = std::filesystem;

constexpr int kTried = 14;  // of a kind, where not all are

/// Two photos of a tub: the season of the first is there, the second comes with the run that has the fault.
class Faults : public testing::TestWithParam<const char*> {
protected:
    static void SetUpTestSuite()
    {
        scratch_ = std::make_unique<test::ScratchFolder>();
        const auto add = [](const char* stem) {
            const fs::path photo = test::samplePhoto(stem);
            fs::copy_file(photo, *scratch_ / "photos" / photo.filename());
        };
        fs::create_directories(*scratch_ / "photos");
        add("T01_2026-01-12");
        ASSERT_EQ(measure(*scratch_ / "first").code, 0);
        add("T01_2026-02-02");
        fs::copy(*scratch_ / "first", *scratch_ / "good", fs::copy_options::recursive);
        count_ = std::stol(withFault("count:0", *scratch_ / "good").second);
        ASSERT_GT(count_, 100);
    }
    static void TearDownTestSuite() { scratch_.reset(); }

    static test::Ran measure(const fs::path& out)
    {
        return test::run(
            {"measure", (*scratch_ / "photos").string(), "--out", out.string(), "--threads", "1"});
    }

    /// @return  how it ended, and how many changes there were, of a count.
    static std::pair<test::Ran, std::string> withFault(const std::string& fault, const fs::path& out)
    {
        const std::pair<const char*, std::string> said[] = {
            {"LD_PRELOAD", SLIPGLASS_FAIL_NTH},
            {"SLIPGLASS_FAULT", fault},
            {"SLIPGLASS_FAULT_BELOW", out.string() + "/"},
            {"SLIPGLASS_FAULT_COUNT", (*scratch_ / "count").string()}};
        for (const auto& [name, value] : said) setenv(name, value.c_str(), 1);
        const test::Program program(
            {"measure", (*scratch_ / "photos").string(), "--out", out.string(), "--threads", "1"});
        for (const auto& [name, value] : said) unsetenv(name);
        return {program.wait(), test::readBytes(*scratch_ / "count")};
    }

    static std::unique_ptr<test::ScratchFolder> scratch_;
    static long count_;  ///< changes in a run without a fault
};

std::unique_ptr<test::ScratchFolder> Faults::scratch_;
long Faults::count_ = 0;

TEST_P(Faults, LeaveASeasonThatTheNextRunBringsToTheSameEnd)
{
    const std::string kind = GetParam();
    const auto files = test::filesBelow(*scratch_ / "good");
    const std::string rows = test::seasonText(*scratch_ / "good");
    const long apart = std::getenv("SLIPGLASS_EVERY_FAULT") ? 1 : std::max(1L, count_ / kTried);
    for (long nth = 1 + apart / 2; nth <= count_; nth += apart) {
        SCOPED_TRACE(kind + " at change " + std::to_string(nth) + " of " + std::to_string(count_));
        const fs::path out = *scratch_ / "season";
        fs::remove_all(out);
        fs::copy(*scratch_ / "first", out, fs::copy_options::recursive);
        const test::Ran ended = withFault(kind + ":" + std::to_string(nth), out).first;
        if (kind == "fail") {
            EXPECT_LT(ended.code, 128) << ended.err;
            EXPECT_EQ(ended.err.find("not your doing"), std::string::npos) << ended.err;
            EXPECT_TRUE(ended.code == 0 || !ended.lines().empty()) << "it says nothing";
        } else {
            EXPECT_EQ(ended.code, 137) << ended.err;
        }
        const test::Ran again = measure(out);
        EXPECT_EQ(again.code, 0) << again.err;
        EXPECT_TRUE(test::filesBelow(out) == files);
        EXPECT_EQ(test::seasonText(out), rows);
        if (HasFailure()) break;
    }
}

INSTANTIATE_TEST_SUITE_P(Kinds, Faults, testing::Values("fail", "kill", "power"),
                         [](const auto& kind) { return std::string(kind.param); });

}  // namespace
}  // namespace slipglass
