#include "slipglass/panel/align.h"

#include <gtest/gtest.h>

#include <cmath>
#include <opencv2/imgproc.hpp>

#include "../support/drawn_panel.h"

namespace slipglass {
namespace {

using test::DrawnTub;
using test::kDegree;

DrawnTub tubOfGrains(std::uint64_t seed, double turn_deg = 0)
{
    DrawnTub drawn;
    drawn.pose = test::standing(7, 1, 4.6);
    drawn.texture = test::grainTexture(seed);
    drawn.turn_deg = turn_deg;
    return drawn;
}

/// Farthest that a place of today's front is taken from where it was by construction, mm.
double worstError(const Alignment& match, const Panel& today, const Panel& earlier, double turn_deg)
{
    double worst = 0;
    int compared = 0;
    for (int r = 40; r < today.bgr.rows; r += 40)
        for (int c = 40; c < today.bgr.cols; c += 40) {
            if (!today.frontal.at<uchar>(r, c)) continue;
            const PanelPoint now = today.pointAt(c, r);
            const double radius = today.inner.cone.radiusAt(now.y);
            const PanelPoint then = earlier.pointAt(match.map_x.at<float>(r, c), match.map_y.at<float>(r, c));
            const double was_x = now.x - turn_deg * kDegree * radius;
            if (std::abs(was_x) / radius > 1) continue;
            worst = std::max(worst, std::hypot(then.x - was_x, then.y - now.y));
            ++compared;
        }
    EXPECT_GT(compared, 100) << "places of the front that both show";
    return worst;
}

class TurnedTub : public testing::TestWithParam<double> {};

// Tolerance: 0.3 mm, less than a root's width, so that a root is not taken for a grain that was there.
TEST_P(TurnedTub, IsFoundByItsGrains)
{
    const Panel earlier = test::panelOf(tubOfGrains(1)), today = test::panelOf(tubOfGrains(1, GetParam()));
    const Alignment match = alignTo(today, earlier);
    EXPECT_TRUE(match.good);
    EXPECT_GT(match.score, 0.5);
    const double mid_height = today.inner.cone.radiusAt(today.top / 2);
    EXPECT_NEAR(match.turn, -GetParam() * kDegree * mid_height, 0.3);
    EXPECT_LT(worstError(match, today, earlier, GetParam()), 0.3);
}
INSTANTIATE_TEST_SUITE_P(Degrees, TurnedTub, testing::Values(0.0, 3.0, -8.0, 15.0, -21.0));

TEST(Align, FindsTheTubInAnotherLightFromAnotherPlace)
{
    const Panel earlier = test::panelOf(tubOfGrains(1));
    DrawnTub drawn = tubOfGrains(1, -6);
    drawn.pose = test::standing(12, -3, 4.1, 60, 300);
    drawn.texture = 0.7 * drawn.texture;  // wetter
    cv::Mat picture = test::drawTub(drawn);
    for (int x = 0; x < picture.cols; ++x)  // light from the left
        picture.col(x) *= 1.15 - 0.4 * x / picture.cols;
    const Panel today = unrollWall(picture, 1, test::placed(drawn), {});
    const Alignment match = alignTo(today, earlier);
    EXPECT_TRUE(match.good);
    EXPECT_LT(worstError(match, today, earlier, -6), 0.4);  // the picture itself is coarser
}

TEST(Align, BringsTheEarlierPictureOntoTodays)
{
    const Panel earlier = test::panelOf(tubOfGrains(1)), today = test::panelOf(tubOfGrains(1, 9));
    const cv::Mat warped = alignTo(today, earlier).warped(earlier.bgr);
    ASSERT_EQ(warped.size(), today.bgr.size());
    cv::Mat both = today.frontal.clone(), difference;
    both.colRange(0, 320).setTo(0);  // came into sight since
    cv::absdiff(warped, today.bgr, difference);
    const cv::Scalar off = cv::mean(difference, both);
    ASSERT_EQ(earlier.bgr.size(), today.bgr.size());  // one camera
    cv::absdiff(earlier.bgr, today.bgr, difference);
    EXPECT_LT(off[1], 0.35 * cv::mean(difference, both)[1]) << "against leaving it where it was";
}

/// The panel of a tub as if its foot had been out of the picture and the base guessed so much too high.
Panel withBaseGuessed(const DrawnTub& drawn, double too_high_mm)
{
    Tub tub = test::placed(drawn);
    const cv::Vec3d up = test::rotationOf(tub.pose) * cv::Vec3d(0, 0, too_high_mm);
    tub.pose.base += cv::Point3d(up[0], up[1], up[2]);
    tub.pose.cone.base_radius = tub.pose.cone.radiusAt(too_high_mm);
    tub.pose.cone.height -= too_high_mm;
    for (double& z : tub.surface_z) z -= too_high_mm;
    tub.base_known = false;
    return unrollWall(test::drawTub(drawn), 1, tub, {});
}

// Farther off than the search for where a tub has come to stand reaches.
TEST(Align, FindsATubOfWhichTheFootIsOutOfThePicture)
{
    constexpr double kTooHigh = 14;
    const Panel earlier = test::panelOf(tubOfGrains(1));
    const Panel today = withBaseGuessed(tubOfGrains(1, -4), kTooHigh);
    const Alignment match = alignTo(today, earlier);
    EXPECT_TRUE(match.good) << match.score << ' ' << match.agreed;
    const int row = today.bgr.rows / 2, column = today.middleColumn();
    const PanelPoint now = today.pointAt(column, row),
                     then = earlier.pointAt(match.map_x.at<float>(row, column),
                                            match.map_y.at<float>(row, column));
    EXPECT_NEAR(then.y - now.y, kTooHigh, 0.3);
}

TEST(Align, RefusesOtherGrains)
{
    EXPECT_FALSE(alignTo(test::panelOf(tubOfGrains(1)), test::panelOf(tubOfGrains(2))).good);
}

TEST(Align, RefusesAnotherSideOfTheTub)
{
    EXPECT_FALSE(alignTo(test::panelOf(tubOfGrains(1)), test::panelOf(tubOfGrains(1, 120))).good);
}

TEST(Align, RefusesABlankWall)
{
    DrawnTub blank = tubOfGrains(1);
    blank.texture.setTo(cv::Scalar(60, 70, 80));
    const Panel wall = test::panelOf(blank), grains = test::panelOf(tubOfGrains(1));
    EXPECT_FALSE(alignTo(grains, wall).good);
    EXPECT_FALSE(alignTo(wall, grains).good);
    const Panel later = unrollWall(test::drawTub(blank, 1.5, 99), 1, test::placed(blank), {});
    EXPECT_FALSE(alignTo(wall, later).good);
}

TEST(Align, RefusesWhereNothingIsVisible)
{
    const Panel grains = test::panelOf(tubOfGrains(1));
    Panel hidden = grains;
    hidden.visible = cv::Mat::zeros(grains.visible.size(), CV_8U);
    hidden.frontal = hidden.visible;
    EXPECT_FALSE(alignTo(grains, hidden).good);
    EXPECT_FALSE(alignTo(hidden, grains).good);
}

// Truth: going there and back is standing still. Tolerance: a tenth of a pixel, far below what two panels of
// a tub agree to.
TEST(Drift, LeadsBackToWhereItCameFrom)
{
    const Drift drift{{600, 500}, {40, 12, -5, 6, 3, -4}, {-8, 4, 9, -3, 5, 2}};
    cv::Mat map_x, map_y, back_x, back_y;
    drift.maps(map_x, map_y);
    drift.mapsBack({700, 520}, back_x, back_y);
    for (int y = 40; y < 460; y += 20)
        for (int x = 60; x < 540; x += 20) {
            const int there_x = cvRound(map_x.at<float>(y, x)), there_y = cvRound(map_y.at<float>(y, x));
            const cv::Point2d again(back_x.at<float>(there_y, there_x), back_y.at<float>(there_y, there_x));
            const cv::Point2d moved = again + drift.at(again.x, again.y);
            EXPECT_NEAR(moved.x, there_x, 0.1);
            EXPECT_NEAR(moved.y, there_y, 0.1);
        }
}

// Truth: one after the other. Tolerance: a tenth of a pixel, as above.
TEST(Drift, LeadsOnWhereTwoFollowEachOther)
{
    const Drift first{{600, 500}, {40, 12, -5, 6, 3, -4}, {-8, 4, 9, -3, 5, 2}},
        then{{700, 520}, {-90, 3, 4, -2, 6, 1}, {2, -7, 3, 4, -1, 2}};
    const Drift both = chained(first, then);
    cv::Mat map_x, map_y;
    mapsThrough(both, then, map_x, map_y);
    EXPECT_EQ(both.size, first.size);
    for (int y = 0; y < 500; y += 20)
        for (int x = 0; x < 600; x += 20) {
            const cv::Point2d once = first.at(x, y), twice = then.at(x + once.x, y + once.y);
            EXPECT_NEAR(both.at(x, y).x, once.x + twice.x, 0.1);
            EXPECT_NEAR(both.at(x, y).y, once.y + twice.y, 0.1);
            EXPECT_NEAR(map_x.at<float>(y, x), x + once.x, 0.1) << "to where `then` starts";
            EXPECT_NEAR(map_y.at<float>(y, x), y + once.y, 0.1);
        }
}

}  // namespace
}  // namespace slipglass
