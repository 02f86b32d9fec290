#include <gtest/gtest.h>

#include <cmath>

#include "../../src/wall/one_place.h"

namespace slipglass {
namespace {

constexpr ComeAndGo kRates{0.08F, 0.02F};
/// Log-odds of a root on photo `at`, by adding up every course of events, one by one.
double byEnumeration(const std::vector<float>& said, size_t at)
{
    double with = 0, without = 0;
    for (unsigned course = 0; course < (1U << said.size()); ++course) {
        double chance = 1;
        bool before = false;
        for (size_t i = 0; i < said.size(); ++i) {
            const bool root = (course >> i) & 1U;
            double appears = kAtFirst;
            if (i) appears = before ? 1 - kRates.vanishes : kRates.appears;
            chance *= root ? appears * std::exp(said[i]) : 1 - appears;
            before = root;
        }
        ((course >> at) & 1U ? with : without) += chance;
    }
    return std::log(with / without);
}

/// What the others add to each photo at one place.
std::vector<float> addedTo(const std::vector<float>& said)
{
    std::vector<float> weights, given;
    for (const float log_odds : said) weights.push_back(std::exp(log_odds));
    float before = kAtFirst;
    for (size_t i = 0; i < said.size(); ++i) {
        std::vector<const float*> later;
        for (size_t j = i + 1; j < said.size(); ++j) later.push_back(&weights[j]);
        fromOthers(&before, later, 1, usualLogOdds(kRates, i == 0), kRates, &given.emplace_back());
        stepOn(&before, &weights[i], 1, kRates);
    }
    return given;
}

/// Log-odds on a photo, with its own say.
float inAll(const std::vector<float>& said, size_t at)
{
    return addedTo(said)[at] + usualLogOdds(kRates, at == 0) + said[at];
}

class Courses : public testing::TestWithParam<std::vector<float>> {};

// Truth: the sum over all courses of events, which is what the forward-backward algorithm computes.
// Tolerance: single precision over a handful of photos.
TEST_P(Courses, AreAddedUpAsOneByOne)
{
    for (size_t i = 0; i < GetParam().size(); ++i)
        EXPECT_NEAR(inAll(GetParam(), i), byEnumeration(GetParam(), i), 1e-3) << "photo " << i;
}
INSTANTIATE_TEST_SUITE_P(OnePlace, Courses,
                         testing::Values(std::vector<float>{0.7F}, std::vector<float>{-3, 3},
                                         std::vector<float>{-3, 0, 1.2F, 0.4F, 3},
                                         std::vector<float>{3, -3, -3, -0.3F}, std::vector<float>{0, 0, 0}));

TEST(OnePlace, LeavesALonePhotoAsItIs)
{
    EXPECT_NEAR(addedTo({1.5F})[0], 0, 1e-5);
}

TEST(OnePlace, BelievesARootThatWasThereBeforeAndAfter)
{
    EXPECT_GT(inAll({-3, 3, 0, 3}, 2), 1.5);
}

TEST(OnePlace, DoubtsARootOfOnePhotoAlone)
{
    EXPECT_LT(inAll({-3, -3, 2, -3, -3}, 2), 0);
    EXPECT_LT(addedTo({-3, -3, 2, -3, -3})[2], -1.5);
}

TEST(OnePlace, BelievesThatARootHasGoneWhenPhotosAgree)
{
    EXPECT_GT(inAll({-3, 3, 3, 3, -3, -3, -3}, 2), 0);
    EXPECT_LT(inAll({-3, 3, 3, 3, -3, -3, -3}, 6), 0);
}

TEST(OnePlace, IsTheSameForManyPlacesAtOnce)
{
    const std::vector<float> before{0.01F, 0.01F, 0.3F}, one{1, 1, 7}, other{20, 20, 0.1F};
    std::vector<float> all(3);
    fromOthers(before.data(), {one.data(), other.data()}, 3, 0.2F, kRates, all.data());
    for (size_t i = 0; i < 3; ++i) {
        float alone = 0;
        fromOthers(&before[i], {&one[i], &other[i]}, 1, 0.2F, kRates, &alone);
        EXPECT_EQ(all[i], alone);
    }
}

}  // namespace
}  // namespace slipglass
