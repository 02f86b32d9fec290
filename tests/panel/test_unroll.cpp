// Truth by construction: a known texture drawn on a known cone, and where it must lie once unrolled.
#include <gtest/gtest.h>

#include <cmath>
#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>

#include "../support/drawn_panel.h"
#include "slipglass/panel/panel.h"

namespace slipglass {
namespace {

using test::DrawnTub;
using test::kDegree;

DrawnTub darkTub(double pitch_deg = 7, double roll_deg = 2)
{
    DrawnTub drawn;
    drawn.pose = test::standing(pitch_deg, roll_deg, 4.6);
    drawn.texture = cv::Mat(drawn.texture.size(), CV_8UC3, cv::Scalar(40, 45, 50));
    return drawn;
}

/// A white square on the wall: x round the wall from the line facing the camera, y above the inner base.
void paintSquare(DrawnTub& drawn, double x_mm, double y_mm, double side_mm,
                 const cv::Scalar& colour = {230, 230, 230})
{
    // Pixel centres at whole numbers, an odd side: the square's middle is a pixel's, its edges lie between
    // two.
    const cv::Point middle(test::texturePx(x_mm, y_mm));
    const int half = static_cast<int>(side_mm / test::kTextureMmPerPx / 2);
    drawn.texture(cv::Rect(middle.x - half, middle.y - half, 2 * half + 1, 2 * half + 1)).setTo(colour);
}

/// What of the panel is brighter than half way from wall to square, within 15 mm of a place: along its edges
/// the wall blends with the table and the room.
cv::Mat brightOf(const Panel& panel, double x_mm, double y_mm)
{
    cv::Mat grey, near = cv::Mat::zeros(panel.bgr.size(), CV_8U);
    cv::cvtColor(panel.bgr, grey, cv::COLOR_BGR2GRAY);
    const int reach = static_cast<int>(15 / panel.unit_per_px);
    near(cv::Rect(cvRound(panel.columnAt(x_mm)) - reach, cvRound(panel.rowAt(y_mm)) - reach, 2 * reach,
                  2 * reach) &
         cv::Rect({}, near.size()))
        .setTo(255);
    return (grey > 137) & near & panel.wall;
}

// Tolerance: double arithmetic on numbers of a thousand; a millionth of a pixel is a thousand times that.
TEST(Unroll, ComesBackFromPhotoToPanelToPhoto)
{
    for (const double pitch : {0.0, 7.0, 25.0}) {
        const Panel panel = test::panelOf(darkTub(pitch, -4));
        int seen = 0;
        for (double x = 150; x < 750; x += 37)
            for (double y = 200; y < 1100; y += 41) {
                const auto point = panelFromPhoto(panel, {x, y});
                if (!point) continue;
                ++seen;
                const PhotoPoint back = photoFromPanel(panel, *point);
                EXPECT_LT(std::hypot(back.x_px - x, back.y_px - y), 1e-6);
            }
        EXPECT_GT(seen, 150);
        EXPECT_FALSE(panelFromPhoto(panel, {5, 600}));
    }
}

TEST(Unroll, ComesBackFromPanelPixelToPanelPixel)
{
    const Panel panel = test::panelOf(darkTub());
    for (const double column : {0.0, 200.5, 700.0}) {
        const PanelPoint point = panel.pointAt(column, 300);
        EXPECT_NEAR(panel.columnAt(point.x), column, 1e-9);
        EXPECT_NEAR(panel.rowAt(point.y), 300, 1e-9);
    }
}

struct Place {
    double pitch_deg, x_mm, y_mm;
};
class SquareOnTheWall : public testing::TestWithParam<Place> {};

// Tolerance: 1 % of the side (the task of this test) on each side, and a panel pixel of place.
TEST_P(SquareOnTheWall, IsAsLargeOnThePanelAndLiesThere)
{
    const auto [pitch, x, y] = GetParam();
    DrawnTub drawn = darkTub(pitch);
    paintSquare(drawn, x, y, 10);
    const Panel panel = test::panelOf(drawn);
    const cv::Moments m = cv::moments(brightOf(panel, x, y), true);
    ASSERT_GT(m.m00, 0);
    EXPECT_NEAR(std::sqrt(m.m00) * panel.unit_per_px, 67 * test::kTextureMmPerPx, 0.1);
    const PanelPoint centre = panel.pointAt(m.m10 / m.m00, m.m01 / m.m00);
    EXPECT_NEAR(centre.x, x, 0.15);
    EXPECT_NEAR(centre.y, y, 0.15);
}
INSTANTIATE_TEST_SUITE_P(Places, SquareOnTheWall,
                         testing::Values(Place{0, 0, 50}, Place{7, 0, 20}, Place{7, 0, 95}, Place{7, -35, 50},
                                         Place{7, 44, 80}, Place{20, -44, 30}, Place{28, 30, 60}));

TEST(Unroll, MapsAMaskBackOntoThePhoto)
{
    DrawnTub drawn = darkTub();
    paintSquare(drawn, -20, 60, 14);
    const cv::Mat picture = test::drawTub(drawn);
    const Panel panel = unrollWall(picture, 1, test::placed(drawn), {});
    cv::Mat grey;
    cv::cvtColor(picture, grey, cv::COLOR_BGR2GRAY);
    cv::Mat bright = cv::Mat::zeros(grey.size(), CV_8U);
    const cv::Rect on_tub(300, 400, 300, 500);
    bright(on_tub) = grey(on_tub) > 137;
    const cv::Mat back = photoMask(panel, brightOf(panel, -20, 60), picture.size(), 1);
    const double both = cv::countNonZero(back & bright), either = cv::countNonZero(back | bright);
    ASSERT_GT(either, 2000);
    EXPECT_GT(both / either, 0.95);  // a rim of half a pixel round 60 x 60

    // At half the size it is the same mask.
    cv::Mat half = photoMask(panel, brightOf(panel, -20, 60), {450, 600}, 2), doubled;
    cv::resize(half, doubled, back.size(), 0, 0, cv::INTER_NEAREST);
    EXPECT_GT(static_cast<double>(cv::countNonZero(doubled & back)) / cv::countNonZero(doubled | back), 0.93);
}

TEST(Unroll, KeepsToTheWallBetweenFloorAndSurface)
{
    const DrawnTub drawn = darkTub();
    const PanelSettings settings;
    const Panel panel = test::panelOf(drawn);
    EXPECT_TRUE(panel.in_mm);
    const View view(panel.inner);
    const double surface = drawn.surface_mm - drawn.pose.cone.wall;
    for (int r = 0; r < panel.wall.rows; r += 7)
        for (int c = 0; c < panel.wall.cols; c += 11) {
            const PanelPoint p = panel.pointAt(c, r);
            const double angle = p.x / panel.inner.cone.radiusAt(p.y);
            const bool on_wall = panel.wall.at<uchar>(r, c), frontal = panel.frontal.at<uchar>(r, c);
            if (on_wall) {
                EXPECT_GE(p.y, settings.floor_mm);
                EXPECT_LE(p.y, surface);
                EXPECT_GT(view.viewCosine({angle, p.y}), 0);
            } else if (std::abs(angle) < 1 && p.y > 2 && p.y < surface - 1) {
                ADD_FAILURE() << "a hole at " << p.x << ", " << p.y;
            }
            EXPECT_EQ(frontal, on_wall && view.viewCosine({angle, p.y}) >= 0.5) << "60 degrees";
        }
}

TEST(Unroll, LeavesOutTheLabel)
{
    DrawnTub drawn = darkTub();
    drawn.texture = test::grainTexture(4);
    // Paper of 30 x 38 mm, its code of 21 mm in the upper part, as sample-images/README.md describes them.
    const double x = -18, y = 70;
    cv::Mat paper = drawn.texture(cv::Rect(test::texturePx(x - 15, y + 19), test::texturePx(x + 15, y - 19)));
    paper.setTo(cv::Scalar(225, 225, 225));
    const cv::Mat code = cv::imread(std::string(SLIPGLASS_TEST_DATA) + "/labels/level-m-version-1.png");
    ASSERT_FALSE(code.empty());
    cv::Mat printed;
    cv::resize(code, printed, cv::Size(140, 140), 0, 0, cv::INTER_AREA);
    printed.copyTo(drawn.texture(cv::Rect(test::texturePx(x - 10.5, y + 14.5), printed.size())));
    const cv::Mat picture = test::drawTub(drawn);

    Tub tub = test::placed(drawn);
    const Panel without = unrollWall(picture, 1, tub, {});
    Label label{"T01", 21, {}};
    const double left = x - 10.5, right = x + 10.5, top = y + 14.5, bottom = y - 6.5;
    const PanelPoint corners[] = {{left, top}, {right, top}, {right, bottom}, {left, bottom}};
    for (size_t i = 0; i < 4; ++i) label.corners[i] = photoFromPanel(without, corners[i]);
    tub.label = label;
    // What findTub() tells of the paper around the code.
    cv::Mat paper_px = cv::Mat::zeros(picture.size(), CV_32F);
    const double edges[] = {x - 15, y + 19, x + 15, y - 19};
    std::vector<cv::Point> outline;
    for (const PanelPoint at :
         {PanelPoint{edges[0], edges[1]}, {edges[2], edges[1]}, {edges[2], edges[3]}, {edges[0], edges[3]}}) {
        const PhotoPoint p = photoFromPanel(without, at);
        outline.emplace_back(cvRound(p.x_px), cvRound(p.y_px));
    }
    cv::fillConvexPoly(paper_px, outline, 1);
    cv::resize(paper_px, tub.cover.share, {}, 0.25, 0.25, cv::INTER_AREA);
    tub.cover.reduction = 4;
    const Panel panel = unrollWall(picture, 1, tub, {});
    const auto rectangle = [&](double grow) {
        return cv::Rect(
            cv::Point(cvRound(panel.columnAt(x - 15 - grow)), cvRound(panel.rowAt(y + 19 + grow))),
            cv::Point(cvRound(panel.columnAt(x + 15 + grow)), cvRound(panel.rowAt(y - 19 - grow))));
    };
    const cv::Rect inside = rectangle(-0.5), around = rectangle(2);
    EXPECT_LT(cv::countNonZero(panel.wall(inside)), 0.01 * inside.area()) << "of the paper is called wall";
    cv::Mat outside = panel.wall.clone(), before = without.wall.clone();
    outside(around).setTo(0);
    before(around).setTo(0);
    EXPECT_EQ(cv::countNonZero(outside), cv::countNonZero(before)) << "wall beside the paper is lost";
}

TEST(Unroll, CountsGlareAsWallThatIsNotVisible)
{
    DrawnTub drawn = darkTub();
    paintSquare(drawn, 10, 50, 16, {255, 255, 255});
    const Panel panel = test::panelOf(drawn);
    const cv::Rect middle(cv::Point(cvRound(panel.columnAt(5)), cvRound(panel.rowAt(55))), cv::Size(66, 66));
    EXPECT_EQ(cv::countNonZero(panel.wall(middle)), middle.area());
    EXPECT_EQ(cv::countNonZero(panel.visible(middle)), 0);
    EXPECT_EQ(cv::countNonZero(panel.frontal & ~panel.visible), 0);
}

TEST(Unroll, ShowsNothingOfATubBesideThePicture)
{
    DrawnTub drawn = darkTub();
    const cv::Mat picture = test::drawTub(drawn);
    drawn.pose = test::standing(7, 0, 4.6, 2000);
    const Panel panel = unrollWall(picture, 1, test::placed(drawn), {});
    EXPECT_EQ(cv::countNonZero(panel.wall), 0);
    EXPECT_EQ(cv::countNonZero(panel.visible), 0);
    EXPECT_EQ(cv::countNonZero(panel.frontal), 0);
    drawn.pose = test::standing(7, 0, 4.6, 450);
    const Panel half = unrollWall(picture, 1, test::placed(drawn), {});
    EXPECT_GT(cv::countNonZero(half.wall.colRange(0, half.wall.cols / 2)), 10000);
    EXPECT_LT(cv::countNonZero(half.wall.colRange(half.wall.cols / 2 + 30, half.wall.cols)), 300);
}

TEST(Unroll, SeesTheSameWallInAReducedPicture)
{
    DrawnTub drawn = darkTub();
    paintSquare(drawn, 12, 64, 12);
    const cv::Mat picture = test::drawTub(drawn);
    cv::Mat half;
    cv::resize(picture, half, {}, 0.5, 0.5, cv::INTER_AREA);
    const Panel full = unrollWall(picture, 1, test::placed(drawn), {}),
                reduced = unrollWall(half, 2, test::placed(drawn), {});
    ASSERT_EQ(full.bgr.size(), reduced.bgr.size());
    const cv::Moments a = cv::moments(brightOf(full, 12, 64), true),
                      b = cv::moments(brightOf(reduced, 12, 64), true);
    EXPECT_NEAR(a.m10 / a.m00, b.m10 / b.m00, 0.7);
    EXPECT_NEAR(a.m01 / a.m00, b.m01 / b.m00, 0.7);
    EXPECT_NEAR(full.px_per_unit, reduced.px_per_unit, 1e-9);
}

}  // namespace
}  // namespace slipglass
