#include "slipglass/season/wetness.h"

#include <gtest/gtest.h>

#include <cmath>

#include "../support/season_maker.h"

namespace slipglass {
namespace {

using test::seenOn;

// The header's words in figures: the scale reaches over a factor of the cube root of two in lightness at
// least (half of the light), in the logarithm.
const double kRange = std::log(2.0) / 3;

Observation lit(int n, double lightness, const std::string& tub = "T01")
{
    Observation seen = seenOn(n, tub);
    seen.wall_lightness = lightness;
    return seen;
}

std::vector<std::optional<double>> wetnessOf(std::vector<Observation> seen)
{
    setWetness(seen);
    std::vector<std::optional<double>> wetness;
    for (const Observation& one : seen) wetness.push_back(one.wetness);
    return wetness;
}

TEST(Wetness, IsAHalfOnTheFirstPhotoOfATubThatHasHardlyChanged)
{
    const auto wet = wetnessOf({lit(0, 40), lit(7, 41), lit(14, 39.5)});
    EXPECT_NEAR(wet[0].value_or(-1), 0.5, 1e-12);
    EXPECT_NEAR(wet[1].value_or(-1), 0.5 - std::log(41.0 / 40) / kRange, 1e-12);
    EXPECT_NEAR(wet[2].value_or(-1), 0.5 + std::log(40 / 39.5) / kRange, 1e-12);
}

TEST(Wetness, ReachesFromTheDriestToTheWettestPhotoOfATubThatHasBeenBoth)
{
    const auto wet = wetnessOf({lit(0, 40), lit(7, 50), lit(14, 30), lit(21, 45)});
    EXPECT_NEAR(wet[1].value_or(-1), 0, 1e-12);
    EXPECT_NEAR(wet[2].value_or(-1), 1, 1e-12);
    EXPECT_NEAR(wet[0].value_or(-1), std::log(50.0 / 40) / std::log(50.0 / 30), 1e-12);
    EXPECT_NEAR(wet[3].value_or(-1), std::log(50.0 / 45) / std::log(50.0 / 30), 1e-12);
}

// Lighter than at first by three quarters of the least range: that photo is the dry end, and the first lies
// three quarters of the scale above it. The same the other way.
TEST(Wetness, MovesItsScaleSoThatNoPhotoOfTheTubLiesOutside)
{
    const auto drier = wetnessOf({lit(0, 40), lit(7, 40 * std::exp(0.75 * kRange))});
    EXPECT_NEAR(drier[0].value_or(-1), 0.75, 1e-12);
    EXPECT_NEAR(drier[1].value_or(-1), 0, 1e-12);
    const auto wetter = wetnessOf({lit(0, 40), lit(7, 40 * std::exp(-0.75 * kRange))});
    EXPECT_NEAR(wetter[0].value_or(-1), 0.25, 1e-12);
    EXPECT_NEAR(wetter[1].value_or(-1), 1, 1e-12);
}

TEST(Wetness, PutsTheLighterOfTwoPhotosAlwaysOnTheDrierSide)
{
    const std::vector<double> lightness{40, 55, 20, 39.9, 54.9, 21, 47};
    std::vector<Observation> seen;
    for (size_t i = 0; i < lightness.size(); ++i) {
        seen.push_back(lit(static_cast<int>(i), lightness[i]));
        if (seen.size() < 2) continue;
        const auto wet = wetnessOf(seen);
        for (size_t a = 0; a < wet.size(); ++a)
            for (size_t b = 0; b < wet.size(); ++b) {
                if (lightness[a] < lightness[b]) {
                    EXPECT_GT(wet[a].value(), wet[b].value()) << lightness[a];
                }
            }
    }
}

TEST(Wetness, IsNotKnownOnATubsOnlyPhotoOrWhereTheMediumWasNotSeen)
{
    EXPECT_FALSE(wetnessOf({lit(0, 40)})[0]) << "nothing to compare with";
    Observation retake = lit(7, 40), dark = lit(14, 0);
    retake.state = State::retake;
    const auto wet = wetnessOf({lit(0, 40), retake, seenOn(10), dark, lit(21, 41)});
    EXPECT_TRUE(wet[0]);
    EXPECT_FALSE(wet[1]) << "a photo to take again";
    EXPECT_FALSE(wet[2]) << "lightness not known";
    EXPECT_FALSE(wet[3]) << "black";
    EXPECT_TRUE(wet[4]);
}

// Fog makes a wall lighter, as drying does, and means the opposite.
TEST(Wetness, IsNotKnownWhereFogHidesTheMediumAndDoesNotMoveTheScale)
{
    Observation fogged = lit(7, 60), hazy = lit(14, 41);
    fogged.condensation_percent = 21;
    hazy.condensation_percent = 20;
    const auto wet = wetnessOf({lit(0, 40), fogged, hazy});
    EXPECT_FALSE(wet[1]);
    EXPECT_NEAR(wet[0].value_or(-1), 0.5, 1e-12);
    EXPECT_TRUE(wet[2]);
}

TEST(Wetness, DependsNeitherOnTheOrderOfPhotosNorOnOtherTubsNorOnWhatWasThereBefore)
{
    const auto wanted = wetnessOf({lit(0, 40), lit(7, 44)});
    Observation later = lit(7, 44), first = lit(0, 40), unknown = seenOn(9);
    later.wetness = 0.9;
    unknown.wetness = 0.9;
    const auto wet = wetnessOf({later, lit(0, 20, "T02"), first, unknown, lit(7, 60, "T02")});
    EXPECT_EQ(wet[0], wanted[1]);
    EXPECT_EQ(wet[2], wanted[0]);
    EXPECT_FALSE(wet[3]);
}

}  // namespace
}  // namespace slipglass
