#include "slipglass/in_parallel.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <stdexcept>
#include <string>
#include <vector>

namespace slipglass {
namespace {

TEST(InParallel, DoesEachPieceOnceWhateverTheThreads)
{
    for (const int threads : {0, 1, 2, 7, 2000}) {
        std::vector<int> done(1000, 0);
        inParallel(done.size(), threads, [&](size_t i) { ++done[i]; });
        EXPECT_EQ(std::count(done.begin(), done.end(), 1), 1000) << threads << " threads";
    }
}

TEST(InParallel, DoesNothingWhereThereIsNothing)
{
    inParallel(0, 4, [](size_t) { FAIL(); });
}

TEST(InParallel, ThrowsOnAndStartsNoMoreAfterwards)
{
    int begun = 0;
    const auto fail_at_3 = [&](size_t i) {
        ++begun;
        if (i == 3) throw std::runtime_error("piece 3");
    };
    EXPECT_THROW(inParallel(100, 1, fail_at_3), std::runtime_error);
    EXPECT_EQ(begun, 4);
}

TEST(InParallel, ThrowsOnWhatOneOfManyThreadsThrew)
{
    const auto fail_at_3 = [](size_t i) {
        if (i == 3) throw std::runtime_error("piece 3");
    };
    try {
        inParallel(100, 4, fail_at_3);
        FAIL() << "nothing thrown";
    } catch (const std::runtime_error& failure) {
        EXPECT_EQ(std::string(failure.what()), "piece 3");
    }
}

TEST(InParallel, ThrowsOnOneOfManyFailures)
{
    EXPECT_THROW(inParallel(200, 4, [](size_t) { throw std::runtime_error("all"); }), std::runtime_error);
}

}  // namespace
}  // namespace slipglass
