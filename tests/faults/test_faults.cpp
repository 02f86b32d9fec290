// What a fault leaves behind: the N-th change of a run to a file fails, as on a full disk, or the run is
// killed there, or the power is cut. The next run has to end in the season that a run without a fault gives.
// Some N of all are tried; all with SLIPGLASS_EVERY_FAULT=1 in the environment (docs/reliability.md).
#include <memory>

#include "season_to_break.h"

namespace slipglass {
namespace {

class Faults : public testing::TestWithParam<const char*> {
protected:
    static void SetUpTestSuite()
    {
        season_ = std::make_unique<test::SeasonToBreak>(std::vector<std::string>{"T01_2026-02-02"});
        EXPECT_EQ(measure("count:0").code, 0);
        count_ = std::stol(test::readBytes(season_->note()));
        ASSERT_GT(count_, 100);
    }
    static void TearDownTestSuite() { season_.reset(); }

    static test::Ran measure(const std::string& fault)
    {
        const auto out = season_->begun();
        return season_->measure(out, {{"LD_PRELOAD", SLIPGLASS_FAIL_NTH},
                                      {"SLIPGLASS_FAULT", fault},
                                      {"SLIPGLASS_FAULT_BELOW", out.string() + "/"},
                                      {"SLIPGLASS_FAULT_COUNT", season_->note().string()}});
    }

    static std::unique_ptr<test::SeasonToBreak> season_;
    static long count_;  ///< changes in a run without a fault
};

std::unique_ptr<test::SeasonToBreak> Faults::season_;
long Faults::count_ = 0;

TEST_P(Faults, LeaveASeasonThatTheNextRunBringsToTheSameEnd)
{
    const std::string kind = GetParam();
    test::trySome(kind, count_, 14, [&](long nth) {
        const test::Ran ended = measure(kind + ":" + std::to_string(nth));
        if (kind == "fail") {
            EXPECT_LT(ended.code, 128) << ended.err;
            EXPECT_EQ(ended.err.find("not your doing"), std::string::npos) << ended.err;
            EXPECT_TRUE(ended.code == 0 || !ended.lines().empty()) << "it says nothing";
        } else {
            EXPECT_EQ(ended.code, 137) << ended.err;
        }
        season_->expectMended();
    });
}

INSTANTIATE_TEST_SUITE_P(Kinds, Faults, testing::Values("fail", "kill", "power"),
                         [](const auto& kind) { return std::string(kind.param); });

}  // namespace
}  // namespace slipglass
