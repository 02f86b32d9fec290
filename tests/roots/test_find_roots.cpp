// Roots drawn on drawn tubs: where they are is truth by construction. The tubs are simpler than any real one,
// so these tests say that a plain root is found and that plain grains are not, no more.
#include "slipglass/roots/find_roots.h"

#include <gtest/gtest.h>

#include <cmath>
#include <opencv2/imgproc.hpp>
#include <thread>

#include "../support/drawn_panel.h"
#include "slipglass/panel/align.h"

namespace slipglass {
namespace {

using test::DrawnTub;

DrawnTub tubOfGrains()
{
    DrawnTub drawn;
    drawn.pose = test::standing(6, 1, 5.5, 0, 400);
    drawn.surface_mm = 105;
    drawn.texture = 0.8 * drawn.texture;
    return drawn;
}

/// Three wavy white roots of 1.1 mm, growing down. Also what of the texture they cover.
cv::Mat growRoots(DrawnTub& drawn)
{
    cv::Mat cover = cv::Mat::zeros(drawn.texture.size(), CV_8U);
    for (const double start : {-24.0, 2.0, 26.0}) {
        std::vector<cv::Point> line;
        for (double y = 92; y > 18; y -= 0.5) {
            const cv::Point2d at = test::texturePx(start + 4 * std::sin(y / 9 + start) + 0.06 * (92 - y), y);
            line.emplace_back(cvRound(at.x * 16), cvRound(at.y * 16));
        }
        cv::polylines(cover, line, false, 255, static_cast<int>(1.1 / test::kTextureMmPerPx), cv::LINE_8, 4);
    }
    cv::Mat light, soft, root(drawn.texture.size(), CV_8UC3, cv::Scalar(205, 222, 228));
    cv::GaussianBlur(cover, soft, {}, 1.0);
    for (int y = 0; y < soft.rows; ++y)
        for (int x = 0; x < soft.cols; ++x) {
            const double a = soft.at<uchar>(y, x) / 255.0;
            if (a > 0)
                drawn.texture.at<cv::Vec3b>(y, x) = a * cv::Vec3d(root.at<cv::Vec3b>(y, x)) +
                                                    (1 - a) * cv::Vec3d(drawn.texture.at<cv::Vec3b>(y, x));
        }
    return cover;
}

/// The drawn roots on the panel's pixels.
cv::Mat truthOn(const Panel& panel, const cv::Mat& cover)
{
    cv::Mat truth = cv::Mat::zeros(panel.bgr.size(), CV_8U);
    for (int r = 0; r < truth.rows; ++r)
        for (int c = 0; c < truth.cols; ++c) {
            const PanelPoint p = panel.pointAt(c, r);
            const cv::Point at(test::texturePx(p.x, p.y));
            if (cv::Rect({}, cover.size()).contains(at)) truth.at<uchar>(r, c) = cover.at<uchar>(at);
        }
    return truth & panel.frontal;
}

double dice(const cv::Mat& a, const cv::Mat& b)
{
    return 2.0 * cv::countNonZero(a & b) / std::max(1, cv::countNonZero(a) + cv::countNonZero(b));
}

RootSettings settingsFor(bool learned)
{
    RootSettings settings;
    settings.learned = learned;
    return settings;
}

class FindRoots : public testing::TestWithParam<bool> {
protected:
    static void SetUpTestSuite()
    {
        DrawnTub drawn = tubOfGrains();
        before_ = test::panelOf(drawn);
        const cv::Mat cover = growRoots(drawn);
        rooted_ = test::panelOf(drawn);
        truth_ = truthOn(rooted_, cover);
        first_ = EarlierPanel{before_.bgr, before_.visible};  // one camera: nothing moved
    }

    RootSettings settings() const { return settingsFor(GetParam()); }

    inline static Panel before_, rooted_;
    inline static cv::Mat truth_;
    inline static std::optional<EarlierPanel> first_;
};

// Reached: Dice 0.969 learned and 0.950 by rules, coverage 0.94 and 1.06 of the truth, length 234 and 237 mm,
// width 1.27 and 1.41 mm. Bands: 0.02 of Dice is an eighth of a panel's pixel on both sides of a root of
// seven. Length by construction: 77.6 mm each; 3 % is the estimator's 2 on upright lines, and ends. Width:
// drawn 1.1 mm and smoothed by a pixel of 0.15 mm, then seen through a lens as coarse again.
TEST_P(FindRoots, FindsDrawnRoots)
{
    const RootMap roots = findRoots(rooted_, first_, settings());
    const double reached = settings().learned ? 0.969 : 0.950;
    EXPECT_NEAR(dice(roots.mask & rooted_.frontal, truth_), reached, 0.02);
    EXPECT_EQ(cv::countNonZero(roots.mask & ~rooted_.wall), 0);
    EXPECT_EQ(cv::countNonZero(roots.browned & ~roots.mask), 0);
    EXPECT_EQ(cv::countNonZero((roots.mask != 0) & (roots.mask != 255)), 0);
    const RootFigures figures = rootFigures(rooted_, roots);
    const double truth = 100.0 * cv::countNonZero(truth_) / cv::countNonZero(rooted_.frontal);
    EXPECT_NEAR(*figures.coverage_percent / truth, 1, 0.1);
    EXPECT_NEAR(figures.length.value_or(0), 3 * 77.6, 0.03 * 3 * 77.6);
    EXPECT_NEAR(figures.width.value_or(0), 1.1 + 0.2, 0.2);
    EXPECT_LT(figures.browned_percent.value_or(100), 1) << "the drawn roots are white";
}

// A tub first photographed when it had rooted: its past shows the same roots, as straw would be shown.
TEST_P(FindRoots, FindsRootsThatWereThereFromTheStart)
{
    const EarlierPanel past{rooted_.bgr.clone(), rooted_.visible.clone()};
    const EarlierPanel hidden = withRootsHidden(past, rooted_, settings());
    // Reached: all of them, and 95 % of the rest stays.
    EXPECT_GT(cv::countNonZero(past.visible & ~hidden.visible & truth_), 0.95 * cv::countNonZero(truth_));
    EXPECT_GT(cv::countNonZero(hidden.visible), 0.9 * cv::countNonZero(past.visible)) << "the rest stays";
    const double alone = dice(findRoots(rooted_, std::nullopt, settings()).mask & rooted_.frontal, truth_),
                 late = dice(findRoots(rooted_, hidden, settings()).mask & rooted_.frontal, truth_);
    EXPECT_GT(late, alone - 0.04) << "reached: 0.002 more learned, 0.021 less by rules";
}

TEST_P(FindRoots, FindsNoneAmongGrains)
{
    for (const std::optional<EarlierPanel>& first : {std::optional<EarlierPanel>{}, first_}) {
        const RootFigures figures = rootFigures(before_, findRoots(before_, first, settings()));
        // Reached: 0.02 learned and alone, else none. A third of what counts as roots seen.
        EXPECT_LT(figures.coverage_percent.value_or(100), 0.1) << (first ? "compared" : "alone");
    }
}

TEST_P(FindRoots, FindsTheSameTwiceAndSideBySide)
{
    const cv::Mat one = findRoots(rooted_, first_, settings()).mask;
    cv::Mat two, three;
    std::thread beside([&] { two = findRoots(rooted_, first_, settings()).mask; });
    three = findRoots(rooted_, first_, settings()).mask;
    beside.join();
    EXPECT_EQ(cv::countNonZero(one != two), 0);
    EXPECT_EQ(cv::countNonZero(one != three), 0);
}

// Convolutions are made ready anew for a picture of another size.
TEST(LearnedRoots, AreTheSameWhateverPanelCameBefore)
{
    const Panel panel = test::panelOf(tubOfGrains());
    Panel larger = panel;
    for (cv::Mat* plane : {&larger.bgr, &larger.wall, &larger.visible, &larger.frontal})
        cv::copyMakeBorder(*plane, *plane, 0, 96, 0, 64, cv::BORDER_REFLECT);
    const cv::Mat before = findRoots(panel, {}, settingsFor(true)).log_odds;
    findRoots(larger, {}, settingsFor(true));
    const cv::Mat after = findRoots(panel, {}, settingsFor(true)).log_odds;
    EXPECT_EQ(cv::norm(before, after, cv::NORM_INF), 0);
}

TEST_P(FindRoots, FindsNoneWhereNothingIsVisible)
{
    Panel hidden = rooted_;
    hidden.wall = cv::Mat::zeros(rooted_.wall.size(), CV_8U);
    hidden.visible = hidden.wall;
    hidden.frontal = hidden.wall;
    const RootMap roots = findRoots(hidden, std::nullopt, settings());
    EXPECT_EQ(cv::countNonZero(roots.mask), 0);
    const RootFigures figures = rootFigures(hidden, roots);
    EXPECT_FALSE(figures.coverage_percent);
    EXPECT_FALSE(figures.length);
    EXPECT_FALSE(figures.width);
    EXPECT_FALSE(figures.browned_percent);
    EXPECT_FALSE(figures.deepest);
}

INSTANTIATE_TEST_SUITE_P(Ways, FindRoots, testing::Values(true, false),
                         [](const auto& way) { return way.param ? "Learned" : "ByRules"; });

/// A blank panel of 60 x 50 mm, all of it frontal, with a given mask.
struct Drawn {
    Panel panel;
    RootMap roots;
};
Drawn blank()
{
    Drawn drawn;
    drawn.panel.unit_per_px = 0.1;
    drawn.panel.top = 50;
    drawn.panel.in_mm = true;
    drawn.panel.bgr = cv::Mat(500, 600, CV_8UC3, cv::Scalar(60, 70, 80));
    drawn.panel.wall = cv::Mat(500, 600, CV_8U, cv::Scalar(255));
    drawn.panel.visible = drawn.panel.wall.clone();
    drawn.panel.frontal = drawn.panel.wall.clone();
    drawn.roots.mask = cv::Mat::zeros(500, 600, CV_8U);
    drawn.roots.browned = drawn.roots.mask.clone();
    return drawn;
}

cv::Mat rootsOn(const Panel& panel, const cv::Mat& log_odds)
{
    return rootsFromLogOdds(panel, log_odds, cv::Mat::zeros(log_odds.size(), CV_8U), {}).mask;
}

TEST(RootsFromLogOdds, LeavesOutTheSurfacesOwnEdge)
{
    Drawn drawn = blank();
    for (int x = 0; x < 600; ++x) drawn.panel.wall.col(x).rowRange(0, 20 + x / 10).setTo(0);  // 6 mm aslant
    cv::Mat log_odds(500, 600, CV_32F, cv::Scalar(-5));
    for (int x = 100; x < 400; ++x) log_odds.col(x).rowRange(30 + x / 10, 38 + x / 10).setTo(5);
    EXPECT_EQ(cv::countNonZero(rootsOn(drawn.panel, log_odds)), 0);

    // A root that grows down from the surface is one to its top, and so is the same line further down.
    log_odds(cv::Rect(250, 60, 8, 300)).setTo(5);
    EXPECT_EQ(cv::countNonZero(rootsOn(drawn.panel, log_odds)), cv::countNonZero(log_odds > 0));
    log_odds.setTo(-5);
    for (int x = 100; x < 400; ++x) log_odds.col(x).rowRange(55 + x / 10, 63 + x / 10).setTo(5);
    EXPECT_EQ(cv::countNonZero(rootsOn(drawn.panel, log_odds)), 300 * 8);
}

TEST(RootsFromLogOdds, TakesALabelsLowerEdgeForNoSurface)
{
    Drawn drawn = blank();
    drawn.panel.wall(cv::Rect(200, 0, 200, 200)).setTo(0);
    cv::Mat log_odds(500, 600, CV_32F, cv::Scalar(-5));
    log_odds(cv::Rect(220, 210, 100, 8)).setTo(5);
    EXPECT_EQ(cv::countNonZero(rootsOn(drawn.panel, log_odds)), 100 * 8);
}

TEST(RootsFromLogOdds, BelievesAPersonAtTheSurface)
{
    const Drawn drawn = blank();
    cv::Mat log_odds(500, 600, CV_32F, cv::Scalar(-5));
    log_odds(cv::Rect(220, 5, 100, 8)).setTo(kSaidLogOdds);
    EXPECT_EQ(cv::countNonZero(rootsOn(drawn.panel, log_odds)), 100 * 8);
}

// By construction: 12 of 600 columns over the full height of the bar.
TEST(RootFigures, MeasuresAStraightRoot)
{
    Drawn drawn = blank();
    drawn.roots.mask(cv::Rect(300, 100, 12, 300)).setTo(255);     // 1.2 mm wide, 30 mm long
    drawn.roots.browned(cv::Rect(300, 300, 12, 100)).setTo(255);  // its lower third
    const RootFigures figures = rootFigures(drawn.panel, drawn.roots);
    EXPECT_DOUBLE_EQ(*figures.coverage_percent, 100.0 * 12 * 300 / (600 * 500));
    EXPECT_NEAR(*figures.length, 30, 0.75);  // the estimator's 2 % on upright lines, and a pixel
    EXPECT_NEAR(*figures.width, 1.2, 0.05);
    EXPECT_NEAR(*figures.browned_percent, 100.0 / 3, 1e-9);
    EXPECT_NEAR(*figures.deepest, 50 - 39.9, 0.1);
}

TEST(RootFigures, LeavesOutWhatIsNotSeenFromTheFront)
{
    Drawn drawn = blank();
    drawn.roots.mask(cv::Rect(300, 100, 10, 300)).setTo(255);
    drawn.roots.mask(cv::Rect(20, 100, 10, 300)).setTo(255);
    drawn.panel.frontal.colRange(0, 300).setTo(0);
    const RootFigures figures = rootFigures(drawn.panel, drawn.roots);
    EXPECT_DOUBLE_EQ(*figures.coverage_percent, 100.0 * 10 * 300 / (300 * 500));
    EXPECT_NEAR(*figures.length, 30, 0.75);
}

TEST(RootFigures, GivesNoHeightAboveABaseThatIsGuessed)
{
    Drawn drawn = blank();
    drawn.roots.mask(cv::Rect(300, 100, 12, 300)).setTo(255);
    EXPECT_TRUE(rootFigures(drawn.panel, drawn.roots).deepest);
    drawn.panel.base_known = false;
    EXPECT_FALSE(rootFigures(drawn.panel, drawn.roots).deepest);
    EXPECT_TRUE(rootFigures(drawn.panel, drawn.roots).length);
}

TEST(RootFigures, GivesNoWidthOrDepthWithoutARoot)
{
    const Drawn drawn = blank();
    const RootFigures figures = rootFigures(drawn.panel, drawn.roots);
    EXPECT_EQ(figures.coverage_percent, 0.0);
    EXPECT_EQ(figures.length, 0.0);
    EXPECT_FALSE(figures.width);
    EXPECT_FALSE(figures.browned_percent);
    EXPECT_FALSE(figures.deepest);
}

}  // namespace
}  // namespace slipglass
