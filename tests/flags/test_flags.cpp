#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "../support/season_maker.h"
#include "slipglass/flags/flags.h"
#include "slipglass/season/wetness.h"

namespace slipglass {
namespace {

using test::covered;
using test::day;
using test::planned;
using test::seenOn;
using test::unmeasured;
using test::watered;

std::vector<Flag> flagsOf(const std::vector<Observation>& seen, bool with_plan = true)
{
    Plan plan;
    plan.cuttings = {planned("T01", "T01")};
    return findFlags(buildSeries(seen, with_plan ? std::optional<Plan>(plan) : std::nullopt, {}), {});
}

std::optional<Flag> flagOf(const std::string& name, const std::vector<Observation>& seen,
                           bool with_plan = true)
{
    const auto flags = flagsOf(seen, with_plan);
    const auto flag = std::find_if(flags.begin(), flags.end(), [&](const Flag& f) { return f.name == name; });
    return flag == flags.end() ? std::nullopt : std::optional<Flag>(*flag);
}

/// As setWetness() gives it for a tub whose first photo is at 0.5, and without standing water.
Observation damp(int n, double wetness)
{
    Observation seen = watered(n, 0);
    seen.wetness = wetness;
    seen.wall_lightness = 40 * std::exp((0.5 - wetness) * std::log(2.0) / 3);
    return seen;
}

TEST(StandingWater, IsRaisedOnThePhotoThatShowsIt)
{
    const auto flag = flagOf("standing-water", {watered(0, 0), watered(7, 6)});
    ASSERT_TRUE(flag);
    EXPECT_TRUE(flag->holds);
    EXPECT_FALSE(flag->cleared);
    EXPECT_EQ(flag->date, day(7));
    EXPECT_EQ(flag->severity, Severity::act_today);
    EXPECT_EQ(flag->photos, std::vector<std::string>{"T01/T01_2026-01-19.jpg"});
    EXPECT_EQ(english(flag->evidence), "6 mm of water at the base on 2026-01-19");
    EXPECT_FALSE(flag->advice.empty());
}

TEST(StandingWater, IsNotRaisedBelowTheThresholdOrWhenNothingIsKnown)
{
    EXPECT_FALSE(flagOf("standing-water", {watered(0, 1.9), watered(7, 0)}));
    EXPECT_FALSE(flagOf("standing-water", {seenOn(0), seenOn(7)}));
}

TEST(StandingWater, ClearsOnThePhotoWithoutWater)
{
    const auto flag = flagOf("standing-water", {watered(0, 5), watered(7, 0), watered(14, 0)});
    ASSERT_TRUE(flag);
    EXPECT_FALSE(flag->holds);
    EXPECT_EQ(flag->cleared, day(7));
    EXPECT_EQ(flag->date, day(0));
}

TEST(StandingWater, IsDatedByItsLatestRun)
{
    const auto flag =
        flagOf("standing-water", {watered(0, 5), watered(7, 0), watered(14, 3), watered(21, 4)});
    ASSERT_TRUE(flag);
    EXPECT_TRUE(flag->holds);
    EXPECT_EQ(flag->date, day(14));
    EXPECT_EQ(flag->photos.size(), 2U);
}

TEST(StandingWater, StillHoldsWhenTheLatestPhotoCannotTell)
{
    const auto flag = flagOf("standing-water", {watered(0, 5), unmeasured(7, "blurred")});
    ASSERT_TRUE(flag);
    EXPECT_TRUE(flag->holds);
    EXPECT_EQ(english(flag->evidence),
              "5 mm of water at the base on 2026-01-12; not visible since then (latest photo 2026-01-19)");
}

TEST(StandingWater, IsNotBelievedFromAPhotoToRetake)
{
    auto bad = watered(7, 9);
    bad.state = State::retake;
    EXPECT_FALSE(flagOf("standing-water", {watered(0, 0), bad}));
}

TEST(StandingWater, IsToldInPercentWhereThereIsNoScale)
{
    auto seen = seenOn(0);
    seen.standing_water = true;
    seen.water_level_percent = 12.3;
    EXPECT_EQ(english(flagOf("standing-water", {seen})->evidence),
              "water in the lowest 12 % of the medium at the base on 2026-01-12");
}

TEST(Waterlogged, IsRaisedOnTheSecondPhotoRunning)
{
    const auto flag = flagOf("waterlogged", {watered(0, 0), watered(3, 5), watered(6, 5), watered(9, 5)});
    ASSERT_TRUE(flag);
    EXPECT_TRUE(flag->holds);
    EXPECT_EQ(flag->date, day(6));
    EXPECT_EQ(flag->photos.size(), 3U);
}

TEST(Waterlogged, IsNotRaisedByOnePhotoOrTwoOfOneDay)
{
    auto again = watered(7, 5);
    again.photo += "2";
    EXPECT_FALSE(flagOf("waterlogged", {watered(0, 0), watered(7, 5), again}));
    EXPECT_FALSE(flagOf("waterlogged", {watered(0, 5), watered(7, 0), watered(14, 5)}));
}

TEST(Waterlogged, IsRaisedAfterSevenDaysWhereMorePhotosAreAskedFor)
{
    FlagSettings settings;
    settings.waterlogged_photos = 5;
    const auto names = [&](const std::vector<Observation>& seen) {
        std::vector<std::string> found;
        for (const auto& flag : findFlags(buildSeries(seen, std::nullopt, {}), settings))
            found.push_back(flag.name);
        return found;
    };
    EXPECT_EQ(names({watered(0, 5), watered(6, 5)}), std::vector<std::string>{"standing-water"});
    EXPECT_EQ(names({watered(0, 5), watered(7, 5)}),
              (std::vector<std::string>{"waterlogged", "standing-water"}));
}

TEST(Waterlogged, ClearsWhenTheWaterIsGone)
{
    const auto flag = flagOf("waterlogged", {watered(0, 5), watered(7, 5), watered(14, 0)});
    ASSERT_TRUE(flag);
    EXPECT_EQ(flag->cleared, day(14));
}

TEST(NoRootsYet, IsANoteAfter28DaysAndUrgentFrom42)
{
    EXPECT_FALSE(flagOf("no-roots-yet", {covered(0, 0), covered(28, 0.2)}));
    const auto early = flagOf("no-roots-yet", {covered(0, 0), covered(29, 0.2)});
    ASSERT_TRUE(early);
    EXPECT_EQ(early->severity, Severity::note);
    EXPECT_EQ(english(early->evidence), "no roots seen on 2026-02-10, 29 days after it was stuck");
    EXPECT_EQ(flagOf("no-roots-yet", {covered(0, 0), covered(41, 0.2)})->severity, Severity::note);
    const auto late = flagOf("no-roots-yet", {covered(29, 0), covered(42, 0.2)});
    EXPECT_EQ(late->severity, Severity::look_soon);
    EXPECT_EQ(late->date, day(29));
}

TEST(NoRootsYet, ClearsWithTheFirstRootsAndDoesNotComeBack)
{
    const auto flag = flagOf("no-roots-yet", {covered(30, 0), covered(37, 1), covered(44, 0.1)});
    ASSERT_TRUE(flag);
    EXPECT_FALSE(flag->holds);
    EXPECT_EQ(flag->cleared, day(37));
    EXPECT_FALSE(flagOf("no-roots-yet", {covered(20, 1), covered(50, 0)}));
}

TEST(NoRootsYet, IsNotRaisedByPhotosThatCannotTell)
{
    EXPECT_FALSE(flagOf("no-roots-yet", {covered(0, 0), unmeasured(50, "blurred"), seenOn(51)}));
}

TEST(NoRootsYet, CountsFromTheFirstPhotoWhereTheDateIsNotKnown)
{
    const auto flag = flagOf("no-roots-yet", {covered(3, 0), covered(33, 0)}, false);
    ASSERT_TRUE(flag);
    EXPECT_EQ(english(flag->evidence), "no roots seen on 2026-02-14, at least 30 days old (first photo)");
}

TEST(Drying, IsRaisedByLowWetness)
{
    const auto flag = flagOf("drying", {damp(0, 0.5), damp(7, 0.31), damp(14, 0.08), damp(21, 0.05)});
    ASSERT_TRUE(flag);
    EXPECT_TRUE(flag->holds);
    EXPECT_EQ(flag->severity, Severity::look_soon);
    EXPECT_EQ(flag->date, day(14));
    EXPECT_EQ(english(flag->evidence),
              "the medium at the wall has lightened to a wetness of 0.05 (0 dry, 1 wet) on 2026-02-02");
}

TEST(Drying, IsNotRaisedByASmallChangeOrWhereWetnessIsNotKnown)
{
    EXPECT_FALSE(flagOf("drying", {damp(0, 0.5), damp(7, 0.31)}));
    EXPECT_FALSE(flagOf("drying", {damp(0, 0.5), damp(7, 0.2)})) << "7 % lighter: photos differ by that";
    auto light = seenOn(7);
    light.wall_lightness = 95;
    EXPECT_FALSE(flagOf("drying", {light}));
}

TEST(Drying, NeverAsksForWaterWhileWaterStands)
{
    auto seen = watered(7, 5);
    seen.wetness = 0;
    seen.wall_lightness = 60;
    EXPECT_FALSE(flagOf("drying", {damp(0, 0.5), seen}));
    Observation open = damp(7, 0);
    open.standing_water.reset();
    open.water_level_mm.reset();
    EXPECT_FALSE(flagOf("drying", {damp(0, 0.5), open})) << "water may stand";
    EXPECT_TRUE(flagOf("drying", {damp(0, 0.5), damp(7, 0)}));
}

// One dark photo stretches the scale, so that all others come to lie at its dry end.
TEST(Drying, IsNotRaisedBecauseAnotherPhotoWasDark)
{
    std::vector<Observation> seen = {watered(0, 0), watered(7, 0), watered(14, 0)};
    const double lightness[] = {40, 27, 40.5};
    for (size_t i = 0; i < seen.size(); ++i) seen[i].wall_lightness = lightness[i];
    setWetness(seen);
    EXPECT_LT(seen[2].wetness.value(), 0.1);
    EXPECT_FALSE(flagOf("drying", seen));
}

TEST(Drying, ClearsWhenTheMediumIsDarkAgainAndNotOnAPhotoThatCannotTell)
{
    const auto flag = flagOf("drying", {damp(0, 0.5), damp(7, 0.05), seenOn(14), damp(21, 0.45)});
    ASSERT_TRUE(flag);
    EXPECT_EQ(flag->cleared, day(21));
    EXPECT_TRUE(flagOf("drying", {damp(0, 0.5), damp(7, 0.05), seenOn(14)})->holds);
}

Observation rooted(int n, double coverage, double browned, bool standing = false)
{
    Observation seen = covered(n, coverage);
    seen.coverage_low = 0.8 * coverage;
    seen.coverage_high = 1.2 * coverage;
    seen.browned_percent = browned;
    seen.standing_water = standing;
    return seen;
}

TEST(Browning, IsRaisedByABrownedShareThatRisesInStandingWater)
{
    const auto flag = flagOf("browning", {rooted(0, 3, 5), rooted(7, 4, 30, true)});
    ASSERT_TRUE(flag);
    EXPECT_TRUE(flag->holds);
    EXPECT_EQ(flag->severity, Severity::look_soon);
    EXPECT_EQ(english(flag->evidence), "30 % of the root area browned, in standing water, on 2026-01-19");
    EXPECT_EQ(flag->photos, std::vector<std::string>{"T01/T01_2026-01-19.jpg"});
    EXPECT_NE(english(flag->advice).find("ripening roots darken too"), std::string::npos);
    EXPECT_NE(english(flag->advice).find("look before acting"), std::string::npos);
}

TEST(Browning, IsNotRaisedByBrownRootsAlone)
{
    EXPECT_FALSE(flagOf("browning", {rooted(0, 3, 5), rooted(7, 16, 80)})) << "no water, white root kept";
    EXPECT_FALSE(flagOf("browning", {rooted(0, 3, 5, true), rooted(7, 4, 19, true)}))
        << "below the threshold";
    EXPECT_FALSE(flagOf("browning", {rooted(0, 3, 40, true)})) << "nothing to have risen from";
    EXPECT_FALSE(flagOf("browning", {rooted(0, 0, 5), rooted(7, 0, 100, true)})) << "no root";
    auto unseen = rooted(7, 4, 60);
    unseen.standing_water.reset();
    EXPECT_FALSE(flagOf("browning", {rooted(0, 3, 5), unseen})) << "water not known";
}

// White root: 5 of the wall (4 at least), then 2 (2.4 at most), under four fifths of 4.
TEST(Browning, IsRaisedByWhiteRootThatShrinksByMoreThanTheIntervalsAllow)
{
    const auto flag = flagOf("browning", {rooted(0, 5, 0), rooted(7, 2, 0)});
    ASSERT_TRUE(flag);
    EXPECT_EQ(english(flag->evidence),
              "white root down from 5.0 % of the wall on 2026-01-12 to 2.0 % on 2026-01-19");
    EXPECT_EQ(flag->photos.size(), 2U);
    EXPECT_FALSE(flagOf("browning", {rooted(0, 5, 0), rooted(7, 2.8, 0)})) << "3.36 at most, of 4 at least";
    EXPECT_TRUE(flagOf("browning", {rooted(0, 5, 0), rooted(7, 5, 70)})) << "70 % of it browned";
    auto wide = rooted(7, 2, 0);
    wide.coverage_high.reset();
    EXPECT_FALSE(flagOf("browning", {rooted(0, 5, 0), wide})) << "no interval, no claim";
}

TEST(Browning, ClearsWhenTheWaterIsGoneAndRootsAreWhite)
{
    const auto flag = flagOf("browning", {rooted(0, 3, 5), rooted(7, 4, 30, true), rooted(14, 5, 10)});
    ASSERT_TRUE(flag);
    EXPECT_EQ(flag->cleared, day(14));
}

Observation greened(int n, double percent)
{
    Observation seen = seenOn(n);
    seen.green_percent = percent;
    return seen;
}

TEST(GreenWall, IsRaisedWhenGreenRisesAndNotWhereItWasThereFromTheStart)
{
    const auto flag = flagOf("green-wall", {greened(0, 0.5), greened(7, 4)});
    ASSERT_TRUE(flag);
    EXPECT_EQ(flag->severity, Severity::note);
    EXPECT_EQ(english(flag->evidence), "green on 4 % of the wall on 2026-01-19, 0 % on 2026-01-12");
    EXPECT_EQ(flag->photos.size(), 2U);
    EXPECT_NE(english(flag->advice).find("Shade"), std::string::npos);
    EXPECT_FALSE(flagOf("green-wall", {greened(0, 0.5), greened(7, 3.4)}));
    EXPECT_FALSE(flagOf("green-wall", {greened(0, 20), greened(7, 20)}));
    EXPECT_FALSE(flagOf("green-wall", {greened(0, 20)}));
    EXPECT_EQ(flagOf("green-wall", {greened(0, 0.5), greened(7, 4), greened(14, 1)})->cleared, day(14));
}

TEST(Retake, IsRaisedByAPhotoThatCouldNotBeMeasuredAndSaysWhy)
{
    const auto flag = flagOf("retake", {covered(0, 0), unmeasured(7, "glare hides the wall")});
    ASSERT_TRUE(flag);
    EXPECT_EQ(flag->severity, Severity::note);
    EXPECT_EQ(english(flag->evidence), "the photo of 2026-01-19 could not be measured: glare hides the wall");
    EXPECT_EQ(flagOf("retake", {unmeasured(0, "dark"), unmeasured(7, "dark")})->severity,
              Severity::look_soon);
}

TEST(Retake, IsNotRaisedWhenAnotherPhotoOfTheDayIsGood)
{
    auto good = covered(7, 1);
    good.photo = "a.jpg";
    EXPECT_FALSE(flagOf("retake", {unmeasured(7, "blurred"), good}));
    auto careful = seenOn(0);
    careful.state = State::caution;
    EXPECT_FALSE(flagOf("retake", {careful}));
}

TEST(Retake, ClearsWithTheNextGoodPhoto)
{
    const auto flag = flagOf("retake", {unmeasured(0, "blurred"), covered(1, 0)});
    ASSERT_TRUE(flag);
    EXPECT_EQ(flag->cleared, day(1));
}

TEST(Flags, ComeMostUrgentFirstAndClearedLast)
{
    Plan plan;
    plan.cuttings = {planned("T1", "T1"), planned("T2", "T2"), planned("T3", "T3"), planned("T4", "T4")};
    const auto flags =
        findFlags(buildSeries({unmeasured(0, "dark", "T1"), watered(0, 5, "T2"), watered(7, 0, "T2"),
                               watered(0, 4, "T3"), watered(0, 5, "T4"), watered(7, 5, "T4")},
                              plan, {}),
                  {});
    std::vector<std::string> order;
    for (const auto& flag : flags) order.push_back(flag.tub + " " + flag.name);
    // Of one kind the deeper water first.
    EXPECT_EQ(order, (std::vector<std::string>{"T4 waterlogged", "T4 standing-water", "T3 standing-water",
                                               "T1 retake", "T2 standing-water"}));
    EXPECT_FALSE(flags.back().holds);
    EXPECT_EQ(flags[1].waits_for, "waterlogged") << "it says no more";
    EXPECT_EQ(flags[2].waits_for, "");
}

TEST(Flags, AreToldForEachCuttingOfATub)
{
    Plan plan;
    plan.cuttings = {planned("a", "T1"), planned("b", "T1")};
    const auto flags = findFlags(buildSeries({watered(0, 5, "T1")}, plan, {}), {});
    ASSERT_EQ(flags.size(), 2U);
    EXPECT_EQ(flags[0].cutting, "a");
    EXPECT_EQ(flags[1].cutting, "b");
}

}  // namespace
}  // namespace slipglass
