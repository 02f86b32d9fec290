// Batches drawn by lot. Truth by construction: what is fair is counted.
#include <gtest/gtest.h>

#include <algorithm>
#include <map>
#include <set>

#include "slipglass/error.h"
#include "slipglass/season/draw_plan.h"

namespace slipglass {
namespace {

std::vector<std::string> levels(const std::string& name, int count)
{
    std::vector<std::string> all;
    for (int i = 1; i <= count; ++i) all.push_back(name + std::to_string(i));
    return all;
}

BatchWish wishFor(int tubs, int media, int treatments = 0, std::uint64_t seed = 1)
{
    BatchWish wish;
    wish.tubs = tubs;
    wish.seed = seed;
    wish.factors.push_back({"medium", levels("medium ", media)});
    if (treatments) wish.factors.push_back({"treatment", levels("treatment ", treatments)});
    return wish;
}

std::string combinationOf(const PlannedCutting& row)
{
    return row.variety + "|" + row.medium + "|" + row.treatment;
}

/// Largest count less the smallest, where each of `of` kinds may be counted.
int spread(const std::map<std::string, int>& counts, size_t of)
{
    int least = counts.size() < of ? 0 : 1 << 30, most = 0;
    for (const auto& [kind, count] : counts) {
        least = std::min(least, count);
        most = std::max(most, count);
    }
    return most - least;
}

std::vector<std::string> combinationsInOrder(const DrawnPlan& drawn)
{
    std::vector<std::string> all;
    for (const auto& row : drawn.plan.cuttings) all.push_back(combinationOf(row));
    return all;
}

std::string errorOf(const BatchWish& wish)
{
    try {
        (void)drawPlan(wish);
    } catch (const Error& error) {
        return error.what();
    }
    return "no error";
}

TEST(DrawPlan, IsFairInEachBlockAndInTheWholeBatchWhateverItsShape)
{
    int shapes = 0;
    for (int tubs = 2; tubs <= 26; tubs += 3)
        for (int media = 1; media <= 4; ++media)
            for (int treatments = 1; treatments <= 3; ++treatments)
                for (int blocks = 1; blocks <= tubs; blocks += 2)
                    for (std::uint64_t seed = 1; seed <= 3; ++seed) {
                        const size_t kinds = static_cast<size_t>(media) * static_cast<size_t>(treatments);
                        if (kinds > static_cast<size_t>(tubs)) continue;
                        BatchWish wish = wishFor(tubs, media, treatments, seed);
                        wish.blocks = blocks;
                        const DrawnPlan drawn = drawPlan(wish);
                        ASSERT_EQ(drawn.plan.cuttings.size(), static_cast<size_t>(tubs));
                        std::map<std::string, int> in_all;
                        std::map<std::string, std::map<std::string, int>> in_block;
                        for (const auto& row : drawn.plan.cuttings) {
                            ++in_all[combinationOf(row)];
                            ++in_block[row.own_columns.at("block")][combinationOf(row)];
                        }
                        ASSERT_LE(spread(in_all, kinds), 1) << tubs << " tubs, " << kinds << " kinds";
                        ASSERT_EQ(in_block.size(), static_cast<size_t>(blocks));
                        for (const auto& [block, counts] : in_block)
                            ASSERT_LE(spread(counts, kinds), 1) << "block " << block;
                        ++shapes;
                    }
    EXPECT_GT(shapes, 500);
}

TEST(DrawPlan, KeepsEachFactorEvenByItselfWhereTheNumbersAllowIt)
{
    for (std::uint64_t seed = 1; seed <= 50; ++seed) {
        const BatchWish wish = wishFor(10, 2, 2, seed);  // blocks of 4, 4 and 2
        const DrawnPlan drawn = drawPlan(wish);
        EXPECT_EQ(tubsByLevel(drawn, wish.factors, 0), (std::vector<int>{5, 5})) << seed;
        EXPECT_EQ(tubsByLevel(drawn, wish.factors, 1), (std::vector<int>{5, 5})) << seed;
    }
}

TEST(DrawPlan, GivesEachBlockEachCombinationOnceUnlessToldOtherwise)
{
    const DrawnPlan drawn = drawPlan(wishFor(12, 2, 2));
    EXPECT_EQ(drawn.block_sizes, (std::vector<int>{4, 4, 4}));
    for (const TubsAlike& alike : drawn.shares) EXPECT_EQ(alike.tubs, 3);
}

TEST(DrawPlan, MakesBlocksOfOneSizeOrOneApart)
{
    BatchWish wish = wishFor(11, 2);
    wish.blocks = 3;
    EXPECT_EQ(drawPlan(wish).block_sizes, (std::vector<int>{4, 4, 3}));
    wish.blocks.reset();
    wish.per_block = 4;
    EXPECT_EQ(drawPlan(wish).block_sizes, (std::vector<int>{4, 4, 3}));
}

TEST(DrawPlan, DrawsTheSameLotsFromTheSameSeedAndOthersFromAnother)
{
    EXPECT_EQ(combinationsInOrder(drawPlan(wishFor(24, 3))), combinationsInOrder(drawPlan(wishFor(24, 3))));
    EXPECT_NE(combinationsInOrder(drawPlan(wishFor(24, 3, 0, 1))),
              combinationsInOrder(drawPlan(wishFor(24, 3, 0, 2))));
}

// Truth: computed once with this program; the C++ standard fixes the numbers of std::mt19937_64, and the rest
// is whole numbers, so any machine must give the same.
TEST(DrawPlan, DrawsTheseLotsOnEveryMachine)
{
    std::string lots;
    for (const auto& row : drawPlan(wishFor(12, 2)).plan.cuttings) lots += row.medium.back();
    EXPECT_EQ(lots, "212121212112");
}

TEST(DrawPlan, LeavesEachPlaceToChance)
{
    // Of 400 seeds half should give the first place the first medium. Tolerance: four standard errors, 10.
    int first = 0;
    for (std::uint64_t seed = 1; seed <= 400; ++seed)
        first += drawPlan(wishFor(12, 2, 0, seed)).plan.cuttings.front().medium == "medium 1" ? 1 : 0;
    EXPECT_NEAR(first, 200, 40);
}

TEST(DrawPlan, LeavesToChanceWhichMediumGetsTheOddTub)
{
    std::set<std::string> with_more;
    for (std::uint64_t seed = 1; seed <= 40; ++seed)
        for (const TubsAlike& alike : drawPlan(wishFor(7, 3, 0, seed)).shares)
            if (alike.tubs == 3) with_more.insert(alike.levels.front());
    EXPECT_EQ(with_more.size(), 3U);
}

TEST(DrawPlan, NumbersTubsByPlaceSoThatTheySort)
{
    const DrawnPlan drawn = drawPlan(wishFor(120, 2));
    EXPECT_EQ(drawn.plan.cuttings.front().tub, "T001");
    EXPECT_EQ(drawn.plan.cuttings.back().tub, "T120");
    EXPECT_EQ(drawn.plan.cuttings.back().own_columns.at("place"), "120");
    EXPECT_EQ(drawPlan(wishFor(9, 2)).plan.cuttings.front().tub, "T01");
}

TEST(DrawPlan, SaysWhereInItsTubEachOfSeveralCuttingsGoes)
{
    BatchWish wish = wishFor(4, 2);
    wish.cuttings_per_tub = 3;
    const auto rows = drawPlan(wish).plan.cuttings;
    ASSERT_EQ(rows.size(), 12U);
    EXPECT_EQ(rows[0].position, "left");
    EXPECT_EQ(rows[1].position, "middle");
    EXPECT_EQ(rows[2].position, "right");
    EXPECT_EQ(rows[0].medium, rows[2].medium) << "a tub holds one medium";
    std::set<std::string> ids;
    for (const auto& row : rows) ids.insert(row.cutting);
    EXPECT_EQ(ids.size(), 12U);
    wish.cuttings_per_tub = 1;
    EXPECT_EQ(drawPlan(wish).plan.cuttings.front().position, "");
}

TEST(DrawPlan, RefusesWhatCannotBeDrawnInOneClearLine)
{
    EXPECT_EQ(
        errorOf(wishFor(3, 2, 2)),
        "--tubs: is 3, fewer than there are combinations (4). Give more tubs, or compare less at once.");
    EXPECT_EQ(errorOf(wishFor(0, 2)), "--tubs: is 0. Give a number from 1 to 999.");
    BatchWish wish = wishFor(6, 2);
    wish.cuttings_per_tub = 4;
    EXPECT_EQ(errorOf(wish), "--cuttings-per-tub: is 4. Give a number from 1 to 3.");
    wish = wishFor(6, 2);
    wish.blocks = 7;
    EXPECT_EQ(errorOf(wish), "--blocks: is 7. Give a number from 1 to 6.");
    wish.blocks = 2;
    wish.per_block = 3;
    EXPECT_NE(errorOf(wish).find("Give one of them"), std::string::npos);
    wish = wishFor(6, 2);
    wish.factors[0].levels = {"peat", "peat"};
    EXPECT_EQ(errorOf(wish), "--medium: names 'peat' twice. Name each value once.");
    wish.factors[0].levels = {"peat", ""};
    EXPECT_NE(errorOf(wish).find("empty value"), std::string::npos);
    wish.factors[0].levels = levels("m", 40);
    wish.factors.push_back({"treatment", levels("t", 40)});
    EXPECT_NE(errorOf(wish).find("over 999"), std::string::npos);
}

TEST(DrawPlan, DrawsTubsWithNothingToCompare)
{
    BatchWish wish;
    wish.tubs = 5;
    const DrawnPlan drawn = drawPlan(wish);
    EXPECT_EQ(drawn.plan.cuttings.size(), 5U);
    EXPECT_EQ(drawn.block_sizes, (std::vector<int>{5}));
}

}  // namespace
}  // namespace slipglass
