#include "slipglass/water/condition.h"

#include <gtest/gtest.h>

#include <cmath>
#include <opencv2/core.hpp>

#include "../support/drawn_panel.h"
#include "through_plastic.h"

namespace slipglass {
namespace {

using test::DrawnTub;

DrawnTub someTub(double brightness = 1)
{
    DrawnTub drawn;
    drawn.pose = test::standing(6, 1, 4.6);
    drawn.texture = brightness * drawn.texture;
    return drawn;
}

Condition conditionIn(const DrawnTub& drawn, const cv::Mat& picture)
{
    const Tub tub = test::placed(drawn);
    return conditionOf(unrollWall(picture, 1, tub, {}), tub, picture, 1, std::nullopt, std::nullopt);
}

double lightness(const DrawnTub& drawn)
{
    return conditionIn(drawn, test::drawTub(drawn)).wall_lightness.value_or(-1);
}

TEST(Condition, SeesThatMediumHasBecomeDarkerOrLighter)
{
    const double dry = lightness(someTub(1.1)), usual = lightness(someTub()), wet = lightness(someTub(0.75));
    EXPECT_GT(wet, 0);
    EXPECT_LT(wet, usual);
    EXPECT_LT(usual, dry);
}

// A third of a stop is what a phone's exposure drifts by from picture to picture: less than a tenth of the
// range from dry to wet, a quarter of the lightness, may come of it.
TEST(Condition, ForgivesTheCamerasExposure)
{
    const DrawnTub drawn = someTub();
    const cv::Mat picture = test::drawTub(drawn), darker = 0.88 * picture;
    const double usual = *conditionIn(drawn, picture).wall_lightness;
    EXPECT_NEAR(conditionIn(drawn, darker).wall_lightness.value_or(0) / usual, 1, 0.05);
}

TEST(Condition, CountsGreenByItsShareOfTheWall)
{
    const DrawnTub drawn = someTub();
    const cv::Mat picture = test::drawTub(drawn);
    const Tub tub = test::placed(drawn);
    Panel panel = unrollWall(picture, 1, tub, {});
    EXPECT_LT(*conditionOf(panel, tub, picture, 1, std::nullopt, std::nullopt).green_percent, 0.5);
    const cv::Rect patch(panel.bgr.cols / 2 - 100, static_cast<int>(panel.rowAt(80)), 200, 150);
    panel.bgr(patch).setTo(cv::Scalar(50, 110, 60));
    const double share = 100.0 * cv::countNonZero(panel.frontal(patch)) / cv::countNonZero(panel.frontal);
    ASSERT_GT(share, 3);
    EXPECT_NEAR(*conditionOf(panel, tub, picture, 1, std::nullopt, std::nullopt).green_percent, share, 0.5);
}

TEST(Condition, SeesFogWhereAVeilLies)
{
    const DrawnTub drawn = someTub();
    const cv::Mat picture = test::drawTub(drawn);
    const Tub tub = test::placed(drawn);
    Panel panel = unrollWall(picture, 1, tub, {});
    const double clear =
        *conditionOf(panel, tub, picture, 1, std::nullopt, std::nullopt).condensation_percent;
    EXPECT_LT(clear, 3);
    // Fog over the upper quarter: it scatters 60 % of the grains' light and adds its own, pale grey.
    cv::Mat upper = panel.bgr.rowRange(0, static_cast<int>(panel.rowAt(83)));
    test::throughPlastic(upper, 0.4, 0.1);
    const double share =
        100.0 * cv::countNonZero(panel.frontal.rowRange(0, upper.rows)) / cv::countNonZero(panel.frontal);
    EXPECT_NEAR(*conditionOf(panel, tub, picture, 1, std::nullopt, std::nullopt).condensation_percent, share,
                10);
}

// A pane mirrored in the wall adds the same light to every grain, by the plastic's few percent of a bright
// window (from memory: Fresnel, 4 % a surface).
TEST(Condition, DoesNotTakeAMirroredWindowForFog)
{
    const DrawnTub drawn = someTub();
    const cv::Mat picture = test::drawTub(drawn);
    const Tub tub = test::placed(drawn);
    Panel panel = unrollWall(picture, 1, tub, {});
    const cv::Rect pane(panel.bgr.cols / 2 - 120, static_cast<int>(panel.rowAt(80)), 160, 260);
    ASSERT_GT(100.0 * cv::countNonZero(panel.frontal(pane)) / cv::countNonZero(panel.frontal), 4);
    for (const double light : {0.02, 0.05, 0.1}) {
        Panel mirrored = panel;
        mirrored.bgr = panel.bgr.clone();
        cv::Mat behind = mirrored.bgr(pane);
        test::throughPlastic(behind, 1, light);
        EXPECT_LT(*conditionOf(mirrored, tub, picture, 1, std::nullopt, std::nullopt).condensation_percent,
                  1.5)
            << light;
    }
}

// A cast takes everything the same way: 0.8 blue, 0.75 red make the whole wall greenish.
TEST(Condition, DoesNotTakeACastForAlgaeWhereTheFirstPhotoShowsTheGrains)
{
    const DrawnTub drawn = someTub();
    const cv::Mat picture = test::drawTub(drawn);
    const Tub tub = test::placed(drawn);
    Panel panel = unrollWall(picture, 1, tub, {});
    const EarlierPanel first{panel.bgr.clone(), panel.visible.clone()};
    cv::multiply(panel.bgr, cv::Scalar(0.8, 1.15, 0.7), panel.bgr);
    ASSERT_GT(*conditionOf(panel, tub, picture, 1, std::nullopt, std::nullopt).green_percent, 20);
    EXPECT_LT(*conditionOf(panel, tub, picture, 1, std::nullopt, first).green_percent, 3);
    const cv::Rect patch(panel.bgr.cols / 2 - 100, static_cast<int>(panel.rowAt(80)), 200, 150);
    panel.bgr(patch).setTo(cv::Scalar(40, 126, 42));
    const double share = 100.0 * cv::countNonZero(panel.frontal(patch)) / cv::countNonZero(panel.frontal);
    EXPECT_NEAR(*conditionOf(panel, tub, picture, 1, std::nullopt, first).green_percent, share, 3);
}

TEST(Condition, SeesHowMuchDarkerTheVeryGrainsHaveBecome)
{
    const DrawnTub drawn = someTub();
    const cv::Mat picture = test::drawTub(drawn);
    const Tub tub = test::placed(drawn);
    Panel panel = unrollWall(picture, 1, tub, {});
    const EarlierPanel first{panel.bgr.clone(), panel.visible.clone()};
    const Condition same = conditionOf(panel, tub, picture, 1, std::nullopt, first);
    EXPECT_NEAR(same.same_grains.value_or(0), 1, 1e-6);
    panel.bgr *= 0.8;
    EXPECT_LT(conditionOf(panel, tub, picture, 1, std::nullopt, first).same_grains.value_or(9), 0.9);
}

// Half of the light on grains and white alike is exposure: the figure stays. CIE 15: L* 76.07 has half of the
// luminance of L* 100.
TEST(Condition, TakesTheExposureOffTheGrainsByTheWhiteBesideThem)
{
    Condition now;
    now.white = 76.07;
    now.same_grains = std::cbrt(0.5);
    EXPECT_NEAR(lightnessByGrains(now, 40, 100).value_or(0), 40, 0.05);
    now.white = 100;
    EXPECT_NEAR(lightnessByGrains(now, 40, 100).value_or(0), 40 * std::cbrt(0.5), 0.05);
    EXPECT_FALSE(lightnessByGrains(now, std::nullopt, 100));
    EXPECT_FALSE(lightnessByGrains(now, 40, std::nullopt));
    now.same_grains.reset();
    EXPECT_FALSE(lightnessByGrains(now, 40, 100));
}

TEST(Condition, IsNotKnownWhereNothingIsVisible)
{
    const DrawnTub drawn = someTub();
    const cv::Mat picture = test::drawTub(drawn);
    const Tub tub = test::placed(drawn);
    Panel panel = unrollWall(picture, 1, tub, {});
    panel.frontal.setTo(0);
    const Condition none = conditionOf(panel, tub, picture, 1, std::nullopt, std::nullopt);
    EXPECT_FALSE(none.wall_lightness);
    EXPECT_FALSE(none.condensation_percent);
    EXPECT_FALSE(none.green_percent);
}

}  // namespace
}  // namespace slipglass
