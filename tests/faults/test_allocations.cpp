// What is left where the computer has no memory to give: one allocation of a run gets none. The run has to
// say so, by a photo's row of problems.csv or by ending, and the next one has to end in the season that a run
// without a fault gives. Of all allocations those are tried that a chain of callers, each at its place, comes
// to first: what the program does without memory depends on who asked for it.
#include <sys/personality.h>

#include <array>
#include <memory>
#include <sstream>

#include "season_to_break.h"

namespace slipglass {
namespace {

/// Libraries that end the program, or crash it, where they get no memory; no code of ours is asked (libltdl:
/// PLplot's).
constexpr std::array kMayCrash{"libdnnl.so", "libglib-2.0.so", "libplplot.so", "libltdl.so"};
/// What glibc says before it ends a program that it cannot promise to give a thread's memory back.
const char* const kEndedByGlibc = "Fatal glibc error: failed to register TLS destructor";

struct Kind {
    const char* name;
    int threads;
};

class Allocations : public testing::TestWithParam<Kind> {
protected:
    // Two new photos: one that got no memory is missing to the one after it.
    static void SetUpTestSuite()
    {
        season_ = std::make_unique<test::SeasonToBreak>(
            std::vector<std::string>{"T01_2026-02-02", "T01_2026-02-17"});
        // The same addresses in each run, and with them, with one thread, the same allocations.
        personality(ADDR_NO_RANDOMIZE);
    }
    static void TearDownTestSuite() { season_.reset(); }

    /// @param nth  allocation that gets nothing; 0: none.
    static test::Ran measure(long nth)
    {
        return season_->measure(season_->begun(),
                                {{"LD_PRELOAD", SLIPGLASS_FAIL_ALLOCATION},
                                 {"SLIPGLASS_ALLOCATION", std::to_string(nth)},
                                 {"SLIPGLASS_ALLOCATION_TOLD", season_->note().string()}},
                                GetParam().threads);
    }
    /// What fail_allocation.c told, line by line: of "refused libdnnl.so.2" the second word.
    static std::vector<std::string> allTold(const std::string& what)
    {
        std::vector<std::string> all;
        std::istringstream lines(test::readBytes(season_->note()));
        for (std::string word, rest; lines >> word >> rest;)
            if (word == what) all.push_back(rest);
        return all;
    }
    static std::string told(const std::string& what)
    {
        const auto all = allTold(what);
        return all.empty() ? "" : all.front();
    }

    /// Functions of the program at some places in it, a line each.
    static std::string functionsAt(const std::vector<std::string>& places)
    {
        if (places.empty()) return "";
        std::string named;
        for (const std::string& place : places) named += ' ' + place;
        return test::shell("addr2line -f -s -C -e '" + std::string(SLIPGLASS_PROGRAM) + "'" + named +
                           " | grep -v '^[?]'")
            .out;
    }

    /// How much the test has found so far.
    static int partsSaid()
    {
        return testing::UnitTest::GetInstance()->current_test_info()->result()->total_part_count();
    }

    static std::unique_ptr<test::SeasonToBreak> season_;
};

std::unique_ptr<test::SeasonToBreak> Allocations::season_;

TEST_P(Allocations, ThatFailLeaveASeasonThatTheNextRunBringsToTheSameEnd)
{
    ASSERT_EQ(measure(0).code, 0);
    const std::vector<std::string> firsts = allTold("chain");
    ASSERT_GT(firsts.size(), 1000);
    EXPECT_GT(std::stoul(told("count")), firsts.size());
    std::map<std::string, int> crashes;
    test::trySome(GetParam().name, static_cast<long>(firsts.size()), 20, [&](long chain) {
        const test::Ran ended = measure(std::stol(firsts[static_cast<size_t>(chain - 1)]));
        SCOPED_TRACE("refused to " + told("refused") + ": " + ended.err);
        const int parts = partsSaid();
        EXPECT_NE(ended.code, 128 + SIGALRM) << "it had not ended after minutes";
        if (ended.code >= 128) {
            const bool by_glibc = ended.err.find(kEndedByGlibc) != std::string::npos;
            const std::string by = by_glibc ? "glibc" : told("refused");
            EXPECT_TRUE(by_glibc || std::any_of(kMayCrash.begin(), kMayCrash.end(),
                                                [&](const char* name) { return by.starts_with(name); }))
                << "ended with " << ended.code;
            ++crashes[by];
        } else {
            EXPECT_FALSE(ended.lines().empty() && !season_->isWhole()) << "it says nothing";
            EXPECT_EQ(ended.err.find("not your doing"), std::string::npos);
            EXPECT_EQ(ended.err.find("failed on this picture"), std::string::npos);
        }
        const std::vector<std::string> callers = allTold("at");
        season_->expectMended();
        if (partsSaid() > parts) std::cout << "called by\n" << functionsAt(callers);
    });
    std::cout << "faults: " << GetParam().name << ": " << season_->goneOnWith()
              << " different seasons gone on with\n";
    for (const auto& [library, times] : crashes)
        std::cout << "faults: " << GetParam().name << ": " << times << " ended in " << library << "\n";
}

INSTANTIATE_TEST_SUITE_P(Kinds, Allocations, testing::Values(Kind{"alone", 1}, Kind{"side_by_side", 2}),
                         [](const auto& kind) { return std::string(kind.param.name); });

}  // namespace
}  // namespace slipglass
