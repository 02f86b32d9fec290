#include "slipglass/wall/wall_history.h"

#include <gtest/gtest.h>

#include <opencv2/imgproc.hpp>

#include "../support/bare_wall.h"

namespace slipglass {
namespace {

using test::kHigh;
using test::kScale;
using test::kWide;

/// A flat wall on which nothing is seen.
WallView bareWall()
{
    WallView view = test::bareWall();
    view.panel.px_per_unit = 5.5;
    view.roots.log_odds = cv::Mat(kHigh, kWide, CV_32F, cv::Scalar(-5));
    view.roots.if_root_browned = cv::Mat::zeros(kHigh, kWide, CV_8U);
    return view;
}

/// A level root, 8 px (1.2 mm) thick, from column 40 on.
void drawRoot(WallView& view, double length_mm, float log_odds, int row = 100, int from = 40)
{
    const int length = static_cast<int>(length_mm / kScale);
    view.roots.log_odds(cv::Rect(from, row - 4, length, 8)).setTo(log_odds);
}

WallView wallWithRoot(double length_mm, float log_odds = 4)
{
    WallView view = bareWall();
    drawRoot(view, length_mm, log_odds);
    return view;
}

void hide(WallView& view, cv::Rect part)
{
    view.panel.visible(part).setTo(0);
    view.panel.frontal(part).setTo(0);
    view.roots.log_odds(part).setTo(-3);
}

/// One side's photos, read together.
struct WallHistory {
    std::vector<WallReading> readings;
    cv::Mat first_seen;
    WallSum to_go_on;
};

SidePhotos sideOf(const std::vector<WallView>& views)
{
    return {{kWide, kHigh}, views.size(), [&views](size_t nth) {
                return decodeWallView(encodeWallView(views[nth]));
            }};
}

/// @param from, first  as readSide takes them.
WallHistory read(const std::vector<WallView>& views, const RootSettings& settings = {},
                 const WallSum& from = {}, size_t first = 0)
{
    WallHistory history;
    SideReading done =
        readSide(sideOf(views), from, first, settings, [&](size_t nth, const WallView&, WallReading reading) {
            EXPECT_EQ(nth, first + history.readings.size());
            history.readings.push_back(std::move(reading));
        });
    history.first_seen = done.first_seen;
    history.to_go_on = done.to_go_on;
    return history;
}

double percentOf(const WallReading& reading)
{
    return 100.0 * cv::countNonZero(reading.roots.mask) / (kWide * kHigh);
}

constexpr double kEnds = 1.5;  // mm: a root's width, since its ends are as round as its tips are sharp

TEST(WallHistory, DatesEachPieceOfARoot)
{
    const WallHistory history = read({bareWall(), wallWithRoot(10), wallWithRoot(25)});
    EXPECT_EQ(history.first_seen.at<ushort>(100, 60), 2);
    EXPECT_EQ(history.first_seen.at<ushort>(100, 180), 3);
    EXPECT_EQ(history.first_seen.at<ushort>(20, 60), 0);
    EXPECT_FALSE(history.readings[0].gained);
    EXPECT_NEAR(history.readings[1].gained.value_or(0), 10, kEnds);
    EXPECT_NEAR(history.readings[2].gained.value_or(0), 15, kEnds);
    EXPECT_EQ(history.readings[2].lost, 0);
}

TEST(WallHistory, FollowsATurnOfTheTub)
{
    // The second panel shows everything 30 px further left, and half a pixel lower.
    WallView turned = bareWall();
    drawRoot(turned, 25, 4, 100, 10);
    turned.to_reference = Drift{{kWide, kHigh}, {30}, {-0.5}};
    const WallHistory history = read({wallWithRoot(10), turned});
    EXPECT_EQ(history.first_seen.at<ushort>(100, 60), 1);
    EXPECT_EQ(history.first_seen.at<ushort>(100, 180), 2);
    EXPECT_NEAR(history.readings[1].gained.value_or(0), 15, kEnds);
}

TEST(WallHistory, ReadsBesideTheFirstPanelWhatTwoLaterPhotosShow)
{
    // Both show the wall 250 px further right: their roots lie at 290 to 457 of the reference panel's 301
    // columns.
    WallView faint = wallWithRoot(25, -0.8F), plain = wallWithRoot(25);
    faint.to_reference->x[0] = plain.to_reference->x[0] = 250;
    const WallHistory history = read({bareWall(), plain, faint, plain});
    EXPECT_GT(percentOf(history.readings[2]), 1.5);
    EXPECT_EQ(history.first_seen.size(), cv::Size(kWide, kHigh)) << "the map stays on the reference panel";
    EXPECT_EQ(history.first_seen.at<ushort>(100, 295), 2);
    EXPECT_EQ(history.first_seen.at<ushort>(100, 60), 0);
}

TEST(WallHistory, DoesNotCountAsGainedWhatNoEarlierPhotoCouldShow)
{
    WallView first = bareWall();
    hide(first, {100, 0, 201, kHigh});
    const WallHistory history = read({first, wallWithRoot(25)});
    EXPECT_NEAR(history.readings[1].gained.value_or(0), 9, kEnds);
}

TEST(WallHistory, TakesAFaintRootFromPhotosThatShowItWell)
{
    const WallView faint = wallWithRoot(25, -0.8F);
    EXPECT_EQ(percentOf(read({faint}).readings[0]), 0);
    EXPECT_GT(percentOf(read({bareWall(), wallWithRoot(25), faint, wallWithRoot(25)}).readings[2]), 1.5);
}

TEST(WallHistory, DropsWhatOnePhotoAloneShowsWeakly)
{
    const WallView once = wallWithRoot(25, 0.8F);
    EXPECT_GT(percentOf(read({once}).readings[0]), 1.5);
    EXPECT_EQ(percentOf(read({bareWall(), bareWall(), once, bareWall(), bareWall()}).readings[2]), 0);
}

TEST(WallHistory, CallsARootBehindGlareHiddenAndNotLost)
{
    WallView glare = wallWithRoot(25);
    hide(glare, {100, 0, 60, kHigh});
    const WallHistory history = read({bareWall(), wallWithRoot(25), glare, wallWithRoot(25)});
    EXPECT_NEAR(history.readings[2].hidden.value_or(0), 60 * kScale, kEnds);
    EXPECT_EQ(history.readings[2].lost, 0);
    EXPECT_EQ(history.readings[3].gained, 0);
    EXPECT_EQ(history.readings[1].hidden, 0);
}

TEST(WallHistory, CallsARootLostThatLaterPhotosDoNotShow)
{
    const WallHistory history =
        read({bareWall(), wallWithRoot(25), wallWithRoot(25), bareWall(), bareWall(), bareWall()});
    EXPECT_NEAR(history.readings[5].lost.value_or(0), 25, 2 * kEnds);
    EXPECT_EQ(percentOf(history.readings[5]), 0);
}

TEST(WallHistory, LetsAPersonsWordStandAgainstAllOtherPhotos)
{
    const WallView said = wallWithRoot(25, kSaidLogOdds), denied = wallWithRoot(25, -kSaidLogOdds);
    EXPECT_GT(percentOf(read({bareWall(), said, bareWall(), bareWall()}).readings[1]), 1.5);
    EXPECT_EQ(percentOf(read({bareWall(), wallWithRoot(25), denied, wallWithRoot(25)}).readings[2]), 0);
}

TEST(WallHistory, KeepsAPersonsDabHoweverShort)
{
    WallView dab = bareWall();
    drawRoot(dab, 0.6, kSaidLogOdds);
    EXPECT_EQ(cv::countNonZero(read({bareWall(), dab}).readings[1].roots.mask), 4 * 8);
    EXPECT_EQ(cv::countNonZero(read({dab}).readings[0].roots.mask), 4 * 8);
}

TEST(WallHistory, LosesNothingWhenAnEdgeMovesOrOnePhotoErred)
{
    WallView thinner = bareWall();
    thinner.roots.log_odds(cv::Rect(40, 98, 167, 4)).setTo(4);
    EXPECT_EQ(read({bareWall(), wallWithRoot(25), wallWithRoot(25), thinner}).readings[3].lost, 0);
    EXPECT_EQ(read({bareWall(), wallWithRoot(25), bareWall(), bareWall()}).readings[3].lost, 0);
}

/// A dozen photos more than are asked about one: roots that grow, on a tub that is turned now and then.
std::vector<WallView> longSeason()
{
    std::vector<WallView> views;
    for (int n = 0; n < static_cast<int>(kLaterAsked) + 12; ++n) {
        WallView view = wallWithRoot(2.0 + n, n % 3 ? 0.6F : 3);
        drawRoot(view, n > 9 ? 12 : 1, 2.5F, 60, 60);
        if (n % 5 == 4) hide(view, {80, 90, 60, 20});
        if (n % 4 == 3) view.to_reference->x[0] = 4.0 * n;
        if (n % 7 == 6) view.to_reference->x[0] = -3.5 * n;
        views.push_back(view);
    }
    return views;
}

void expectSame(const WallReading& one, const WallReading& other)
{
    EXPECT_EQ(cv::norm(one.roots.log_odds, other.roots.log_odds, cv::NORM_INF), 0);
    EXPECT_EQ(cv::norm(one.roots.mask, other.roots.mask, cv::NORM_INF), 0);
    EXPECT_EQ(one.photos_read, other.photos_read);
    EXPECT_EQ(one.gained, other.gained);
    EXPECT_EQ(one.hidden, other.hidden);
    EXPECT_EQ(one.lost, other.lost);
}

TEST(WallHistory, IsTheSameToTheBitWhenItWasReadOnDateByDate)
{
    const std::vector<WallView> views = longSeason();
    const WallHistory at_once = read(views);
    std::vector<WallReading> readings;
    WallSum sum;
    for (size_t count = 1; count <= views.size(); ++count) {
        const std::vector<WallView> so_far(views.begin(), views.begin() + static_cast<std::ptrdiff_t>(count));
        const size_t first = count > kLaterAsked + 1 ? count - kLaterAsked - 1 : 0;
        // Through the season file each time.
        const auto kept = sum.photos > 0 ? decodeWallSum(encodeWallSum(sum)) : std::optional(WallSum{});
        ASSERT_TRUE(kept);
        WallHistory now = read(so_far, {}, *kept, first);
        readings.resize(count);
        for (size_t i = 0; i < now.readings.size(); ++i) readings[first + i] = std::move(now.readings[i]);
        sum = now.to_go_on;
        EXPECT_EQ(sum.photos, count > kLaterAsked ? static_cast<int>(count - kLaterAsked) : 0);
        if (count < views.size()) continue;
        EXPECT_EQ(cv::norm(now.first_seen, at_once.first_seen, cv::NORM_INF), 0);
    }
    for (size_t i = 0; i < views.size(); ++i) {
        SCOPED_TRACE("photo " + std::to_string(i));
        expectSame(readings[i], at_once.readings[i]);
    }
    EXPECT_GT(cv::countNonZero(at_once.first_seen), 500);
    double gained = 0;
    for (const WallReading& reading : at_once.readings) gained += reading.gained.value_or(0);
    EXPECT_GT(gained, 10);
}

TEST(WallHistory, OpensEachViewTwiceAndNoneBeforeItIsAsked)
{
    // Where the tub was turned those that wait are opened anew, on a wider canvas.
    std::vector<WallView> views;
    for (size_t n = 0; n < kLaterAsked + 12; ++n) views.push_back(wallWithRoot(2.0 + static_cast<double>(n)));
    size_t opened = 0, read_so_far = 0, furthest = 0;
    SidePhotos side = sideOf(views);
    side.view = [&](size_t nth) {
        ++opened;
        furthest = std::max(furthest, nth - read_so_far);
        return decodeWallView(encodeWallView(views[nth]));
    };
    readSide(side, {}, 0, {}, [&](size_t, const WallView&, const WallReading&) { ++read_so_far; });
    EXPECT_EQ(opened, 2 * views.size());
    EXPECT_EQ(furthest, kLaterAsked);
}

TEST(WallHistory, GoesOnWithoutAViewThatCannotBeOpened)
{
    const std::vector<WallView> views{bareWall(), wallWithRoot(10), wallWithRoot(10), wallWithRoot(25)};
    SidePhotos side = sideOf(views);
    side.view = [&](size_t nth) {
        return nth == 2 ? std::nullopt : decodeWallView(encodeWallView(views[nth]));
    };
    std::vector<size_t> read;
    const SideReading done = readSide(
        side, {}, 0, {}, [&](size_t nth, const WallView&, const WallReading&) { read.push_back(nth); });
    EXPECT_EQ(read, (std::vector<size_t>{0, 1, 3}));
    EXPECT_EQ(done.first_seen.at<ushort>(100, 60), 2);
    EXPECT_EQ(done.first_seen.at<ushort>(100, 180), 4);
}

TEST(WallSum, IsRefusedWhenItIsNone)
{
    std::vector<WallView> views = longSeason();
    const std::string bytes = encodeWallSum(read(views).to_go_on);
    EXPECT_TRUE(decodeWallSum(bytes));
    EXPECT_FALSE(decodeWallSum(""));
    EXPECT_FALSE(decodeWallSum("{}\n"));
    EXPECT_FALSE(decodeWallSum(bytes.substr(0, bytes.size() - 9)));
}

TEST(WallHistory, CanBeSwitchedOff)
{
    RootSettings settings;
    settings.history = false;
    const WallView once = wallWithRoot(25, 0.8F);
    const WallHistory history = read({bareWall(), bareWall(), once, bareWall(), bareWall()}, settings);
    EXPECT_GT(percentOf(history.readings[2]), 1.5);
}

TEST(WallViewFile, KeepsAViewWithinAStepOfItsOdds)
{
    WallView view = wallWithRoot(25, 3.33F);
    drawRoot(view, 10, kSaidLogOdds, 30);
    drawRoot(view, 10, -kSaidLogOdds, 60);
    view.roots.if_root_browned(cv::Rect(50, 90, 30, 20)).setTo(255);
    view.panel.wall(cv::Rect(0, 0, kWide, 10)).setTo(0);
    view.panel.visible(cv::Rect(0, 0, kWide, 12)).setTo(0);
    view.panel.frontal(cv::Rect(0, 0, kWide, 14)).setTo(0);
    view.panel.inner.cone = {44, 0.08, 140, 0.8};
    view.panel.inner.base = {1, 2, 300};
    view.panel.base_known = false;
    view.to_reference->x = {30, 1, 2, 3, 4, 5};
    const auto back = decodeWallView(encodeWallView(view));
    ASSERT_TRUE(back);
    const cv::Rect wall(0, 10, kWide, kHigh - 10);
    // Half a step of 0.05; -5 is kept as it is.
    EXPECT_LE(cv::norm(back->roots.log_odds(wall), view.roots.log_odds(wall), cv::NORM_INF), 0.0251);
    EXPECT_EQ(cv::countNonZero(back->roots.log_odds == kSaidLogOdds),
              cv::countNonZero(view.roots.log_odds == kSaidLogOdds));
    EXPECT_EQ(cv::norm(back->roots.if_root_browned, view.roots.if_root_browned, cv::NORM_INF), 0);
    for (const auto part : {&Panel::wall, &Panel::visible, &Panel::frontal})
        EXPECT_EQ(cv::norm(back->panel.*part, view.panel.*part, cv::NORM_INF), 0);
    EXPECT_EQ(back->to_reference->x, view.to_reference->x);
    EXPECT_EQ(back->to_reference->size, cv::Size(kWide, kHigh));
    EXPECT_EQ(back->panel.inner.cone.slope, 0.08);
    EXPECT_FALSE(back->panel.base_known);
    EXPECT_EQ(back->panel.inner.base.z, 300);
    EXPECT_EQ(back->panel.pointAt(0, 0).x, view.panel.pointAt(0, 0).x);
}

TEST(WallViewFile, IsRefusedWhenItIsNone)
{
    WallViewFile file = encodeWallView(bareWall());
    EXPECT_FALSE(decodeWallView({"no picture", file.meta}));
    EXPECT_FALSE(decodeWallView({file.bytes, "{}"}));
    EXPECT_FALSE(decodeWallView({file.bytes, "not JSON"}));
}

}  // namespace
}  // namespace slipglass
