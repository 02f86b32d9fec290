#include <gtest/gtest.h>

#include <algorithm>
#include <limits>

#include "../support/season_maker.h"
#include "slipglass/season/figures.h"
#include "slipglass/season/series.h"

namespace slipglass {
namespace {

using test::cared;
using test::covered;
using test::day;
using test::planned;
using test::seenOn;
using test::unmeasured;
using test::watered;

Series oneSeries(const std::vector<Observation>& seen, std::optional<int> stuck_on = 0)
{
    Plan plan;
    plan.cuttings = {planned("T01", "T01")};
    plan.cuttings[0].stuck_on = stuck_on ? std::optional<Date>(day(*stuck_on)) : std::nullopt;
    return buildSeries(seen, plan, {}).at(0);
}

TEST(Series, MakesEachTubOneCuttingWhenThereIsNoPlan)
{
    const auto series =
        buildSeries({covered(0, 0, "T02"), covered(7, 1, "T01"), covered(0, 0, "T01")}, std::nullopt, {});
    ASSERT_EQ(series.size(), 2U);
    EXPECT_EQ(series[0].cutting.cutting, "T01");
    EXPECT_EQ(series[0].points.size(), 2U);
    EXPECT_FALSE(series[0].in_plan);
    EXPECT_FALSE(series[0].days_since_stuck);
    EXPECT_TRUE(seriesWarnings(series, false).empty());
}

TEST(Series, GivesEachCuttingOfATubAllItsObservationsAndSaysTheyAreShared)
{
    Plan plan;
    plan.cuttings = {planned("left", "T01", 0), planned("right", "T01", 3), planned("alone", "T02", 0)};
    const auto series = buildSeries({covered(7, 1), covered(14, 2)}, plan, {});
    ASSERT_EQ(series.size(), 3U);
    EXPECT_EQ(series[0].points.size(), 2U);
    EXPECT_EQ(series[1].points.size(), 2U);
    EXPECT_EQ(series[0].cuttings_in_tub, 2);
    EXPECT_EQ(series[0].days_since_stuck, 14);
    EXPECT_EQ(series[1].days_since_stuck, 11);
    EXPECT_EQ(series[2].cuttings_in_tub, 1);
    EXPECT_TRUE(series[2].points.empty());
    EXPECT_FALSE(series[2].latest_photo);
}

TEST(Series, OrdersPhotosOfOneDayByTimeThenName)
{
    auto late = seenOn(0), early = seenOn(0), untimed_b = seenOn(0), untimed_a = seenOn(0);
    late.taken.second_of_day = 36000;
    late.photo = "0";
    early.taken.second_of_day = 3600;
    early.photo = "9";
    untimed_b.photo = "b";
    untimed_a.photo = "a";
    std::vector<Observation> seen{late, untimed_b, early, untimed_a};
    std::sort(seen.begin(), seen.end(), [](const auto& a, const auto& b) { return a.photo < b.photo; });
    do {
        const Series series = oneSeries(seen);
        std::string order;
        for (const auto& point : series.points) order += point.seen.photo;
        ASSERT_EQ(order, "ab90");
    } while (std::next_permutation(seen.begin(), seen.end(),
                                   [](const auto& a, const auto& b) { return a.photo < b.photo; }));
}

TEST(Series, DatesTheStrikeBetweenTwoPhotos)
{
    const Series series = oneSeries({covered(7, 0.1), covered(14, 0.3), covered(21, 0.31), covered(28, 2)});
    EXPECT_EQ(series.roots_first_seen, day(21));
    ASSERT_TRUE(series.struck);
    EXPECT_EQ(series.struck->after, day(14));  // 0.3 is at the limit, not above it
    EXPECT_EQ(series.struck->by, day(21));
    EXPECT_EQ(series.struck->confirmed, day(28));
}

TEST(Series, HasNotStruckOnOnePhotoAlone)
{
    EXPECT_FALSE(oneSeries({covered(7, 0.1), covered(14, 1)}).struck);
    const Series once = oneSeries({covered(7, 1), covered(14, 0.1), covered(21, 1)});
    EXPECT_FALSE(once.struck);
    EXPECT_EQ(once.roots_first_seen, day(7));
}

TEST(Series, StartsTheStrikeAnewAfterAPhotoWithoutRoots)
{
    const Series series = oneSeries({covered(7, 1), covered(14, 0.1), covered(21, 1), covered(28, 1)});
    ASSERT_TRUE(series.struck);
    EXPECT_EQ(series.struck->after, day(14));
    EXPECT_EQ(series.struck->by, day(21));
}

TEST(Series, DoesNotTakeASecondPhotoOfTheDayForASecondLook)
{
    auto again = covered(14, 1);
    again.photo += "2";
    EXPECT_FALSE(oneSeries({covered(7, 0), covered(14, 1), again}).struck);
    EXPECT_TRUE(oneSeries({covered(7, 0), covered(14, 1), again, covered(15, 1)}).struck);
}

TEST(Series, LooksPastPhotosOnWhichRootsCouldNotBeSeen)
{
    auto bad = unmeasured(21, "blurred");
    bad.coverage_percent = 0;  // must not be believed
    const Series series = oneSeries({covered(7, 0), covered(14, 1), bad, seenOn(22), covered(28, 1)});
    ASSERT_TRUE(series.struck);
    EXPECT_EQ(series.struck->by, day(14));
    EXPECT_EQ(series.struck->confirmed, day(28));
    EXPECT_EQ(series.points.size(), 5U);
}

TEST(Series, StrikesAfterTheDayItWasStuckWhenTheFirstPhotoHasRoots)
{
    EXPECT_EQ(oneSeries({covered(14, 1), covered(21, 1)}).struck->after, day(0));
    EXPECT_EQ(oneSeries({covered(14, 1), covered(21, 1)}, std::nullopt).struck->after, std::nullopt);
}

Observation longRooted(int n, double percent, double length_mm)
{
    Observation seen = covered(n, percent);
    seen.root_length_mm = length_mm;
    return seen;
}

TEST(Series, StrikesOnTheLatestPhotoAloneWhenItsRootsAreLong)
{
    const Series series = oneSeries({covered(7, 0.1), longRooted(14, 1, 60.1)});
    EXPECT_EQ(series.state, StrikeState::struck);
    ASSERT_TRUE(series.struck);
    EXPECT_EQ(series.struck->after, day(7));
    EXPECT_EQ(series.struck->by, day(14));
    EXPECT_EQ(series.struck->confirmed, day(14));
    EXPECT_FALSE(oneSeries({covered(7, 0.1), longRooted(14, 1, 60)}).struck);
    EXPECT_FALSE(oneSeries({longRooted(7, 1, 500), covered(14, 0.1)}).struck);
    EXPECT_FALSE(oneSeries({longRooted(7, 0.2, 500)}).struck);  // long, and not above the limit
}

TEST(Series, SaysWhatIsKnownOfACuttingsRooting)
{
    EXPECT_EQ(oneSeries({}).state, StrikeState::no_photos);
    EXPECT_EQ(oneSeries({unmeasured(7, "blurred"), seenOn(14)}).state, StrikeState::no_photos);
    const Series not_yet = oneSeries({covered(7, 0.1), covered(14, 0.2), unmeasured(21, "blurred")});
    EXPECT_EQ(not_yet.state, StrikeState::not_yet);
    EXPECT_EQ(not_yet.rootless_until, day(14));
    const Series maybe = oneSeries({covered(7, 0.1), covered(14, 0.5)});
    EXPECT_EQ(maybe.state, StrikeState::not_yet);
    EXPECT_EQ(maybe.rootless_until, day(7));
    EXPECT_EQ(oneSeries({covered(7, 1), covered(14, 1)}).state, StrikeState::struck);
    EXPECT_EQ(oneSeries({covered(7, 1), covered(14, 1)}).rootless_until, day(0));
}

Series endedSeries(std::vector<Observation> seen, std::optional<int> given_up, std::optional<int> potted_up,
                   const CareLog& care = {})
{
    Plan plan;
    plan.cuttings = {planned("C1", "T01")};
    if (given_up) plan.cuttings[0].given_up_on = day(*given_up);
    if (potted_up) plan.cuttings[0].potted_up_on = day(*potted_up);
    return buildSeries(seen, plan, {}, care).at(0);
}

TEST(Series, FailsWhenItIsGivenUpBeforeItStruck)
{
    const Series series = endedSeries({covered(7, 0), covered(14, 1)}, 20, std::nullopt);
    EXPECT_EQ(series.state, StrikeState::failed);
    EXPECT_EQ(series.ended_on, day(20));
    EXPECT_EQ(series.rootless_until, day(20));
    EXPECT_EQ(endedSeries({}, 20, std::nullopt).state, StrikeState::failed);
    // Rooted and lost later is another thing than never rooted.
    EXPECT_EQ(endedSeries({covered(7, 1), covered(14, 1)}, 20, std::nullopt).state, StrikeState::struck);
}

TEST(Series, EndsWithoutFailingWhenItIsPottedUp)
{
    const Series seen_once = endedSeries({covered(7, 0), covered(14, 1)}, std::nullopt, 20);
    EXPECT_EQ(seen_once.state, StrikeState::struck);
    EXPECT_EQ(seen_once.struck->after, day(7));
    EXPECT_EQ(seen_once.struck->by, day(14));
    EXPECT_EQ(seen_once.struck->confirmed, day(20));
    const Series never_seen = endedSeries({covered(7, 0)}, std::nullopt, 20);
    EXPECT_EQ(never_seen.state, StrikeState::struck);
    EXPECT_EQ(never_seen.struck->after, day(7));
    EXPECT_EQ(never_seen.struck->by, day(20));
    EXPECT_EQ(endedSeries({}, std::nullopt, 20).struck->after, day(0));
}

TEST(Series, HoldsNoPhotoTakenAfterItsEnd)
{
    const Series series = endedSeries({covered(7, 1), covered(14, 1), covered(21, 0)}, std::nullopt, 14);
    EXPECT_EQ(series.points.size(), 2U);
    EXPECT_EQ(series.latest_photo, day(14));
    EXPECT_EQ(series.days_since_stuck, 14);
}

TEST(Series, TakesTheEarliestEndThatPlanAndCareLogGive)
{
    CareLog care;
    care.events = {cared(1, Care::given_up, "T02"), cared(18, Care::given_up), cared(30, Care::potted_up)};
    const Series series = endedSeries({covered(7, 0)}, 20, 25, care);
    EXPECT_EQ(series.given_up_on, day(18));
    EXPECT_EQ(series.potted_up_on, day(25));
    EXPECT_EQ(series.ended_on, day(18));
    EXPECT_EQ(series.state, StrikeState::failed);
    const auto warnings = seriesWarnings({series}, true);
    ASSERT_EQ(warnings.size(), 1U);
    EXPECT_EQ(warnings[0],
              "C1: given up on 2026-01-30 and potted up on 2026-02-06; the earlier holds, remove the other");
    care.events = {cared(9, Care::given_up, "T09")};
    EXPECT_EQ(buildSeries({covered(7, 0, "T09")}, std::nullopt, {}, care).at(0).state, StrikeState::failed);
}

TEST(Series, HoldANoteOfOneCuttingOnThatCuttingAlone)
{
    Plan plan;
    plan.cuttings = {planned("C1", "T01"), planned("C2", "T01")};
    CareLog care;
    care.events = {cared(3, Care::noted), cared(4, Care::noted), cared(5, Care::watered)};
    care.events[0].cutting = care.events[2].cutting = "C2";
    const auto series = buildSeries({covered(7, 0)}, plan, {}, care);
    ASSERT_EQ(series[0].care.size(), 2U);
    EXPECT_EQ(series[0].care[0].date, day(4));
    EXPECT_EQ(series[1].care.size(), 3U);
}

TEST(Series, HoldAllThatWasDoneToTheirTubButNotTheEndOfItsOtherCuttings)
{
    Plan plan;
    plan.cuttings = {planned("C1", "T01"), planned("C2", "T01"), planned("C3", "T02")};
    CareLog care;
    care.events = {cared(3, Care::watered), cared(9, Care::given_up), cared(12, Care::potted_up)};
    care.events[0].weight_g = 900;
    care.events[1].cutting = "C2";
    const auto series = buildSeries({covered(7, 0)}, plan, {}, care);
    EXPECT_EQ(series[0].care.size(), 2U);
    EXPECT_FALSE(series[0].given_up_on);
    EXPECT_EQ(series[0].potted_up_on, day(12)) << "named no cutting, so it holds for all of the tub";
    EXPECT_EQ(series[1].given_up_on, day(9));
    EXPECT_EQ(series[1].potted_up_on, day(12));
    EXPECT_EQ(series[1].weight.size(), 1U);
    EXPECT_TRUE(series[2].care.empty());
}

TEST(Series, WarnOfCareThatFitsNoTubOrCutting)
{
    Plan plan;
    plan.cuttings = {planned("C1", "T01", 5), planned("C2", "T01", 3), planned("C3", "T02")};
    CareLog care;
    care.file = "care.csv";
    care.events = {cared(1, Care::watered, "t01"), cared(2, Care::watered),        cared(3, Care::watered),
                   cared(4, Care::moved, "t01"),   cared(4, Care::watered, "T09"), cared(9, Care::given_up)};
    for (size_t i = 0; i < care.events.size(); ++i) care.events[i].line = static_cast<int>(i) + 2;
    care.events[5].cutting = "C3";
    const auto warnings = careWarnings(care, buildSeries({covered(7, 0, "T09")}, plan, {}, care));
    ASSERT_EQ(warnings.size(), 3U);
    EXPECT_EQ(
        warnings[0],
        "care.csv, line 2 and 1 more: the tub 't01' is neither in the plan nor on a photo; did you mean "
        "'T01'?");
    EXPECT_EQ(warnings[1],
              "care.csv, line 3: date is 2026-01-14, before anything was stuck in the tub 'T01' "
              "(2026-01-15); is it right?");
    EXPECT_EQ(warnings[2], "care.csv, line 7: the cutting 'C3' is not in the tub 'T01'");
}

TEST(Series, OfCuttingsWithPartsOfTheirOwnFollowThoseParts)
{
    Plan plan;
    plan.cuttings = {planned("C1", "T01"), planned("C2", "T01")};
    plan.cuttings[0].position = "right";
    plan.cuttings[1].position = "left";
    std::vector<Observation> seen{covered(7, 1), covered(14, 2), covered(21, 3)};
    PartFigures left, right;
    left.place = "left";
    right.place = "right";
    left.coverage_percent = 0;
    for (size_t i = 0; i < 2; ++i) {
        right.coverage_percent = 2 * *seen[i].coverage_percent;
        seen[i].parts = {left, right};
    }
    const auto series = buildSeries(seen, plan, {});
    EXPECT_EQ(series[0].part, "right");
    EXPECT_EQ(series[0].state, StrikeState::struck);
    EXPECT_EQ(series[0].points[1].seen.coverage_percent, 4);
    EXPECT_NEAR(series[0].points[1].coverage_percent_per_day.value_or(0), 2.0 / 7, 1e-12);  // rounding
    EXPECT_EQ(series[1].part, "left");
    EXPECT_EQ(series[1].state, StrikeState::not_yet) << "not struck by what its neighbour shows";
    EXPECT_FALSE(series[1].points[2].seen.coverage_percent);
}

TEST(Series, StrikesOnNoPhotoFromBeforeItWasStuck)
{
    const Series series = oneSeries({covered(0, 2), covered(7, 2), covered(14, 0), covered(21, 0)}, 10);
    EXPECT_EQ(series.state, StrikeState::not_yet);
    EXPECT_FALSE(series.roots_first_seen);
    EXPECT_EQ(series.rootless_until, day(21));
    EXPECT_EQ(oneSeries({covered(0, 2), covered(7, 2)}, 10).state, StrikeState::no_photos);
}

TEST(Series, GivesChangePerDaySinceThePreviousDayThatKnowsIt)
{
    auto first = covered(0, 1), second = covered(7, 2.4), other = covered(7, 3.1);
    first.root_length_mm = 10;
    second.root_length_mm = 24;
    other.photo += "2";
    const Series series = oneSeries({first, unmeasured(3, "dark"), second, other, seenOn(8)});
    EXPECT_FALSE(series.points[0].coverage_percent_per_day);
    EXPECT_FALSE(series.points[1].coverage_percent_per_day);
    // Tolerance: rounding of one subtraction and division.
    EXPECT_NEAR(*series.points[2].coverage_percent_per_day, 0.2, 1e-12);
    EXPECT_NEAR(*series.points[2].root_length_mm_per_day, 2.0, 1e-12);
    EXPECT_NEAR(*series.points[3].coverage_percent_per_day, 0.3, 1e-12);
    EXPECT_FALSE(series.points[3].root_length_mm_per_day);
    EXPECT_FALSE(series.points[4].coverage_percent_per_day);
}

TEST(Series, CountsDaysOfStandingWaterFromFirstToLastPhotoOfEachRun)
{
    EXPECT_EQ(oneSeries({watered(0, 0), watered(7, 5), watered(14, 0)}).standing_water_days, 1);
    EXPECT_EQ(oneSeries({watered(0, 3), seenOn(3), watered(7, 5), watered(14, 0), watered(21, 2)})
                  .standing_water_days,
              9);
    EXPECT_EQ(oneSeries({seenOn(0), seenOn(7)}).standing_water_days, 0);
}

TEST(Series, KeepsNoFigureThatIsNotFinite)
{
    auto seen = covered(0, std::numeric_limits<double>::quiet_NaN());
    seen.root_length_mm = std::numeric_limits<double>::infinity();
    const Series series = oneSeries({seen});
    EXPECT_FALSE(series.points[0].seen.coverage_percent);
    EXPECT_FALSE(series.points[0].seen.root_length_mm);
}

TEST(Series, WarnsOnceOfTubsThatDifferInCapitals)
{
    const std::vector<Observation> seen{covered(0, 0), covered(7, 0), covered(7, 0, "t01")};
    const auto warnings = seriesWarnings(buildSeries(seen, std::nullopt, {}), false);
    ASSERT_EQ(warnings.size(), 1U);
    EXPECT_EQ(warnings[0].find("t01: differs from 'T01' in capitals only"), 0U) << warnings[0];
    const Plan plan = parsePlan("tub\nt01\n", "batch.csv", day(300));
    const auto planned = seriesWarnings(buildSeries(seen, plan, {}), true);
    ASSERT_EQ(planned.size(), 1U);
    EXPECT_EQ(planned[0].find("T01: differs from 't01' in capitals only"), 0U) << planned[0];
}

TEST(Series, WarnsOfTubsNotInThePlanAndOfPhotosOlderThanTheCutting)
{
    Plan plan;
    plan.cuttings = {planned("T01", "T01", 7)};
    const auto warnings =
        seriesWarnings(buildSeries({covered(0, 0), covered(7, 0), covered(7, 0, "T1")}, plan, {}), true);
    ASSERT_EQ(warnings.size(), 2U);
    EXPECT_EQ(warnings[0], "T01: 1 photo(s) from before it was stuck on 2026-01-19; check the dates");
    EXPECT_EQ(warnings[1].substr(0, 4), "T1: ");
}

TEST(Series, FindsTheLatestKnownFigure)
{
    auto bad = unmeasured(21, "blurred");
    bad.coverage_percent = 9;
    const Series series = oneSeries({covered(7, 1), covered(14, 2), bad, seenOn(28)});
    ASSERT_NE(latestKnown(series, &Observation::coverage_percent), nullptr);
    EXPECT_EQ(latestKnown(series, &Observation::coverage_percent)->seen.taken.date, day(14));
    EXPECT_EQ(latestKnown(series, &Observation::root_length_mm), nullptr);
}

TEST(Figures, AreWrittenWithFixedDecimalsAndEmptyWhenNotKnown)
{
    EXPECT_EQ(figureText(1234567.891, 2), "1234567.89");
    EXPECT_EQ(figureText(0.0, 1), "0.0");
    EXPECT_EQ(figureText(-0.04, 1), "0.0");
    EXPECT_EQ(figureText(-0.06, 1), "-0.1");
    EXPECT_EQ(figureText(std::nullopt, 1), "");
    EXPECT_EQ(figureText(std::numeric_limits<double>::quiet_NaN(), 1), "");
    EXPECT_EQ(figureText(-std::numeric_limits<double>::infinity(), 1), "");
    EXPECT_EQ(figureText(std::numeric_limits<double>::max(), 0).size(), 309U);
}

}  // namespace
}  // namespace slipglass
