#include <gtest/gtest.h>

#include <random>
#include <stdexcept>

#include "reference.h"
#include "slipglass/statistics/exact.h"

namespace slipglass {
namespace {

// Source: tests/data/reference/04-fisher-2x2.json, computed with R fisher.test and scipy, equal to 1e-11.
constexpr double kExact = 1e-10;
constexpr double kErrors = 4;  // standard errors: drawn p values are off by more once in 16 000 times

std::vector<Unit> alone(const std::vector<int>& groups, const std::vector<double>& scores)
{
    std::vector<Unit> units;
    for (size_t i = 0; i < groups.size(); ++i) units.push_back({groups[i], 0, scores[i], 1});
    return units;
}

/// One unit for each counted thing: rows are groups, the score is the column.
std::vector<Unit> unitsOf(const CountTable& table)
{
    std::vector<Unit> units;
    for (size_t r = 0; r < table.size(); ++r)
        for (size_t c = 0; c < table[r].size(); ++c)
            for (int i = 0; i < table[r][c]; ++i)
                units.push_back({static_cast<int>(r), 0, static_cast<double>(c), 1});
    return units;
}

TEST(Fisher, GivesThePublishedTwoSidedValues)
{
    const auto reference = referenceJson("04-fisher-2x2.json");
    for (const auto& [name, table] : {std::pair{"tea_tasting", "table"},
                                      {"convictions", "table_rows_dizygotic_monozygotic"},
                                      {"strike_8of10_vs_4of10", "table"}})
        EXPECT_NEAR(fisherExact(reference[name][table].get<CountTable>()).p,
                    reference[name]["p_two_sided"].get<double>(), kExact)
            << name;
    EXPECT_NEAR(fisherExact({{4, 0}, {0, 4}}).p, 1.0 / 35, kExact);
}

// Truth by counting: two struck of four can be chosen in C(4,2) = 6 ways. Both in the first row: 1 way; none
// there: 1 way; one there: 4 ways, two for each of two tables. Seen is one of the two rarest tables.
TEST(Fisher, CountsAllTablesOfThreeRows)
{
    const Chance chance = fisherExact({{2, 0}, {0, 1}, {0, 1}});
    EXPECT_NEAR(chance.p, 2.0 / 6, kExact);
    EXPECT_FALSE(chance.standard_error);
}

// Truth: the same table as 2 x 2 goes through Boost's hypergeometric distribution; a third column or row that
// splits nothing must not matter.
TEST(Fisher, IsNotMovedByRowsAndColumnsWithoutCounts)
{
    EXPECT_NEAR(fisherExact({{8, 2, 0}, {4, 6, 0}, {0, 0, 0}}).p, 0.169802333889021, kExact);
}

// Source: Agresti, Categorical Data Analysis, 2002, p. 57 (job satisfaction by income), the example of R's
// fisher.test; p computed with another program that went through all 90 208 550 tables. Here lots are drawn.
TEST(Fisher, DrawsLotsForALargeTableAndSaysHowWellItKnows)
{
    const Chance chance = fisherExact({{1, 3, 10, 6}, {2, 3, 10, 7}, {1, 6, 14, 12}, {0, 1, 9, 11}});
    ASSERT_TRUE(chance.standard_error);
    EXPECT_NEAR(*chance.standard_error, 0.0029, 0.0002);
    EXPECT_NEAR(chance.p, 0.78268494, kErrors * *chance.standard_error);
    EXPECT_EQ(chance.p, fisherExact({{1, 3, 10, 6}, {2, 3, 10, 7}, {1, 6, 14, 12}, {0, 1, 9, 11}}).p);
}

TEST(Fisher, GivesOneWhereNothingCanDiffer)
{
    EXPECT_EQ(fisherExact({{5, 0}, {5, 0}}).p, 1.0);
    EXPECT_EQ(fisherExact({{3, 2}}).p, 1.0);
    EXPECT_EQ(fisherExact({}).p, 1.0);
    EXPECT_THROW(fisherExact({{1, 2}, {3}}), std::invalid_argument);
    EXPECT_THROW(fisherExact({{1, -2}, {3, 1}}), std::invalid_argument);
}

// Truth: with two groups of one size and scores 0 and 1, the tables as far off are the tables as improbable.
TEST(Permutation, IsFishersTestForTwoEqualGroupsOfYesAndNo)
{
    const auto chance = permutationTest(unitsOf({{8, 2}, {4, 6}}));
    ASSERT_TRUE(chance);
    EXPECT_NEAR(chance->p, 0.169802333889021, kExact);
    EXPECT_FALSE(chance->standard_error);
}

TEST(Permutation, AgreesWithTheExactValueWhenItDrawsLots)
{
    const CountTable table{{18, 6}, {9, 15}};
    const auto chance = permutationTest(unitsOf(table));
    ASSERT_TRUE(chance && chance->standard_error);
    EXPECT_NEAR(chance->p, fisherExact(table).p, kErrors * *chance->standard_error);
}

// Truth by counting: scores 1..6, the best three in one group: 1 of C(6,3) = 20, and its mirror.
TEST(Permutation, CountsTheWaysToHandOutGroups)
{
    EXPECT_NEAR(permutationTest(alone({0, 0, 0, 1, 1, 1}, {1, 2, 3, 4, 5, 6}))->p, 2.0 / 20, kExact);
}

// Truth by counting: the same scores in pairs (tubs): 3 + 3 tubs of two cuttings have as many ways as 3 + 3
// single ones, not as many as 6 + 6; counted one by one, p would be 2 of C(12,6) = 924.
TEST(Permutation, MovesCuttingsOfATubTogether)
{
    std::vector<Unit> tubs, single;
    for (int i = 1; i <= 6; ++i) {
        const int group = i > 3 ? 1 : 0;
        tubs.push_back({group, 0, 2.0 * i, 2});
        single.insert(single.end(), 2, Unit{group, 0, static_cast<double>(i), 1});
    }
    EXPECT_NEAR(permutationTest(tubs)->p, 2.0 / 20, kExact);
    EXPECT_NEAR(permutationTest(single)->p, 2.0 / 924, kExact);
}

// Truth by counting: two blocks of 1 against 1 have 4 ways, two of them as far off; the blocks' own level
// does not matter.
TEST(Permutation, ExchangesGroupsOnlyInsideABlock)
{
    EXPECT_NEAR(permutationTest({{0, 0, 1, 1}, {1, 0, 2, 1}, {0, 1, 101, 1}, {1, 1, 102, 1}})->p, 0.5,
                kExact);
}

TEST(Permutation, IsEmptyWhereNothingCanBeExchanged)
{
    EXPECT_FALSE(permutationTest({}));
    EXPECT_FALSE(permutationTest(alone({0, 0}, {1, 2})));
    EXPECT_FALSE(permutationTest({{0, 0, 1, 1}, {0, 0, 2, 1}, {1, 1, 3, 1}}));
}

TEST(Permutation, GivesOneWhenAllScoresAreTheSame)
{
    EXPECT_EQ(permutationTest(alone({0, 0, 1, 1}, {1, 1, 1, 1}))->p, 1.0);
}

TEST(Permutation, IsNotMisledByATubWithMoreCuttings)
{
    // Per cutting all tubs have the same score, whatever they hold.
    EXPECT_EQ(permutationTest({{0, 0, 3, 3}, {0, 0, 1, 1}, {1, 0, 1, 1}, {1, 0, 2, 2}})->p, 1.0);
}

// Under no difference p must not be small too often, whatever the sizes: a seeded simulation. Exact tests of
// counts are cautious, so only the upper side is a limit: 0.05 and three standard errors of 2000 batches.
TEST(NullBehaviour, FisherAndPermutationAreNotSmallTooOften)
{
    constexpr int kBatches = 2000;
    std::mt19937_64 random(7);  // NOLINT(cert-msc51-cpp)
    int fisher = 0, permutation = 0;
    for (int batch = 0; batch < kBatches; ++batch) {
        std::bernoulli_distribution strikes(0.6);
        CountTable table{{0, 0}, {0, 0}};
        for (int i = 0; i < 14; ++i) ++table[i < 6 ? 0 : 1][strikes(random) ? 1 : 0];
        fisher += static_cast<int>(fisherExact(table).p <= 0.05);
        permutation += static_cast<int>(permutationTest(unitsOf(table))->p <= 0.05);
    }
    RecordProperty("fisher_per_2000", fisher);
    RecordProperty("permutation_per_2000", permutation);
    EXPECT_LE(fisher, 100 + 3 * 10);
    EXPECT_LE(permutation, 100 + 3 * 10);
    EXPECT_GT(permutation, 10);  // and it does go below now and then
}

// Source: Holm's procedure worked by hand: p 0.01, 0.04, 0.03, 0.005, the example of common textbooks:
// 0.03, 0.06, 0.06, 0.02.
TEST(Holm, GivesTheTextbookValues)
{
    const auto adjusted = holm({0.01, 0.04, 0.03, 0.005});
    const std::vector<double> expected{0.03, 0.06, 0.06, 0.02};
    for (size_t i = 0; i < expected.size(); ++i) EXPECT_NEAR(adjusted[i], expected[i], 1e-12);
}

TEST(Holm, KeepsASinglePAndNeverPassesOne)
{
    EXPECT_EQ(holm({0.2}), std::vector<double>{0.2});
    EXPECT_EQ(holm({0.7, 0.8}), (std::vector<double>{1.0, 1.0}));
    EXPECT_TRUE(holm({}).empty());
}

}  // namespace
}  // namespace slipglass
