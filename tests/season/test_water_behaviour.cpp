#include <gtest/gtest.h>

#include <cmath>

#include "../support/season_maker.h"
#include "slipglass/season/water_behaviour.h"

namespace slipglass {
namespace {

using test::cared;
using test::day;
using test::planned;
using test::seenOn;
using test::watered;

/// A level with an interval of 1 mm to either side.
Observation level(int on, double mm, const std::string& tub = "T01")
{
    Observation seen = watered(on, mm, tub);
    seen.water_low_mm = std::max(0.0, mm - 1);
    seen.water_high_mm = mm + 1;
    return seen;
}

std::vector<WaterBehaviour> tubsOf(const std::vector<Observation>& seen,
                                   const std::vector<CareEvent>& care = {},
                                   const std::string& medium = "peat")
{
    Plan plan;
    plan.cuttings = {planned("Q1", "T01")};
    plan.cuttings[0].medium = medium;
    CareLog log;
    log.events = care;
    return waterBehaviour(buildSeries(seen, plan, {}, log));
}

WaterBehaviour tubOf(const std::vector<Observation>& seen, const std::vector<CareEvent>& care = {})
{
    return tubsOf(seen, care).at(0);
}

TEST(LevelFall, IsGivenPerDayWithTheMostThatTheIntervalsAllow)
{
    const auto fall = levelFall(level(0, 12), level(7, 5), {});
    ASSERT_TRUE(fall);
    EXPECT_EQ(fall->mm_per_day, 1);
    // Two errors of 1 mm, independent: sqrt(2) mm in seven days. Tolerance: rounding.
    EXPECT_NEAR(fall->most_mm_per_day.value_or(0), (7 + std::sqrt(2.0)) / 7, 1e-12);
    EXPECT_FALSE(fall->at_least);
    EXPECT_FALSE(levelFall(watered(0, 12), watered(7, 5), {})->most_mm_per_day);
}

TEST(LevelFall, IsALowerBoundWhereNoWaterWasLeft)
{
    Observation dry = level(7, 0);
    dry.water_high_mm = 2.9;  // as much may hide below the foot of the wall
    const auto fall = levelFall(level(0, 9.9), dry, {});
    ASSERT_TRUE(fall);
    EXPECT_TRUE(fall->at_least);
    EXPECT_NEAR(fall->mm_per_day, 1, 1e-12);
    EXPECT_FALSE(fall->most_mm_per_day);
    EXPECT_FALSE(levelFall(level(0, 2.5), dry, {})) << "it may not have fallen at all";
}

TEST(LevelFall, IsNotKnownAcrossWhatTheGrowerDid)
{
    const Observation first = level(0, 12), second = level(7, 5);
    for (const Care what : {Care::watered, Care::tipped_out})
        for (const int on : {0, 3, 7}) EXPECT_FALSE(levelFall(first, second, {cared(on, what)})) << on;
    EXPECT_TRUE(levelFall(first, second, {cared(3, Care::moved), cared(8, Care::watered)}));
}

TEST(LevelFall, IsNotKnownWithoutWaterWithoutALevelOnOneDayOrWhereItRose)
{
    EXPECT_FALSE(levelFall(level(0, 1), level(7, 0), {}));
    EXPECT_FALSE(levelFall(seenOn(0), level(7, 5), {}));
    EXPECT_FALSE(levelFall(level(0, 5), seenOn(7), {}));
    EXPECT_FALSE(levelFall(level(7, 12), level(7, 5), {}));
    EXPECT_FALSE(levelFall(level(0, 5), level(7, 6.5), {})) << "only watering makes a level rise";
    EXPECT_TRUE(levelFall(level(0, 5), level(7, 6.3), {})) << "within what two levels err";
}

TEST(WaterBehaviour, GivesTheMedianFall)
{
    const WaterBehaviour tub =
        tubOf({level(0, 20), level(7, 13), level(14, 9.5), level(21, 12), level(28, 5)});
    ASSERT_EQ(tub.falls.size(), 3U);
    EXPECT_EQ(tub.fall_mm_per_day, 1);
    EXPECT_EQ(tub.photos, 5);
    EXPECT_EQ(tub.photos_standing, 5);
    EXPECT_EQ(english(tub.says.back()), "where water stood in T01, its level fell by 1.0 mm a day");
}

TEST(WaterBehaviour, SaysWhichTubNeverDries)
{
    const WaterBehaviour wet = tubOf({level(0, 5), level(7, 5), level(14, 5)});
    EXPECT_TRUE(wet.never_dry);
    EXPECT_EQ(english(wet.says.at(0)), "T01 never dried: water stood on each of its 3 photos");
    EXPECT_FALSE(tubOf({level(0, 5), level(7, 0), level(14, 5)}).never_dry);
    EXPECT_FALSE(tubOf({level(0, 5), level(7, 5)}).never_dry) << "two photos are too few to say so";
}

TEST(WaterBehaviour, SaysWhatWasWateredWhileWaterStood)
{
    const std::vector<Observation> seen{level(0, 5), level(7, 0), level(14, 5)};
    const WaterBehaviour tub = tubOf(seen, {cared(2, Care::watered), cared(10, Care::watered)});
    EXPECT_EQ(tub.waterings, 2);
    EXPECT_EQ(tub.watered_onto_water, 1);
    EXPECT_TRUE(tub.watered_too_often);
    EXPECT_EQ(english(tub.says.at(0)), "T01 was watered 1 time while water still stood in it");
    const WaterBehaviour tipped = tubOf(seen, {cared(1, Care::tipped_out), cared(2, Care::watered)});
    EXPECT_EQ(tipped.watered_onto_water, 0);
    EXPECT_EQ(tipped.tipped_out, 1);
    EXPECT_FALSE(tipped.watered_too_often);
}

TEST(WaterBehaviour, SaysWhenWaterStandsOnMostPhotosAfterWatering)
{
    const WaterBehaviour often = tubOf({level(0, 0), level(7, 5), level(14, 0), level(21, 5)},
                                       {cared(5, Care::watered), cared(19, Care::watered)});
    EXPECT_EQ(often.after_watering, 2);
    EXPECT_EQ(often.standing_after_watering, 2);
    EXPECT_TRUE(often.watered_too_often);
    EXPECT_EQ(english(often.says.at(0)),
              "after watering, water stood in T01 on 2 of 2 photos: less, or less often, will do");
    EXPECT_FALSE(tubOf({level(0, 0), level(7, 5)}, {cared(5, Care::watered)}).watered_too_often)
        << "once is no habit";
    EXPECT_EQ(tubOf({level(0, 0), level(20, 5)}, {cared(5, Care::watered)}).after_watering, 0)
        << "two weeks later a photo tells nothing of that watering";
}

TEST(WaterBehaviour, IsEmptyWithoutPhotos)
{
    const WaterBehaviour tub = tubOf({});
    EXPECT_EQ(tub.photos, 0);
    EXPECT_FALSE(tub.fall_mm_per_day);
    EXPECT_FALSE(tub.never_dry);
    EXPECT_TRUE(tub.says.empty());
    EXPECT_TRUE(waterBehaviour({}).empty());
}

TEST(WaterBehaviour, SeesATubOfSeveralCuttingsOnceAndToItsLastPhoto)
{
    Plan plan;
    plan.cuttings = {planned("Q1", "T01"), planned("Q2", "T01")};
    plan.cuttings[0].potted_up_on = day(3);
    plan.cuttings[0].medium = "Peat";
    plan.cuttings[1].medium = "Peat";
    const auto tubs = waterBehaviour(buildSeries({level(0, 12), level(7, 5)}, plan, {}));
    ASSERT_EQ(tubs.size(), 1U);
    EXPECT_EQ(tubs[0].photos, 2);
    EXPECT_EQ(tubs[0].medium, "Peat");
}

TEST(MediumWater, SumsUpTheTubsOfOneMedium)
{
    Plan plan;
    plan.cuttings = {planned("Q1", "T01"), planned("Q2", "T02"), planned("Q3", "T03"), planned("Q4", "T04")};
    plan.cuttings[0].medium = "Peat";
    plan.cuttings[1].medium = "peat";
    plan.cuttings[2].medium = "bark";
    const auto media =
        waterByMedium(waterBehaviour(buildSeries({level(0, 12), level(7, 5), level(0, 26, "T02"),
                                                  level(7, 5, "T02"), level(0, 0, "T03"), level(0, 9, "T04")},
                                                 plan, {})));
    ASSERT_EQ(media.size(), 2U);
    EXPECT_EQ(media[0].medium, "bark");
    EXPECT_FALSE(media[0].fall_mm_per_day);
    EXPECT_EQ(media[0].says, "in bark water stood on 0 of 1 photo");
    EXPECT_EQ(media[1].tubs, 2);
    EXPECT_EQ(media[1].fall_mm_per_day, 2);
    EXPECT_EQ(media[1].says,
              "in Peat water stood on 4 of 4 photos, and its level fell by 2.0 mm a day (median of 2 spans)");
}

}  // namespace
}  // namespace slipglass
