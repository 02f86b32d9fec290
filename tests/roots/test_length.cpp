#include "slipglass/roots/length.h"

#include <gtest/gtest.h>

#include <cmath>
#include <fstream>
#include <map>
#include <numbers>
#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>
#include <random>
#include <stdexcept>

#include "../support/table.h"

namespace slipglass {
namespace {

using std::numbers::pi;

cv::Mat shape(const std::string& name)
{
    return cv::imread(std::string(SLIPGLASS_TEST_DATA) + "/shapes/" + name + ".png", cv::IMREAD_GRAYSCALE) >
           127;
}

/// A straight line digitised by grid intersection: one pixel a column.
cv::Mat digitalLine(double start, double slope, int columns)
{
    const int rows = static_cast<int>(std::ceil(start + slope * columns)) + 2;
    cv::Mat line = cv::Mat::zeros(rows, columns + 1, CV_8UC1);
    for (int x = 0; x <= columns; ++x)
        line.at<uchar>(static_cast<int>(std::lround(start + slope * x)), x) = 255;
    return line;
}

struct Spread {
    double mean = 0, deviation = 0;
};

/// Mean and standard deviation, in percent, of estimate / truth - 1 over lines of all directions.
template <class Estimate>
Spread errorOverDirections(int lines, double length, double steepest, Estimate estimate)
{
    std::mt19937_64 random(7);
    std::uniform_real_distribution<double> unit(0, 1);
    double sum = 0, squares = 0;
    for (int i = 0; i < lines; ++i) {
        const double angle = steepest * (i + unit(random)) / lines;
        const int columns = static_cast<int>(std::lround(length * std::cos(angle)));
        const double truth = columns / std::cos(angle);
        const double error =
            100 * (estimate(digitalLine(unit(random), std::tan(angle), columns)) / truth - 1);
        sum += error;
        squares += error * error;
    }
    const double mean = sum / lines;
    return {mean, std::sqrt(squares / lines - mean * mean)};
}

const test::Row& vossepoelSmeulders()
{
    static const auto rows = test::referenceTable("06-digital-length-estimators.csv");
    for (const auto& row : rows)
        if (row.at("estimator").starts_with("Vossepoel & Smeulders")) return row;
    throw std::logic_error("06-digital-length-estimators.csv has lost its row");
}

// Source: 06-digital-length-estimators.csv, Vossepoel & Smeulders 1982: bias -0.0106 %, RMS 0.7056 % for long
// lines of all directions in 0..45 degrees. Tolerance: 0.05 % as the table's README says, plus 0.09 x 2 /
// length for the corners that a line of finite length cannot show.
TEST(CentreLineLength, HasThePublishedBiasOnLongLines)
{
    constexpr double kLength = 600;
    const Spread found = errorOverDirections(4000, kLength, pi / 4, centreLineLengthPx);
    EXPECT_NEAR(found.mean, test::number(vossepoelSmeulders(), "bias_percent"), 0.05 + 100 * 0.18 / kLength);
    EXPECT_NEAR(found.deviation, test::number(vossepoelSmeulders(), "rms_percent"), 0.05);
}

// Source: 06-length-formulas.json, lines of 30 and 100 px digitised 20000 times a length. Tolerance: three
// standard deviations of the mean of 4000, plus 0.1 % since a length is rounded to whole columns here.
TEST(CentreLineLength, HasTheSimulatedErrorOnShortLines)
{
    const Spread at30 = errorOverDirections(4000, 30, pi / 4, centreLineLengthPx);
    EXPECT_NEAR(at30.mean, 0.136, 3 * 0.912 / std::sqrt(4000.0) + 0.1);
    const Spread at100 = errorOverDirections(4000, 100, pi / 4, centreLineLengthPx);
    EXPECT_NEAR(at100.mean, 0.042, 3 * 0.724 / std::sqrt(4000.0) + 0.1);
}

// Source: 06-digital-length-estimators.csv, smallest and largest error and those along an axis and a
// diagonal. Along these two there are no corners, so the weights show bare.
TEST(CentreLineLength, ShowsItsWeightsAlongAxisAndDiagonal)
{
    EXPECT_NEAR(centreLineLengthPx(digitalLine(0, 0, 100)),
                100 * test::number(vossepoelSmeulders(), "ratio_at_0deg"), 1e-9);
    EXPECT_NEAR(centreLineLengthPx(digitalLine(0, 1, 100)),
                100 * std::sqrt(2.0) * test::number(vossepoelSmeulders(), "ratio_at_45deg"), 1e-4);
}

// Source: Newman (1966); 06-line-intersect-straight-line.csv, row "uniform 0..90" has ratio 1.
// Tolerance: the error is a smooth function of the angle, drawn at 2000 of them, and lines are cut to whole
// columns.
TEST(LineIntersectLength, IsRightInTheMeanOverDirections)
{
    const auto by_grid = [](int grid) {
        return errorOverDirections(2000, 400, pi / 4,
                                   [&](const cv::Mat& m) { return lineIntersectLengthPx(m, grid); });
    };
    EXPECT_NEAR(by_grid(1).mean, 0, 0.2);
    EXPECT_NEAR(by_grid(7).mean, 0, 1.0);  // 400 px hold some 57 grid lines: +-1 of them at each end
}

// Source: 06-line-intersect-straight-line.csv, column estimated_over_true_pi_4.
TEST(LineIntersectLength, HasThePublishedErrorOnOneStraightLine)
{
    int seen = 0;
    for (const auto& row : test::referenceTable("06-line-intersect-straight-line.csv")) {
        if (row.at("angle_deg").starts_with("uniform")) continue;
        const double angle = test::number(row, "angle_deg") * pi / 180;
        const int columns = 1000;
        const double truth = columns / std::cos(angle);
        EXPECT_NEAR(lineIntersectLengthPx(digitalLine(0, std::tan(angle), columns), 1) / truth,
                    test::number(row, "estimated_over_true_pi_4"), 0.002)
            << row.at("angle_deg");
        ++seen;
    }
    EXPECT_EQ(seen, 6);
}

// Source: 06-length-formulas.json, circle_example scaled: a circle has all directions once.
TEST(LineIntersectLength, AgreesWithTheCornerCountOnACircle)
{
    cv::Mat circle = cv::Mat::zeros(420, 420, CV_8UC1);
    cv::circle(circle, {210, 210}, 200, cv::Scalar(255), 1, cv::LINE_8);
    const cv::Mat line = skeletonOf(circle);
    EXPECT_NEAR(lineIntersectLengthPx(line, 1), 2 * pi * 200, 0.01 * 2 * pi * 200);
    EXPECT_NEAR(centreLineLengthPx(line), 2 * pi * 200, 0.01 * 2 * pi * 200);
}

// Source: 07-shapes-skeleton-edt.csv, columns true_*: truth by construction. Tolerance: the estimator's own
// -2 .. +1 % on one straight line, and a pixel for the two ends.
TEST(RootLength, IsTipToTipOnShapesOfKnownLength)
{
    std::map<std::string, double> truth;
    for (const auto& row : test::referenceTable("07-shapes-skeleton-edt.csv"))
        if (row.at("kind") == "bar" || row.at("kind") == "annulus")
            truth[row.at("png")] = test::number(row, "true_length_px");
    ASSERT_EQ(truth.size(), 8U);
    for (const auto& [name, length] : truth) {
        const cv::Mat mask = shape(name);
        const double found = rootLengthPx(mask, skeletonOf(mask));
        EXPECT_GT(found, 0.98 * length - 1) << name;
        EXPECT_LT(found, 1.01 * length + 1) << name;
    }
}

// Source: 07-shapes-skeleton-edt.csv, y_w8: three arms of 70 px. The arms' centre lines meet in one point and
// a fork draws each in by up to half a width.
TEST(RootLength, CountsAForkOnce)
{
    const cv::Mat mask = shape("y_w8");
    EXPECT_NEAR(rootLengthPx(mask, skeletonOf(mask)), 210, 5);
}

// Source: 07-shapes-skeleton-edt.csv, columns true_endpoints and true_holes. Raw thinning leaves spurs (the
// column endpoint_pixels shows 4 where there are 2 ends).
TEST(Skeleton, HasTheShapesEndsAndHoles)
{
    std::map<std::string, std::pair<int, int>> truth;
    for (const auto& row : test::referenceTable("07-shapes-skeleton-edt.csv"))
        truth[row.at("png")] = {std::stoi(row.at("true_endpoints")), std::stoi(row.at("true_holes"))};
    ASSERT_EQ(truth.size(), 9U);
    for (const auto& [name, counts] : truth) {
        const cv::Mat mask = shape(name);
        const cv::Mat line = skeletonOf(mask);
        // On a plain mask each end of the skeleton adds its half pixel to the tip.
        EXPECT_EQ(std::lround(endCorrectionPx(line, line) / 0.5), counts.first) << name;
        cv::Mat pieces;
        EXPECT_EQ(cv::connectedComponents(line, pieces, 8) - 1, 1) << name;
        EXPECT_EQ(cv::connectedComponents(line == 0, pieces, 4) - 1, 1 + counts.second) << name;
    }
}

TEST(Skeleton, StaysWithinTheMask)
{
    for (const char* name : {"bar_w10_a17", "y_w8", "annulus_r40_50"})
        EXPECT_EQ(cv::countNonZero(skeletonOf(shape(name)) & ~shape(name)), 0) << name;
}

TEST(Skeleton, DropsABumpButKeepsALateralRoot)
{
    cv::Mat root = cv::Mat::zeros(80, 200, CV_8UC1);
    cv::rectangle(root, {10, 36, 180, 8}, cv::Scalar(255), cv::FILLED);
    const double plain = rootLengthPx(root, skeletonOf(root));

    cv::Mat bumped = root.clone();
    cv::rectangle(bumped, {100, 44, 3, 3}, cv::Scalar(255), cv::FILLED);
    EXPECT_NEAR(rootLengthPx(bumped, skeletonOf(bumped)), plain, 2);

    cv::Mat branched = root.clone();
    cv::rectangle(branched, {100, 44, 4, 30}, cv::Scalar(255), cv::FILLED);
    // 30 px stick out, and the side root's centre line starts at its parent's, 4 px inside.
    EXPECT_NEAR(rootLengthPx(branched, skeletonOf(branched)), plain + 34, 3);
}

TEST(Skeleton, ShortensARootCutByThePicturesEdgeOnlyUntilTheEndsAreAddedBack)
{
    cv::Mat cut = cv::Mat::zeros(40, 100, CV_8UC1);
    cv::rectangle(cut, {0, 16, 100, 8}, cv::Scalar(255), cv::FILLED);
    EXPECT_NEAR(rootLengthPx(cut, skeletonOf(cut)), 100, 3);

    cv::Mat along = cv::Mat::zeros(40, 100, CV_8UC1);
    cv::rectangle(along, {0, 0, 100, 8}, cv::Scalar(255), cv::FILLED);
    EXPECT_NEAR(rootLengthPx(along, skeletonOf(along)), 100, 3);
}

// Truth by construction: the disc's length is its diameter, a pixel's is 1.
TEST(RootLength, IsTheDiameterOfASpeck)
{
    cv::Mat dot = cv::Mat::zeros(9, 9, CV_8UC1);
    dot.at<uchar>(4, 4) = 255;
    EXPECT_DOUBLE_EQ(rootLengthPx(dot, skeletonOf(dot)), 1);
    EXPECT_DOUBLE_EQ(meanWidthPx(dot, skeletonOf(dot)).value(), 1);

    for (const int side : {2, 3}) {
        cv::Mat square = cv::Mat::zeros(9, 9, CV_8UC1);
        square(cv::Rect(3, 3, side, side)).setTo(255);
        EXPECT_GT(cv::countNonZero(skeletonOf(square)), 0) << side;
        EXPECT_NEAR(rootLengthPx(square, skeletonOf(square)), side, 1.1) << side;
    }
    cv::Mat disc = cv::Mat::zeros(41, 41, CV_8UC1);
    cv::circle(disc, {20, 20}, 10, cv::Scalar(255), cv::FILLED);
    EXPECT_NEAR(rootLengthPx(disc, skeletonOf(disc)), 21, 3);
}

TEST(RootLength, IsNothingWithoutRoots)
{
    const cv::Mat none = cv::Mat::zeros(20, 30, CV_8UC1);
    EXPECT_EQ(cv::countNonZero(skeletonOf(none)), 0);
    EXPECT_EQ(rootLengthPx(none, skeletonOf(none)), 0);
    EXPECT_EQ(lineIntersectLengthPx(none, 3), 0);
    EXPECT_FALSE(meanWidthPx(none, none).has_value());
    EXPECT_TRUE(skeletonOf(cv::Mat()).empty());
    EXPECT_EQ(centreLineLengthPx(cv::Mat()), 0);
}

TEST(RootLength, RefusesWhatIsNoMask)
{
    EXPECT_THROW(skeletonOf(cv::Mat(3, 3, CV_32F, cv::Scalar(0))), std::invalid_argument);
    EXPECT_THROW(
        endCorrectionPx(cv::Mat(3, 3, CV_8UC1, cv::Scalar(0)), cv::Mat(3, 4, CV_8UC1, cv::Scalar(0))),
        std::invalid_argument);
    EXPECT_THROW(lineIntersectLengthPx(cv::Mat(3, 3, CV_8UC1, cv::Scalar(0)), 0), std::invalid_argument);
}

// Source: 07-shapes-skeleton-edt.csv, column area_over_true_length, which holds the width of the bar as drawn
// (45 degrees costs a thin bar half a pixel). Tolerance: the length's -2 .. +1 % and its pixel at the ends.
TEST(MeanWidth, MatchesTheBarsAsDrawn)
{
    std::map<std::string, double> truth;
    for (const auto& row : test::referenceTable("07-shapes-skeleton-edt.csv"))
        truth[row.at("png")] = test::number(row, "area_over_true_length");
    for (const auto& [name, width] : truth) {
        const cv::Mat mask = shape(name);
        EXPECT_NEAR(meanWidthPx(mask, skeletonOf(mask)).value(), width, 0.03 * width) << name;
    }
}

// Source: 07-shapes-antialiased.csv, true widths 2, 3.5, 6 and 10 px, which a mask at half level can hold to
// half a pixel. Also why width is not read off the distance transform: over these ten shapes it errs more.
TEST(MeanWidth, IsCloserToTheTrueWidthThanTheDistanceTransform)
{
    double by_area = 0, by_distance = 0;
    for (const auto& row : test::referenceTable("07-shapes-antialiased.csv")) {
        const cv::Mat mask = shape(row.at("png"));
        const cv::Mat line = skeletonOf(mask);
        const double width = meanWidthPx(mask, line).value();
        const double truth = test::number(row, "true_width_px");
        EXPECT_NEAR(width, truth, 0.65) << row.at("png");
        cv::Mat depth;
        cv::distanceTransform(mask, depth, cv::DIST_L2, cv::DIST_MASK_PRECISE);
        by_area += std::pow(width - truth, 2);
        by_distance += std::pow(2 * cv::mean(depth, line)[0] - truth, 2);
    }
    EXPECT_LT(std::sqrt(by_area / 10), 0.5 * std::sqrt(by_distance / 10));
}

}  // namespace
}  // namespace slipglass
