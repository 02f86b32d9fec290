#include "slipglass/wall/parts.h"

#include <gtest/gtest.h>

#include <opencv2/imgproc.hpp>

#include "../support/bare_wall.h"

namespace slipglass {
namespace {

using test::kHigh;
using test::kReference;
using test::kScale;
using test::kWide;

constexpr AcrossWall kLeft = -2.0 / 3, kMiddle = 0, kRight = 2.0 / 3;

/// A cylinder's wall, without roots.
WallView bareWall()
{
    WallView view = test::bareWall();
    view.panel.inner.cone = {45, 0, 140, 0};
    return view;
}

RootMap noRoots()
{
    RootMap roots;
    roots.mask = cv::Mat::zeros(kHigh, kWide, CV_8U);
    roots.browned = roots.mask.clone();
    return roots;
}

/// A level root, 5 px (0.75 mm) thick.
void drawRoot(RootMap& roots, int from, int to, int row = 100)
{
    roots.mask(cv::Rect(from, row - 2, to - from, 5)).setTo(255);
}

/// Columns of the middle row that belong to a part.
int columnsOf(const cv::Mat& parts, int part)
{
    return cv::countNonZero(parts.row(kHigh / 2) == part);
}

std::vector<PartReading> read(const RootMap& roots, const std::vector<AcrossWall>& cuttings = {kLeft, kRight},
                              const PartSettings& settings = {})
{
    return readParts(bareWall(), roots, kReference, cuttings, settings);
}

constexpr double kEnds = 1.5;  // mm: a root's ends, cut straight, come out a root's width off at most

TEST(PartsOfWall, AreHalvesForTwoAndThirdsForThree)
{
    const cv::Mat halves = partsOfWall(bareWall(), kReference, {kLeft, kRight});
    EXPECT_EQ(columnsOf(halves, 1), 150);
    EXPECT_EQ(columnsOf(halves, 2), 151);  // the middle column has to fall to one of them
    const cv::Mat thirds = partsOfWall(bareWall(), kReference, {kLeft, kMiddle, kRight});
    for (const int part : {1, 2, 3}) EXPECT_NEAR(columnsOf(thirds, part), 301.0 / 3, 1) << part;
    const cv::Mat beside = partsOfWall(bareWall(), kReference, {kMiddle, kRight});
    EXPECT_NEAR(columnsOf(beside, 2), 301.0 / 3, 1)
        << "the border is halfway between the two, not in the middle";
}

TEST(PartsOfWall, NarrowDownwardsAsTheWallDoes)
{
    WallView view = bareWall();
    view.panel.inner.cone = {40, 0.25, 140, 0};
    view.panel.frontal.setTo(0);
    for (int row = 0; row < kHigh; ++row) {  // 0.4 radians to either side
        const double radius = 40 + 0.25 * view.panel.pointAt(0, row).y;
        const int reach = cvRound(0.4 * radius / kScale);
        view.panel.frontal.row(row).colRange(150 - reach, 151 + reach).setTo(255);
    }
    const cv::Mat parts = partsOfWall(view, kReference, {kLeft, kMiddle, kRight});
    for (const int row : {0, kHigh - 1}) {
        const cv::Mat seen = view.panel.frontal.row(row);
        const int middle = cv::countNonZero((parts.row(row) == 2) & seen);
        EXPECT_NEAR(middle, cv::countNonZero(seen) / 3.0, 2) << row;  // a pixel at each border
    }
}

TEST(PartsOfWall, TurnWithTheTub)
{
    WallView turned = bareWall();
    turned.to_reference = Drift{kReference, {30}, {}};  // today shows everything 30 px further left
    EXPECT_EQ(columnsOf(partsOfWall(turned, kReference, {kLeft, kRight}), 1), 120);
}

TEST(PartsOfWall, AreNotKnownOnAnotherSideOfTheTub)
{
    WallView other = bareWall();
    other.to_reference.reset();
    EXPECT_TRUE(partsOfWall(other, kReference, {kLeft, kRight}).empty());
    EXPECT_TRUE(readParts(other, noRoots(), kReference, {kLeft, kRight}, {}).empty());
    EXPECT_TRUE(partsOfWall(bareWall(), {}, {kLeft, kRight}).empty());
    EXPECT_TRUE(partsOfWall(bareWall(), kReference, {}).empty());
}

TEST(PartsOfWall, KeepTheirMiddleWhereALabelHidesOneSide)
{
    WallView view = bareWall();
    view.panel.frontal(cv::Rect(0, 0, 80, kHigh)).setTo(0);
    EXPECT_EQ(columnsOf(partsOfWall(view, kReference, {kLeft, kRight}), 1), 150);
}

TEST(ReadParts, GivesEachPartItsOwnFigures)
{
    RootMap roots = noRoots();
    drawRoot(roots, 20, 120, 60);    // 15 mm, left
    drawRoot(roots, 170, 290, 150);  // 18 mm, right, lower down
    roots.browned(cv::Rect(230, 0, 71, kHigh)).setTo(255);
    roots.browned &= roots.mask;
    const auto parts = read(roots);
    ASSERT_EQ(parts.size(), 2U);
    EXPECT_NEAR(parts[0].figures.coverage_percent.value_or(0), 100.0 * 500 / (150 * kHigh), 1e-9);
    EXPECT_NEAR(parts[1].figures.coverage_percent.value_or(0), 100.0 * 600 / (151 * kHigh), 1e-9);
    EXPECT_NEAR(parts[0].figures.length.value_or(0), 15, kEnds);
    EXPECT_NEAR(parts[1].figures.length.value_or(0), 18, kEnds);
    EXPECT_EQ(parts[0].figures.browned_percent, 0);
    EXPECT_EQ(parts[1].figures.browned_percent, 50);
    EXPECT_LT(*parts[1].figures.deepest, *parts[0].figures.deepest);
    EXPECT_EQ(parts[0].shared, 0);
    EXPECT_EQ(parts[0].meets_next, 0);
    EXPECT_FALSE(parts[1].meets_next) << "there is no next part";
}

TEST(ReadParts, TellsWhatRootsInOnePieceHaveOnBothSides)
{
    RootMap roots = noRoots();
    drawRoot(roots, 50, 250);      // 100 px left, 100 px right of column 150
    drawRoot(roots, 20, 100, 40);  // left alone
    const auto parts = read(roots);
    EXPECT_NEAR(parts[0].shared.value_or(0), 15, kEnds);
    EXPECT_NEAR(parts[1].shared.value_or(0), 15, kEnds);
    EXPECT_NEAR(parts[0].meets_next.value_or(0), 15, kEnds);
    EXPECT_NEAR(parts[0].figures.length.value_or(0), 15 + 12, 2 * kEnds);
}

TEST(ReadParts, TakesRootsNearEachOtherForOnePlaceButNotThoseApart)
{
    RootMap near_roots = noRoots(), apart = noRoots();
    drawRoot(near_roots, 50, 148);
    drawRoot(near_roots, 153, 250);  // 0.75 mm between them
    drawRoot(apart, 50, 140);
    drawRoot(apart, 160, 250);  // 3 mm
    EXPECT_NEAR(read(near_roots)[0].meets_next.value_or(0), 14.5, kEnds);
    EXPECT_EQ(read(apart)[0].meets_next, 0);
    PartSettings wide;
    wide.meeting_mm = 4;
    EXPECT_NEAR(read(apart, {kLeft, kRight}, wide)[0].meets_next.value_or(0), 13.5, kEnds);
}

TEST(ReadParts, DoesNotTakeATipOverTheBorderForMore)
{
    RootMap roots = noRoots();
    drawRoot(roots, 50, 165);  // 2.2 mm over
    EXPECT_EQ(read(roots)[0].shared, 0);
    EXPECT_EQ(read(roots)[0].meets_next, 0);
    drawRoot(roots, 160, 180);  // 4.5 mm over
    EXPECT_NEAR(read(roots)[0].meets_next.value_or(0), 4.5, kEnds);
}

TEST(ReadParts, TellsTheBordersOfThreeApart)
{
    RootMap roots = noRoots();
    drawRoot(roots, 60, 160);  // left and middle
    const auto parts = read(roots, {kLeft, kMiddle, kRight});
    EXPECT_NEAR(parts[0].meets_next.value_or(0), 6, kEnds);
    EXPECT_EQ(parts[1].meets_next, 0);
    EXPECT_GT(parts[1].shared.value_or(0), 5);
    EXPECT_EQ(parts[2].shared, 0);
}

TEST(ReadParts, KnowsNothingOfAPartThatIsHardlyInSight)
{
    WallView view = bareWall();
    view.panel.frontal(cv::Rect(0, 0, 140, kHigh)).setTo(0);
    const auto parts = readParts(view, noRoots(), kReference, {kLeft, kRight}, {});
    EXPECT_FALSE(parts[0].figures.coverage_percent);
    EXPECT_EQ(parts[1].figures.coverage_percent, 0);
}

TEST(ReadParts, FindsNoRootsOnABareWall)
{
    for (const PartReading& part : read(noRoots(), {kLeft, kMiddle, kRight})) {
        EXPECT_EQ(part.figures.coverage_percent, 0);
        EXPECT_EQ(part.figures.length, 0);
        EXPECT_FALSE(part.figures.deepest);
        EXPECT_EQ(part.shared, 0);
    }
}

}  // namespace
}  // namespace slipglass
