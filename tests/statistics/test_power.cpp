// What a comparison of two groups can show.
#include <gtest/gtest.h>

#include <cmath>
#include <random>
#include <utility>

#include "slipglass/statistics/exact.h"
#include "slipglass/statistics/power.h"

namespace slipglass {
namespace {

struct Known {
    int a, b;
    double strikes_a, strikes_b, power;
};

// Source: computed once with scipy 1.10.1 (Debian python3-scipy): the sum over all pairs of counts of
// binom.pmf * binom.pmf * (fisher_exact(table)[1] <= 0.05). Tolerance: printed to twelve decimals.
constexpr Known kByScipy[] = {
    {6, 6, 0.5, 0.98, 0.098583862202},
    {4, 4, 0.1, 0.99, 0.630247042162},
    {10, 10, 0.5, 0.9, 0.295055047702},
    {20, 20, 0.5, 0.9, 0.742388783911},
    {12, 8, 0.3, 0.85, 0.607849685256},
    {39, 39, 0.5, 0.8, 0.732009336887},
    {15, 15, 0.2, 0.7, 0.679618897484},
    {3, 3, 0, 1, 0.0},
    {6, 7, 0.1, 0.9, 0.866117245852},
    {30, 10, 0.65, 0.35, 0.270624746180},
    {1, 5, 0.2, 0.9, 0.0},
};

TEST(FisherPower, IsTheExactSumOverBothBinomials)
{
    for (const Known& known : kByScipy)
        EXPECT_NEAR(FisherPower(known.a, known.b).chance(known.strikes_a, known.strikes_b), known.power,
                    1e-11)
            << known.a << " against " << known.b;
}

TEST(FisherPower, IsTheSameWhicheverGroupIsNamedFirstAndWhetherStruckOrFailedIsCounted)
{
    const FisherPower power(9, 14), other_way(14, 9);
    EXPECT_NEAR(power.chance(0.3, 0.9), other_way.chance(0.9, 0.3), 1e-12);
    EXPECT_NEAR(power.chance(0.3, 0.9), power.chance(0.7, 0.1), 1e-12);
}

TEST(FisherPower, CallsNoMoreThanOneInTwentyADifferenceWhereThereIsNone)
{
    for (const double strikes : {0.0, 0.1, 0.35, 0.5, 0.8, 1.0})
        EXPECT_LE(FisherPower(12, 17).chance(strikes, strikes), 0.05) << strikes;
}

// What `compare` will say of the batch is what its power was counted for.
TEST(FisherPower, CallsADifferenceWhatFisherExactCallsOne)
{
    for (const auto& [a, b] : {std::pair(5, 5), std::pair(8, 11), std::pair(1, 30), std::pair(20, 14)}) {
        // The chance of one outcome alone, by the binomial's own definition, summed where the test says so.
        const auto chanceOf = [](int struck, int n, double strikes) {
            return std::exp(std::lgamma(n + 1) - std::lgamma(struck + 1) - std::lgamma(n - struck + 1)) *
                   std::pow(strikes, struck) * std::pow(1 - strikes, n - struck);
        };
        double sum = 0;
        for (int x = 0; x <= a; ++x)
            for (int y = 0; y <= b; ++y)
                if (fisherExact({{x, a - x}, {y, b - y}}).p <= 0.05)
                    sum += chanceOf(x, a, 0.3) * chanceOf(y, b, 0.8);
        EXPECT_NEAR(FisherPower(a, b).chance(0.3, 0.8), sum, 1e-10) << a << " against " << b;
    }
}

TEST(FisherPower, AgreesWithBatchesDrawnByLot)
{
    constexpr int kA = 12, kB = 10, kBatches = 20000;
    constexpr double kStrikesA = 0.4, kStrikesB = 0.95;
    std::mt19937_64 engine(20260112);
    const auto struckOf = [&](int n, double chance) {
        int struck = 0;
        for (int i = 0; i < n; ++i) struck += static_cast<double>(engine() >> 11) * 0x1p-53 < chance ? 1 : 0;
        return struck;
    };
    int noticed = 0;
    for (int i = 0; i < kBatches; ++i) {
        const int x = struckOf(kA, kStrikesA), y = struckOf(kB, kStrikesB);
        noticed += fisherExact({{x, kA - x}, {y, kB - y}}).p <= 0.05 ? 1 : 0;
    }
    const double exact = FisherPower(kA, kB).chance(kStrikesA, kStrikesB);
    // Tolerance: three standard errors of a share of so many batches.
    const double error = std::sqrt(exact * (1 - exact) / kBatches);
    EXPECT_NEAR(static_cast<double>(noticed) / kBatches, exact, 3 * error);
    EXPECT_GT(exact, 0.5);
    EXPECT_LT(exact, 0.95);
}

// Source: the same scipy program, each whole percent tried in turn.
TEST(NoticedFrom, IsTheFirstWholePercentThatIsNoticedOftenEnough)
{
    const FisherPower power(24, 24);
    EXPECT_EQ(noticedFrom(power, 10).at_least, 49);
    EXPECT_EQ(noticedFrom(power, 30).at_least, 73);
    EXPECT_EQ(noticedFrom(power, 30).at_most, 1);
    EXPECT_EQ(noticedFrom(power, 50).at_least, 89);
    EXPECT_EQ(noticedFrom(power, 50).at_most, 11);
    EXPECT_EQ(noticedFrom(power, 90).at_most, 51);
}

TEST(NoticedFrom, IsEmptyWhereNothingWouldBeNoticed)
{
    const FisherPower power(6, 6);
    EXPECT_EQ(noticedFrom(power, 10).at_least, 97);
    EXPECT_EQ(noticedFrom(power, 50).at_least, std::nullopt);
    EXPECT_EQ(noticedFrom(power, 50).at_most, std::nullopt);
    EXPECT_EQ(noticedFrom(power, 0).at_most, std::nullopt);
    EXPECT_EQ(noticedFrom(power, 100).at_least, std::nullopt);
}

// Source: the same scipy program: 48 a side give 0.799, 49 give 0.814.
TEST(GroupSizeFor, IsTheSmallestThatDoes)
{
    EXPECT_EQ(groupSizeFor(0.35, 0.65), 49);
    EXPECT_EQ(groupSizeFor(0.65, 0.35), 49);
    EXPECT_EQ(groupSizeFor(0.5, 0.8), 44);
    EXPECT_EQ(groupSizeFor(0.0, 1.0), 4) << "3 against 3 give p = 0.1 at best";
    EXPECT_EQ(groupSizeFor(0.5, 0.51, 40), std::nullopt);
}

TEST(GroupSizeFor, IsLargestForThirtyPointsAboutTheMiddle)
{
    for (int percent = 0; percent <= 70; percent += 5)
        EXPECT_LE(groupSizeFor(percent / 100.0, percent / 100.0 + 0.3).value(), 49) << percent;
}

TEST(FisherPower, RefusesAnEmptyGroup)
{
    EXPECT_THROW(FisherPower(0, 3), std::invalid_argument);
}

}  // namespace
}  // namespace slipglass
