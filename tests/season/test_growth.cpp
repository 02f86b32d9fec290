#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "../support/season_maker.h"
#include "slipglass/coverage_interval.h"
#include "slipglass/season/series.h"

namespace slipglass {
namespace {

using test::covered;
using test::day;
using test::planned;
using test::seenOn;
using test::unmeasured;

Observation rooted(int n, double percent, std::optional<double> length_mm = std::nullopt)
{
    Observation seen = covered(n, percent);
    const CoverageInterval interval = coverageInterval(percent, 3, State::measured);
    seen.coverage_low = interval.low;
    seen.coverage_high = interval.high;
    seen.root_length_mm = length_mm;
    return seen;
}

Series seriesOf(const std::vector<Observation>& seen, std::optional<int> stuck_on = 0)
{
    Plan plan;
    plan.cuttings = {planned("C1", "T01")};
    plan.cuttings[0].stuck_on = stuck_on ? std::optional<Date>(day(*stuck_on)) : std::nullopt;
    return buildSeries(seen, plan, {}).at(0);
}

double logistic(double t)
{
    return 8 / (1 + std::exp(-0.15 * (t - 45)));  // passes 4 % on day 45
}

std::vector<Observation> logisticPhotos(int until)
{
    std::vector<Observation> photos;
    for (int n = 0; n <= until; n += 7) photos.push_back(rooted(n, logistic(n), 80 * logistic(n)));
    return photos;
}

TEST(Growth, IsFittedByTheCurveThatThePhotosFollow)
{
    const Growth growth = seriesOf(logisticPhotos(70)).coverage_growth;
    EXPECT_EQ(growth.photos, 11);
    EXPECT_FALSE(growth.trend);
    ASSERT_EQ(growth.curves.size(), 3U);
    EXPECT_EQ(growth.curves[0].kind, CurveKind::logistic);
    // By construction; tolerance: rounding.
    EXPECT_NEAR(growth.curves[0].parameters[0], 8, 1e-4);
    EXPECT_NEAR(growth.curves[0].parameters[1] / growth.curves[0].parameters[2], 45, 1e-3);
    EXPECT_LE(*growth.curves[0].aicc, *growth.curves[1].aicc);
    EXPECT_LE(*growth.curves[1].aicc, *growth.curves[2].aicc);
    EXPECT_EQ(growth.curves[0].standard_errors.size(), 3U);
    EXPECT_EQ(seriesOf(logisticPhotos(70)).root_length_growth.curves[0].kind, CurveKind::logistic);
}

TEST(Growth, IsATrendWhereThereAreTooFewPhotosForACurve)
{
    const Growth growth = seriesOf({rooted(7, 1), rooted(14, 2), rooted(21, 3)}).coverage_growth;
    EXPECT_TRUE(growth.curves.empty());
    ASSERT_TRUE(growth.trend && growth.trend_test);
    EXPECT_NEAR(growth.trend->slope, 1 / 7.0, 1e-12);
    EXPECT_EQ(growth.trend_test->s, 3);
}

TEST(Growth, IsNotForcedOnOneOrTwoPhotosNorOnBareMedium)
{
    for (const auto& photos : {std::vector<Observation>{}, {rooted(7, 1)}, {rooted(7, 1), rooted(14, 2)}}) {
        const Series series = seriesOf(photos);
        EXPECT_TRUE(series.coverage_growth.curves.empty());
        EXPECT_FALSE(series.coverage_growth.trend);
        EXPECT_FALSE(series.potting.likely);
        EXPECT_FALSE(series.potting.why_not.empty());
    }
    std::vector<Observation> bare;
    for (int n = 0; n <= 70; n += 7) bare.push_back(rooted(n, 0.01 * n / 7));
    EXPECT_EQ(seriesOf(bare).coverage_growth.photos, 0);
}

TEST(Growth, CountsDaysFromTheFirstPhotoWhereNobodyKnowsWhenItWasStuck)
{
    EXPECT_EQ(seriesOf({rooted(7, 1)}).grows_from, day(0));
    EXPECT_EQ(seriesOf({rooted(7, 1)}, std::nullopt).grows_from, day(7));
    EXPECT_FALSE(seriesOf({}, std::nullopt).grows_from);
}

// Hunt's formula by hand: (ln 2 - ln 1) / 7 days.
TEST(Growth, HasARelativeRateBetweenPhotosWithRoots)
{
    const Series series = seriesOf({rooted(7, 0.1, 5), rooted(14, 1, 100), unmeasured(18, "dark"),
                                    rooted(21, 2, 150), rooted(28, 2, std::nullopt)});
    EXPECT_FALSE(series.points[1].coverage_relative_per_day);  // from below the detection limit
    EXPECT_NEAR(*series.points[3].coverage_relative_per_day, std::log(2.0) / 7, 1e-12);
    EXPECT_NEAR(*series.points[3].root_length_relative_per_day, std::log(1.5) / 7, 1e-12);
    EXPECT_NEAR(*doublingDays(series.points[3].coverage_relative_per_day), 7, 1e-9);
    EXPECT_EQ(series.points[4].coverage_relative_per_day, 0.0);
    EXPECT_FALSE(doublingDays(series.points[4].coverage_relative_per_day));
    EXPECT_FALSE(series.points[4].root_length_relative_per_day);
    EXPECT_FALSE(relativeGrowthRate(0, 1, 7));
    EXPECT_FALSE(relativeGrowthRate(1, 2, 0));
}

TEST(Forecast, NamesTheDayOnWhichTheThresholdIsReached)
{
    const Potting potting = seriesOf(logisticPhotos(42)).potting;
    EXPECT_FALSE(potting.reached_on);
    EXPECT_EQ(potting.why_not, "");
    ASSERT_TRUE(potting.earliest && potting.likely && potting.latest && potting.chance_percent);
    EXPECT_LE(*potting.earliest, day(45));
    EXPECT_GE(*potting.latest, day(45));
    EXPECT_LT(*potting.earliest, *potting.likely);
    EXPECT_LT(*potting.likely, *potting.latest);
    // By construction it is day 45. Tolerance: the error of photos that are a week apart; the median error on
    // invented growth is 4 to 7 days (docs/measured/forecasts.md).
    EXPECT_NEAR(daysBetween(day(45), *potting.likely), 0, 7);
}

TEST(Forecast, GrowsSurerWithEachPhoto)
{
    const auto width = [](int until) {
        const Potting potting = seriesOf(logisticPhotos(until)).potting;
        return potting.likely ? daysBetween(*potting.earliest, *potting.latest) : 1000;
    };
    EXPECT_LT(width(42), width(35));
}

TEST(Forecast, GivesWayToTheDayItWasReached)
{
    const Potting potting = seriesOf(logisticPhotos(56)).potting;
    EXPECT_EQ(potting.reached_on, day(49));
    EXPECT_FALSE(potting.likely);
    EXPECT_EQ(potting.why_not, "");
}

TEST(Forecast, WaitsForBothCoverageAndLength)
{
    auto photos = logisticPhotos(42);
    const Date both = *seriesOf(photos).potting.likely;
    for (auto& photo : photos) *photo.root_length_mm *= 0.75;  // passes 300 mm when coverage is 5 %
    const Potting later = seriesOf(photos).potting;
    EXPECT_TRUE(!later.likely || *later.likely > both);
    for (auto& photo : photos) photo.root_length_mm.reset();
    EXPECT_TRUE(seriesOf(photos).potting.likely);  // coverage alone where there are no mm
}

TEST(Forecast, SaysWhyThereIsNone)
{
    const auto why = [](const Series& series) { return series.potting.why_not; };
    EXPECT_EQ(why(seriesOf({})), "there is no photo that can tell");
    EXPECT_EQ(why(seriesOf({unmeasured(7, "a"), unmeasured(14, "b"), unmeasured(21, "c")})),
              "there is no photo that can tell");
    EXPECT_EQ(why(seriesOf({rooted(7, 0), rooted(14, 0), rooted(21, 1)})), "it has not struck yet");
    EXPECT_EQ(why(seriesOf({rooted(7, 0), rooted(14, 0), rooted(21, 1, 100)})),
              "roots are on one photo only; growth shows from two on");
    EXPECT_EQ(why(seriesOf({rooted(14, 1), rooted(21, 2)})),
              "there are two photos only; a forecast needs three");
    std::vector<Observation> ended;
    for (int n = 0; n <= 98; n += 7) ended.push_back(rooted(n, n < 21 ? 0 : 1.2));
    EXPECT_NE(why(seriesOf(ended)).find("as it grows now it will likely stop before"), std::string::npos);
    EXPECT_FALSE(seriesOf(ended).potting.likely);
    Plan plan;
    plan.cuttings = {planned("C1", "T01")};
    plan.cuttings[0].potted_up_on = day(30);
    EXPECT_EQ(why(buildSeries(logisticPhotos(42), plan, {}).at(0)), "it is potted up");
    plan.cuttings[0] = planned("C1", "T01");
    plan.cuttings[0].given_up_on = day(30);
    EXPECT_EQ(why(buildSeries(logisticPhotos(42), plan, {}).at(0)), "it was given up");
}

TEST(Forecast, TakesNoPhotoFromBeforeItWasStuck)
{
    auto photos = logisticPhotos(42);
    photos[0].coverage_percent = 30;  // another's roots
    const Potting potting = seriesOf(photos, 5).potting;
    ASSERT_TRUE(potting.likely);
    EXPECT_NEAR(daysBetween(day(45), *potting.likely), 0, 7);
}

TEST(Forecast, IsAlwaysInOrderAndFiniteWhateverThePhotosSay)
{
    const double huge = std::numeric_limits<double>::max();
    // The last two rise, with setbacks: of them a day can be told.
    const std::vector<std::vector<double>> courses{{0, 1, 0, 1, 0, 1, 1},
                                                   {100, 100, 50, 10, 1, 1, 1},
                                                   {0, 0, 0, 0, 0, 100, 100},
                                                   {3, 3, 3, 3, 3, 3, 3},
                                                   {1, 1.1, 1.2, 1.3, 1.4, 1.5},
                                                   {0, huge, huge, 1, 1, 1},
                                                   {0, 0.5, 1.2, 0.9, 1.8, 2.5, 2.2},
                                                   {0.2, 0.4, 0.8, 1.5, 1.1, 2.6, 3.1}};
    int forecasts = 0, curves = 0;
    for (const auto& course : courses) {
        std::vector<Observation> photos;
        for (size_t i = 0; i < course.size(); ++i)
            photos.push_back(rooted(static_cast<int>(7 * i), course[i]));
        const Series series = seriesOf(photos);
        for (const auto& curve : series.coverage_growth.curves) {
            for (const double parameter : curve.parameters) EXPECT_TRUE(std::isfinite(parameter));
            EXPECT_TRUE(std::isfinite(*curve.aicc));
            ++curves;
        }
        const Potting& potting = series.potting;
        if (!potting.likely) continue;
        EXPECT_LE(*potting.earliest, *potting.likely);
        EXPECT_LE(*potting.likely, *potting.latest);
        EXPECT_LE(daysBetween(*series.latest_photo, *potting.latest), kForecastDays + 1);
        ++forecasts;
    }
    EXPECT_GE(curves, 6) << "a course without a curve says nothing";
    EXPECT_EQ(forecasts, 2);
}

}  // namespace
}  // namespace slipglass
