#include <gtest/gtest.h>

#include <algorithm>

#include "../support/season_maker.h"
#include "slipglass/coverage_interval.h"
#include "slipglass/flags/flags.h"

namespace slipglass {
namespace {

using test::covered;
using test::day;
using test::planned;
using test::seenOn;
using test::unmeasured;
using test::watered;

/// With the interval that measured photos have: docs/measured/intervals.md.
Observation rooted(int n, double percent, std::optional<double> length_mm = std::nullopt,
                   std::optional<double> deepest_mm = std::nullopt)
{
    Observation seen = covered(n, percent);
    const CoverageInterval interval = coverageInterval(percent, 3, State::measured);
    seen.coverage_low = interval.low;
    seen.coverage_high = interval.high;
    seen.root_length_mm = length_mm;
    seen.deepest_root_mm = deepest_mm;
    return seen;
}

std::optional<Flag> flagOf(const std::string& name, const std::vector<Observation>& seen,
                           std::optional<int> potted_up = std::nullopt,
                           std::optional<int> given_up = std::nullopt)
{
    Plan plan;
    plan.cuttings = {planned("C1", "T01")};
    if (potted_up) plan.cuttings[0].potted_up_on = day(*potted_up);
    if (given_up) plan.cuttings[0].given_up_on = day(*given_up);
    const auto flags = findFlags(buildSeries(seen, plan, {}), {});
    const auto flag = std::find_if(flags.begin(), flags.end(), [&](const Flag& f) { return f.name == name; });
    return flag == flags.end() ? std::nullopt : std::optional<Flag>(*flag);
}

TEST(Stalled, IsRaisedAfterAFortnightWithoutGrowth)
{
    const auto flag = flagOf(
        "stalled", {rooted(14, 0.9), rooted(21, 1.2, 120), rooted(28, 1.25, 121), rooted(35, 1.3, 119)});
    ASSERT_TRUE(flag);
    EXPECT_TRUE(flag->holds);
    EXPECT_EQ(flag->date, day(35));
    EXPECT_EQ(flag->severity, Severity::look_soon);
    EXPECT_EQ(
        english(flag->evidence),
        "roots on 1.3 % of the wall and 119 mm on 2026-02-16, 1.2 % of the wall and 120 mm on 2026-02-02, "
        "14 days before: no more than a photo errs by");
    EXPECT_EQ(flag->photos, (std::vector<std::string>{"T01/T01_2026-02-02.jpg", "T01/T01_2026-02-16.jpg"}));
}

TEST(Stalled, IsNotRaisedWhileItGrowsOrWhereNothingIsKnownYet)
{
    EXPECT_FALSE(flagOf("stalled", {rooted(14, 0.9), rooted(21, 1.2), rooted(28, 1.5), rooted(35, 1.5)}));
    EXPECT_FALSE(flagOf("stalled", {rooted(14, 1.2), rooted(21, 1.2)}));                  // 7 days only
    EXPECT_FALSE(flagOf("stalled", {rooted(7, 0.1), rooted(14, 0.1), rooted(28, 0.1)}));  // never struck
    EXPECT_FALSE(flagOf("stalled", {rooted(7, 0.1), rooted(21, 1), rooted(28, 1)}));      // struck 7 days ago
}

TEST(Stalled, IsNotRaisedOnceItCanBePottedUp)
{
    EXPECT_FALSE(flagOf("stalled", {rooted(14, 5), rooted(28, 5), rooted(35, 5)}));
}

TEST(Stalled, ClearsWhenItGrowsAgain)
{
    const auto flag = flagOf("stalled", {rooted(14, 1.2), rooted(21, 1.2), rooted(28, 1.2), rooted(35, 1.9)});
    ASSERT_TRUE(flag);
    EXPECT_FALSE(flag->holds);
    EXPECT_EQ(flag->date, day(28));
    EXPECT_EQ(flag->cleared, day(35));
}

TEST(Stalled, StandsWhenTheLatestPhotoCannotTell)
{
    const auto flag =
        flagOf("stalled", {rooted(14, 1.2), rooted(21, 1.2), rooted(28, 1.2), unmeasured(35, "blurred")});
    ASSERT_TRUE(flag);
    EXPECT_TRUE(flag->holds);
    EXPECT_NE(english(flag->evidence).find("not visible since then"), std::string::npos);
}

TEST(ReadyToPot, IsRaisedWhenCoverageLengthAndDepthHavePassed)
{
    const auto flag = flagOf("ready-to-pot", {rooted(21, 2, 200, 9), rooted(28, 4.2, 330, 6)});
    ASSERT_TRUE(flag);
    EXPECT_TRUE(flag->holds);
    EXPECT_EQ(flag->date, day(28));
    EXPECT_EQ(english(flag->evidence),
              "roots on 4.2 % of the wall and 330 mm on 2026-02-09, the deepest 6 mm above the base");
    EXPECT_NE(english(flag->advice).find("Pot it up"), std::string::npos);
}

TEST(ReadyToPot, NeedsEveryFigureThatIsKnown)
{
    EXPECT_FALSE(flagOf("ready-to-pot", {rooted(21, 2), rooted(28, 4.2, 299, 6)}));
    EXPECT_FALSE(flagOf("ready-to-pot", {rooted(21, 2), rooted(28, 3.9, 330, 6)}));
    EXPECT_FALSE(flagOf("ready-to-pot", {rooted(21, 2), rooted(28, 4.2, 330, 16)}));
    const auto without_mm = flagOf("ready-to-pot", {rooted(21, 2), rooted(28, 4.2)});
    ASSERT_TRUE(without_mm);
    EXPECT_EQ(
        english(without_mm->evidence),
        "roots on 4.2 % of the wall on 2026-02-09; how deep they reach is not known; their length is not "
        "known");
}

TEST(ReadyToPot, IsRaisedWhenTheFitOfAllPhotosSaysSo)
{
    // Steady growth of 1 % a week passes 4 % before day 42; the last photo alone reads a little low.
    const auto flag = flagOf("ready-to-pot", {rooted(0, 0), rooted(7, 0), rooted(14, 0.9), rooted(21, 1.9),
                                              rooted(28, 2.9), rooted(35, 3.9), rooted(42, 3.98)});
    ASSERT_TRUE(flag);
    EXPECT_TRUE(flag->holds);
    EXPECT_EQ(flag->photos, std::vector<std::string>{"T01/T01_2026-02-23.jpg"});
    EXPECT_NE(english(flag->evidence).find("by the growth on all photos it got there about 2026-02-"),
              std::string::npos)
        << english(flag->evidence);
}

TEST(ReadyToPot, IsClearedByPottingUp)
{
    const auto flag = flagOf("ready-to-pot", {rooted(21, 2), rooted(28, 4.2, 330, 6)}, 30);
    ASSERT_TRUE(flag);
    EXPECT_FALSE(flag->holds);
    EXPECT_EQ(flag->cleared, day(30));
}

TEST(Flags, AreNotRaisedAnyMoreForACuttingThatLeft)
{
    EXPECT_EQ(flagOf("standing-water", {watered(7, 5)}, std::nullopt, 10)->cleared, day(10));
    EXPECT_FALSE(flagOf("standing-water", {watered(14, 5)}, std::nullopt, 10));
    EXPECT_EQ(flagOf("no-roots-yet", {covered(30, 0)}, std::nullopt, 40)->cleared, day(40));
    EXPECT_FALSE(flagOf("retake", {covered(7, 1), unmeasured(14, "dark")}, 10));
}

}  // namespace
}  // namespace slipglass
