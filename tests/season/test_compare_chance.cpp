// How often `compare` calls a difference rare when there is none: seeded simulations of whole batches.
// docs/measured/compare.md gives what they measure.
#include <gtest/gtest.h>

#include <cmath>
#include <random>

#include "compare_maker.h"

namespace slipglass {
namespace {

using test::notYet;
using test::struckBetween;

constexpr int kBatches = 1000;
constexpr double kRare = 0.05;
// 0.05 of 1000 batches and three standard errors (7 each). Exact tests of few counts lie below, never above.
constexpr int kAtMost = 50 + 3 * 7;

struct Batch {
    int tubs_each = 7, cuttings_per_tub = 1;
    double strikes_a = 0.6, strikes_b = 0.6;
    double days_a = 25, days_b = 25;  ///< mean to strike, of those that do
    bool tub_decides = false;         ///< all cuttings of a tub strike, or none
    bool tubs_unknown = false;        ///< each cutting is given a tub of its own
    int b_stuck_later = 0;            ///< days, with the last photo on the same date
};

/// A photo a week, the last on day 56.
Series lookedAt(const std::string& medium, bool strikes, double on_day, int last_photo)
{
    const int by = 7 * static_cast<int>(std::ceil(on_day / 7));
    return strikes && by <= last_photo ? struckBetween(medium, by - 7, by) : notYet(medium, last_photo);
}

std::vector<Series> batchOf(const Batch& batch, std::mt19937_64& random)
{
    std::vector<Series> all;
    std::uniform_real_distribution<double> chance(0, 1);
    for (const bool b : {false, true}) {
        const double strikes = b ? batch.strikes_b : batch.strikes_a;
        std::exponential_distribution<double> days(1 / ((b ? batch.days_b : batch.days_a) - 7));
        for (int tub = 0; tub < batch.tubs_each; ++tub) {
            const double of_tub = chance(random);
            for (int i = 0; i < batch.cuttings_per_tub; ++i) {
                const double own = chance(random);
                Series one = lookedAt(b ? "b" : "a", (batch.tub_decides ? of_tub : own) < strikes,
                                      7 + days(random), 56 - (b ? batch.b_stuck_later : 0));
                if (!batch.tubs_unknown) one.cutting.tub = one.cutting.medium + std::to_string(tub);
                one.part = "left";
                all.push_back(one);
            }
        }
    }
    return all;
}

struct Rare {
    int rates = 0, days = 0;
};

Rare rareIn(const Batch& batch, const char* name, int batches = kBatches)
{
    std::mt19937_64 random(4);  // NOLINT(cert-msc51-cpp): the same batches on every run
    Rare rare;
    for (int i = 0; i < batches; ++i) {
        const Comparison all = test::byMedium(batchOf(batch, random));
        rare.rates += static_cast<int>(all.rates->chance.p <= kRare);
        rare.days += static_cast<int>(all.days->chance.p <= kRare);
    }
    testing::Test::RecordProperty(std::string(name) + "_rates_of_" + std::to_string(batches), rare.rates);
    testing::Test::RecordProperty(std::string(name) + "_days_of_" + std::to_string(batches), rare.days);
    return rare;
}

TEST(CompareChance, IsNotRareTooOftenWithoutADifference)
{
    const Rare rare = rareIn({}, "single");
    EXPECT_LE(rare.rates, kAtMost);
    EXPECT_LE(rare.days, kAtMost);
    EXPECT_GT(rare.days, 10);  // and yet not never
}

TEST(CompareChance, IsNotRareTooOftenWhereTheTubDecides)
{
    const Rare rare = rareIn({.cuttings_per_tub = 3, .tub_decides = true}, "shared");
    EXPECT_LE(rare.rates, kAtMost);
    EXPECT_LE(rare.days, kAtMost);
    // Counted one by one they would be: it is the tubs that keep it honest. Fewer batches, since lots are
    // drawn.
    const Rare one_by_one = rareIn({.cuttings_per_tub = 3, .tub_decides = true, .tubs_unknown = true},
                                   "one_by_one", kBatches / 5);
    EXPECT_GT(one_by_one.rates, 2 * kAtMost / 5);
}

// Rates must differ, since b had less time; days must not.
TEST(CompareChance, IsNotRareTooOftenInDaysWhenOneGroupIsYounger)
{
    const Rare rare = rareIn({.strikes_a = 0.9, .strikes_b = 0.9, .b_stuck_later = 35}, "younger");
    EXPECT_LE(rare.days, kAtMost);
    EXPECT_GT(rare.rates, kAtMost);
}

TEST(CompareChance, FindsADifferenceThatIsThere)
{
    EXPECT_GT(rareIn({.strikes_a = 0.95, .strikes_b = 0.2}, "rates_differ").rates, 500);
    EXPECT_GT(rareIn({.strikes_a = 1, .strikes_b = 1, .days_a = 12, .days_b = 35}, "days_differ").days, 500);
}

}  // namespace
}  // namespace slipglass
