#include "slipglass/corrections/on_panel.h"

#include <gtest/gtest.h>

#include <opencv2/core.hpp>

#include "../support/drawn_panel.h"

namespace slipglass {
namespace {

const Panel& panel()
{
    static const Panel unrolled = [] {
        test::DrawnTub drawn;
        drawn.pose = test::standing(6, 1, 4.8, 0, 380);
        return test::panelOf(drawn);
    }();
    return unrolled;
}

/// A stroke between places on the wall, as somebody would draw it on the photo.
Stroke strokeAlong(const std::vector<PanelPoint>& places, double width_px, bool root = true)
{
    Stroke stroke{root, width_px, {}};
    // Round the wall a level line is a curve in the photo.
    for (size_t i = 0; i + 1 < places.size(); ++i)
        for (int k = 0; k <= 10; ++k)
            stroke.points.push_back(
                photoFromPanel(panel(), {places[i].x + (places[i + 1].x - places[i].x) * k / 10,
                                         places[i].y + (places[i + 1].y - places[i].y) * k / 10}));
    if (places.size() == 1) stroke.points.push_back(photoFromPanel(panel(), places[0]));
    return stroke;
}

int columnOf(double x_mm)
{
    return cvRound(panel().columnAt(x_mm));
}
int rowOf(double y_mm)
{
    return cvRound(panel().rowAt(y_mm));
}

// Truth by construction: a band of known length and width on the wall facing the camera. Tolerance: one panel
// pixel along the whole edge, and the photo's scale, which changes by 2 % up the wall.
TEST(AStrokeOnThePanel, CoversItsLengthTimesItsWidth)
{
    const double length_mm = 30, width_mm = 2;
    const Stroke stroke = strokeAlong({{-15, 50}, {15, 50}}, width_mm * panel().px_per_unit);
    const double area_mm2 =
        cv::countNonZero(strokeOnPanel(panel(), stroke)) * panel().unit_per_px * panel().unit_per_px;
    const double ends = CV_PI * width_mm * width_mm / 4;  // round
    EXPECT_NEAR(area_mm2, length_mm * width_mm + ends, 2 * length_mm * panel().unit_per_px);
    EXPECT_NEAR(
        cv::countNonZero(strokeOnPanel(panel(), stroke, 0.5)) * panel().unit_per_px * panel().unit_per_px,
        length_mm * width_mm / 2 + ends / 4, 2 * length_mm * panel().unit_per_px);
}

TEST(AStrokeOnThePanel, LiesWhereItWasDrawn)
{
    const cv::Mat mask = strokeOnPanel(panel(), strokeAlong({{-20, 30}, {-20, 70}, {25, 70}}, 4));
    for (const PanelPoint on : {PanelPoint{-20, 45}, {0, 70}, {25, 70}})
        EXPECT_EQ(mask.at<uchar>(rowOf(on.y), columnOf(on.x)), 255) << on.x << ' ' << on.y;
    for (const PanelPoint off : {PanelPoint{-17, 45}, {0, 67}, {0, 45}, {-20, 26}})
        EXPECT_EQ(mask.at<uchar>(rowOf(off.y), columnOf(off.x)), 0) << off.x << ' ' << off.y;
}

TEST(AStrokeOnThePanel, IsWholeEvenIfItIsAHairLineOrADot)
{
    cv::Mat labels;
    const cv::Mat line = strokeOnPanel(panel(), strokeAlong({{-30, 20}, {35, 90}}, 0.1));
    EXPECT_EQ(cv::connectedComponents(line, labels, 8), 2);  // background and one line
    EXPECT_GT(cv::countNonZero(line), 70 / panel().unit_per_px);
    EXPECT_GE(cv::countNonZero(strokeOnPanel(panel(), strokeAlong({{3, 40}}, 0.1))), 1);
}

TEST(AStrokeOnThePanel, IsNothingWhereItMissesTheTub)
{
    const Stroke beside{true, 5, {{2, 2}, {30, 2}}};
    EXPECT_EQ(cv::countNonZero(strokeOnPanel(panel(), beside)), 0);
    // Across the tub's side: what lies on the wall counts.
    const PhotoPoint on = photoFromPanel(panel(), {0, 60});
    const Stroke across{true, 6, {{2, on.y_px}, on}};
    const cv::Mat mask = strokeOnPanel(panel(), across) & panel().wall;
    EXPECT_GT(cv::countNonZero(mask.col(columnOf(-20))), 0);
    EXPECT_EQ(cv::countNonZero(mask.col(columnOf(20))), 0);
}

TEST(StrokesOnThePanel, LetTheLaterOneHold)
{
    const Stroke root = strokeAlong({{-15, 50}, {15, 50}}, 8),
                 rest = strokeAlong({{0, 40}, {0, 60}}, 8, false);
    const int row = rowOf(50), column = columnOf(0);
    for (const bool root_last : {true, false}) {
        const PaintedPanel painted =
            paintedOnPanel(panel(), root_last ? std::vector{rest, root} : std::vector{root, rest});
        EXPECT_EQ(painted.root.at<uchar>(row, column), root_last ? 255 : 0);
        EXPECT_EQ(painted.not_root.at<uchar>(row, column), root_last ? 0 : 255);
        EXPECT_EQ(cv::countNonZero(painted.root & painted.not_root), 0);
        EXPECT_EQ(painted.root.at<uchar>(row, columnOf(-12)), 255);
    }
}

TEST(AWaterLineDrawnByHand, GivesItsHeightOnTheWall)
{
    std::vector<PhotoPoint> line;
    for (int x = -40; x <= 40; x += 10) line.push_back(photoFromPanel(panel(), {1.0 * x, 17.5}));
    line[1].y_px -= 60;  // a slip of the hand
    EXPECT_NEAR(levelOnPanel(panel(), line).value_or(-1), 17.5, 1e-6);
    EXPECT_EQ(levelOnPanel(panel(), {}), 0.0);
    EXPECT_EQ(levelOnPanel(panel(), {{1, 1}, {2, 1}}), std::nullopt);
    const PhotoPoint foot = photoFromPanel(panel(), {0, -0.5});
    EXPECT_EQ(levelOnPanel(panel(), {foot, foot}), 0.0);
}

}  // namespace
}  // namespace slipglass
