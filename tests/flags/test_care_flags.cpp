#include <gtest/gtest.h>

#include <algorithm>

#include "../support/season_maker.h"
#include "slipglass/flags/flags.h"

namespace slipglass {
namespace {

using test::cared;
using test::covered;
using test::day;
using test::planned;
using test::seenOn;
using test::watered;

std::optional<Flag> flagNamed(const std::string& name, const std::string& cutting,
                              const std::vector<Series>& series)
{
    for (const Flag& flag : findFlags(series, {}))
        if (flag.name == name && flag.cutting == cutting) return flag;
    return std::nullopt;
}

/// A level with an interval of 0.9 mm to either side, as it is measured.
Observation level(int on, double mm)
{
    Observation seen = watered(on, mm);
    seen.water_low_mm = std::max(0.0, mm - 0.9);
    seen.water_high_mm = mm + 0.9;
    return seen;
}

std::optional<Flag> slow(const std::vector<Observation>& seen, const std::vector<CareEvent>& care = {})
{
    CareLog log;
    log.events = care;
    return flagNamed("slow-to-absorb", "T01", buildSeries(seen, std::nullopt, {}, log));
}

TEST(SlowToAbsorb, IsRaisedWhenTheLevelHardlyFalls)
{
    const auto flag = slow({level(0, 0), level(7, 5.5), level(21, 4.5)});
    ASSERT_TRUE(flag);
    EXPECT_TRUE(flag->holds);
    EXPECT_EQ(flag->date, day(21));
    EXPECT_EQ(flag->severity, Severity::look_soon);
    EXPECT_EQ(english(flag->evidence),
              "the water level fell by 0.1 mm a day, 0.2 at most, from 5.5 mm on 2026-01-19 to 4.5 mm on "
              "2026-02-02");
    EXPECT_EQ(flag->photos, (std::vector<std::string>{"T01/T01_2026-01-19.jpg", "T01/T01_2026-02-02.jpg"}));
    EXPECT_FALSE(flag->advice.empty());
}

TEST(SlowToAbsorb, IsRaisedOnlyWhereTheLevelsDoNotErrSoMuch)
{
    // Over 2 days two levels of +-0.9 mm leave room for 0.64 mm a day; over 4 days for 0.32.
    EXPECT_FALSE(slow({level(0, 5), level(2, 5)}));
    EXPECT_TRUE(slow({level(0, 5), level(4, 5)}));
    EXPECT_FALSE(slow({level(0, 5), level(4, 4)}));
    EXPECT_FALSE(slow({watered(0, 5), watered(7, 5)})) << "without intervals nobody knows";
}

TEST(SlowToAbsorb, IsNotRaisedWhereAWateringLiesBetween)
{
    EXPECT_FALSE(slow({level(0, 5), level(7, 5)}, {cared(3, Care::watered)}));
    EXPECT_FALSE(slow({level(0, 5), level(7, 5)}, {cared(3, Care::tipped_out)}));
    EXPECT_TRUE(slow({level(0, 5), level(7, 5)}, {cared(3, Care::moved)}));
    EXPECT_FALSE(slow({level(0, 5), level(7, 9)})) << "it rose, so somebody watered";
}

TEST(SlowToAbsorb, ClearsWhenTheLevelFallsOrTheWaterIsGone)
{
    const auto faster = slow({level(0, 20), level(7, 20), level(14, 10)});
    ASSERT_TRUE(faster);
    EXPECT_EQ(faster->cleared, day(14));
    const auto gone = slow({level(0, 5), level(7, 5), level(14, 0)});
    ASSERT_TRUE(gone);
    EXPECT_FALSE(gone->holds);
    EXPECT_EQ(gone->cleared, day(14));
    const auto unknown = slow({level(0, 5), level(7, 5), seenOn(14)});
    EXPECT_TRUE(unknown->holds);
    EXPECT_NE(english(unknown->evidence).find("not visible since then"), std::string::npos);
}

/// Two cuttings, whose roots are in one piece with so much on either side of the border.
Observation meeting(int on, std::optional<double> mm)
{
    Observation seen = covered(on, 5);
    PartFigures left, right;
    left.place = "left";
    left.coverage_percent = 4;
    left.meets_next_mm = mm;
    right.place = "right";
    right.coverage_percent = 6;
    seen.parts = {left, right};
    return seen;
}

std::vector<Series> twoCuttings(const std::vector<Observation>& seen,
                                const std::string& first_position = "left",
                                std::optional<int> first_potted_up = std::nullopt)
{
    Plan plan;
    plan.cuttings = {planned("Q1", "T01"), planned("Q2", "T01")};
    plan.cuttings[0].position = first_position;
    plan.cuttings[1].position = "right";
    if (first_potted_up) plan.cuttings[0].potted_up_on = day(*first_potted_up);
    return buildSeries(seen, plan, {});
}

TEST(Crowding, IsRaisedForBothCuttingsWhoseRootsAreAtOnePlace)
{
    const auto series = twoCuttings({meeting(0, 0), meeting(7, 9.9), meeting(14, 32)});
    const auto flag = flagNamed("crowding", "Q1", series);
    ASSERT_TRUE(flag);
    EXPECT_EQ(flag->date, day(14));
    EXPECT_EQ(flag->severity, Severity::look_soon);
    EXPECT_EQ(
        english(flag->evidence),
        "its roots and those of Q2 (right) are at one place, 32 mm or more on either side of the border "
        "between them, on 2026-01-26");
    ASSERT_TRUE(flagNamed("crowding", "Q2", series));
    EXPECT_NE(english(flagNamed("crowding", "Q2", series)->evidence).find("Q1 (left)"), std::string::npos);
}

TEST(Crowding, IsNotRaisedByATipOverTheBorderOrWhereNothingIsKnown)
{
    EXPECT_FALSE(flagNamed("crowding", "Q1", twoCuttings({meeting(0, 9.9)})));
    EXPECT_FALSE(flagNamed("crowding", "Q1", twoCuttings({meeting(0, std::nullopt)})));
    EXPECT_FALSE(flagNamed("crowding", "Q1", twoCuttings({covered(0, 30)})))
        << "the parts are known, but this photo does not tell them apart";
}

TEST(Crowding, ClearsWhenTheRootsOrTheNeighbourAreGone)
{
    EXPECT_EQ(flagNamed("crowding", "Q2", twoCuttings({meeting(0, 30), meeting(7, 5)}))->cleared, day(7));
    EXPECT_EQ(flagNamed("crowding", "Q2", twoCuttings({meeting(0, 30), meeting(7, 30)}, "left", 3))->cleared,
              day(7));
    EXPECT_TRUE(flagNamed("crowding", "Q2", twoCuttings({meeting(0, 30), seenOn(7)}))->holds);
}

TEST(Crowding, IsOnlyANoteWhereNobodyKnowsWhoseRootsAreWhose)
{
    auto full = covered(7, 12);
    full.coverage_low = 10;
    const auto flag = flagNamed("crowding", "Q1", twoCuttings({covered(0, 9), full}, "by the door"));
    ASSERT_TRUE(flag);
    EXPECT_EQ(flag->date, day(7));
    EXPECT_EQ(flag->severity, Severity::note);
    EXPECT_EQ(
        english(flag->evidence),
        "roots cover 12 % of the wall that 2 cuttings share, so they probably meet, on 2026-01-19; whose "
        "they are is not known: the position of Q1 is not left, middle or right");
    full.coverage_low = 9.9;
    EXPECT_FALSE(flagNamed("crowding", "Q1", twoCuttings({full}, "by the door")));
}

TEST(Crowding, IsNeverRaisedForACuttingAlone)
{
    EXPECT_FALSE(flagNamed("crowding", "T01", buildSeries({covered(0, 40)}, std::nullopt, {})));
}

TEST(Flags, ClearOnTheDayTheCuttingLeavesItsTub)
{
    CareLog log;
    log.events = {cared(20, Care::given_up)};
    const auto flag = flagNamed("standing-water", "T01", buildSeries({level(7, 5)}, std::nullopt, {}, log));
    ASSERT_TRUE(flag);
    EXPECT_FALSE(flag->holds);
    EXPECT_EQ(flag->cleared, day(20));
}

std::vector<Flag> flagsWith(const std::vector<Observation>& seen, const std::vector<CareEvent>& care)
{
    CareLog log;
    log.events = care;
    return findFlags(buildSeries(seen, std::nullopt, {}, log), {});
}

const Flag& named(const std::string& name, const std::vector<Flag>& flags)
{
    const auto flag =
        std::find_if(flags.begin(), flags.end(), [&](const Flag& one) { return one.name == name; });
    if (flag == flags.end()) throw std::out_of_range(name);
    return *flag;
}

TEST(Flags, AreDoneWhenTheCareLogSaysSoAfterThePhotosTheyRestOn)
{
    const std::vector<Observation> standing{level(0, 5), level(3, 5)};
    EXPECT_FALSE(named("standing-water", flagsWith(standing, {})).done_on);
    EXPECT_FALSE(named("standing-water", flagsWith(standing, {cared(2, Care::tipped_out)})).done_on)
        << "a later photo shows it again";
    EXPECT_FALSE(named("standing-water", flagsWith(standing, {cared(4, Care::watered)})).done_on)
        << "another thing was done";
    const Flag done = named("standing-water", flagsWith(standing, {cared(4, Care::tipped_out)}));
    EXPECT_EQ(done.done_on, day(4));
    EXPECT_TRUE(done.holds) << "no photo has shown otherwise";
}

TEST(Flags, ThatWaitForOneThatIsDoneWaitNoLonger)
{
    const std::vector<Observation> ready{covered(0, 1), covered(7, 30), covered(14, 35)};
    std::vector<Observation> standing = ready;
    for (Observation& seen : standing) {
        const Observation water = level(0, 5);
        seen.water_level_mm = water.water_level_mm;
        seen.water_low_mm = water.water_low_mm;
        seen.water_high_mm = water.water_high_mm;
        seen.standing_water = true;
    }
    const auto waiting = flagsWith(standing, {});
    ASSERT_FALSE(named("ready-to-pot", waiting).waits_for.empty());
    EXPECT_EQ(named("ready-to-pot", flagsWith(standing, {cared(15, Care::tipped_out)})).waits_for, "");
}

}  // namespace
}  // namespace slipglass
