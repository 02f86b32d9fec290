#include <gtest/gtest.h>

#include <cmath>
#include <stdexcept>

#include "reference.h"
#include "slipglass/statistics/proportion.h"

namespace slipglass {
namespace {

// Source: README-statistics.md in tests/data/reference; the tables give ten decimals and the computations
// behind them agree to 1e-9.
constexpr double kTable = 1e-8;

Share shareOf(const ReferenceRow& row, const char* struck, const char* of)
{
    return {std::stoi(row.at(struck)), std::stoi(row.at(of))};
}

TEST(Wilson, GivesNewcombesLimits)
{
    for (const auto& row : referenceTable("04-wilson.csv")) {
        const Limits limits = wilsonLimits(shareOf(row, "x", "n"));
        EXPECT_NEAR(limits.low, number(row, "wilson_lo"), kTable) << row.at("x") << '/' << row.at("n");
        EXPECT_NEAR(limits.high, number(row, "wilson_hi"), kTable) << row.at("x") << '/' << row.at("n");
    }
}

TEST(Wilson, EndsExactlyAtNoneAndAtAll)
{
    EXPECT_EQ(wilsonLimits({0, 20}).low, 0.0);
    EXPECT_EQ(wilsonLimits({20, 20}).high, 1.0);
    EXPECT_LT(wilsonLimits({0, 20}, 0.8).high, wilsonLimits({0, 20}, 0.95).high);
}

TEST(Wilson, RefusesWhatIsNoShare)
{
    EXPECT_THROW(wilsonLimits({0, 0}), std::invalid_argument);
    EXPECT_THROW(wilsonLimits({3, 2}), std::invalid_argument);
    EXPECT_THROW(wilsonLimits({-1, 2}), std::invalid_argument);
}

TEST(Newcombe, GivesThePublishedLimitsOfMethodTen)
{
    for (const auto& row : referenceTable("04-newcombe-difference.csv")) {
        const Difference difference = newcombeDifference(shareOf(row, "x1", "n1"), shareOf(row, "x2", "n2"));
        EXPECT_NEAR(difference.value, number(row, "difference"), kTable);
        EXPECT_NEAR(difference.limits.low, number(row, "hybrid_score_lo"), kTable);
        EXPECT_NEAR(difference.limits.high, number(row, "hybrid_score_hi"), kTable);
    }
}

TEST(Newcombe, TurnsRoundWithTheGroups)
{
    const Difference there = newcombeDifference({9, 10}, {3, 10}),
                     back = newcombeDifference({3, 10}, {9, 10});
    EXPECT_DOUBLE_EQ(there.limits.low, -back.limits.high);
    EXPECT_DOUBLE_EQ(there.limits.high, -back.limits.low);
}

// Truth by construction: in each block a does 0.4 better; a's blocks are the bad ones, so that counts thrown
// together would say it does worse. Limits: computed once with Python 3.11 from Wilson's and Zou and Donner's
// formulas (proportion.h), each block with half of the weight. Tolerance: ten decimals were printed.
TEST(DifferenceWithin, IsNotMisledByUnequalBlocks)
{
    const std::vector<BlockOfTwo> blocks{{{8, 20}, {0, 5}}, {{5, 5}, {12, 20}}};
    const Difference difference = differenceWithin(blocks);
    EXPECT_NEAR(difference.value, 0.4, 1e-12);
    EXPECT_NEAR(difference.limits.low, 0.0671290904, 1e-9);
    EXPECT_NEAR(difference.limits.high, 0.5509096680, 1e-9);
}

// Truth by construction: with equal weights the squared distance to a limit is that of one block over two.
TEST(DifferenceWithin, NarrowsWithTheSquareRootOfEqualBlocks)
{
    const Difference one = newcombeDifference({6, 10}, {3, 10});
    const Difference two = differenceWithin({{{6, 10}, {3, 10}}, {{6, 10}, {3, 10}}});
    EXPECT_NEAR((two.value - two.limits.low) * std::sqrt(2.0), one.value - one.limits.low, 1e-12);
}

TEST(DifferenceWithin, LeavesOutBlocksWithOneGroup)
{
    const Difference with = differenceWithin({{{6, 10}, {3, 10}}, {{0, 7}, {0, 0}}});
    EXPECT_DOUBLE_EQ(with.value, newcombeDifference({6, 10}, {3, 10}).value);
    EXPECT_THROW(differenceWithin({{{0, 7}, {0, 0}}}), std::invalid_argument);
}

}  // namespace
}  // namespace slipglass
