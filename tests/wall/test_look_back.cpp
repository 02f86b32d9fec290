// Where photos of a tub stand to each other, and what an earlier one shows of today's wall: drawn tubs,
// turned by a known angle.
#include "slipglass/wall/look_back.h"

#include <gtest/gtest.h>

#include <cmath>
#include <opencv2/imgproc.hpp>

#include "../support/drawn_panel.h"

namespace slipglass {
namespace {

using test::DrawnTub;
using test::kDegree;

Panel panelTurned(double turn_deg, double light = 1, std::uint64_t noise = 1)
{
    DrawnTub drawn;
    drawn.pose = test::standing(7, 1, 4.6);
    drawn.turn_deg = turn_deg;
    drawn.light = light;
    return unrollWall(test::drawTub(drawn, 1.5, noise), 1, test::placed(drawn), {});
}

/// A tub's photos, each placed by those before it.
class Photos {
public:
    TubHistory add(const Panel& panel)
    {
        TubHistory history = lookBack(panel, views_);
        OnSide place = history.place;
        if (place.side.empty()) place.side = "side " + std::to_string(views_.size());
        views_.push_back({place, panel.in_mm, {}, [panel] { return panel; }});
        return history;
    }

private:
    std::vector<EarlierView> views_;
};

/// How far a place of today's front is taken from where it is by construction on a panel of the tub turned by
/// `first_deg`, mm: the worst.
double worstError(const Drift& way, const Panel& today, double today_deg, const Panel& first,
                  double first_deg)
{
    double worst = 0;
    int compared = 0;
    for (int row = 40; row < today.bgr.rows; row += 40)
        for (int column = 40; column < today.bgr.cols; column += 40) {
            if (!today.frontal.at<uchar>(row, column)) continue;
            const PanelPoint now = today.pointAt(column, row);
            const cv::Point2d moved = way.at(column, row);
            const PanelPoint then = first.pointAt(column + moved.x, row + moved.y);
            const double turn_mm = (first_deg - today_deg) * kDegree * today.inner.cone.radiusAt(now.y);
            worst = std::max(worst, std::hypot(then.x - now.x - turn_mm, then.y - now.y));
            ++compared;
        }
    EXPECT_GT(compared, 100) << "places of today's front";
    return worst;
}

double shareKnown(const TubHistory& history, const Panel& today)
{
    if (!history.past) return 0;
    return cv::countNonZero(history.past->visible & today.frontal) /
           static_cast<double>(cv::countNonZero(today.frontal));
}

/// Mean distance of green from today's, which is the same wall.
double offFrom(const Panel& today, const EarlierPanel& past)
{
    cv::Mat difference;
    cv::absdiff(today.bgr, past.bgr, difference);
    return cv::mean(difference, today.frontal & past.visible)[1];
}

TEST(LookBack, HasNoPastOnTheFirstPhoto)
{
    const TubHistory history = Photos().add(panelTurned(0));
    EXPECT_TRUE(history.place.side.empty());
    EXPECT_FALSE(history.past);
    EXPECT_FALSE(history.against_label);
    EXPECT_EQ(history.why_alone, "");
}

TEST(LookBack, TakesTheSecondPhotoWhereTheFirstShowsAnotherSide)
{
    Photos photos;
    photos.add(panelTurned(130));
    EXPECT_NE(photos.add(panelTurned(0)).why_alone, "");
    const Panel today = panelTurned(5);
    const TubHistory history = photos.add(today);
    EXPECT_EQ(history.place.side, "side 1");
    EXPECT_EQ(history.why_alone, "");
    EXPECT_GT(shareKnown(history, today), 0.9);
    EXPECT_EQ(photos.add(panelTurned(127)).place.side, "side 0");
}

TEST(LookBack, TakesTheSecondPhotoWhereTheFirstShowsNoGrains)
{
    Photos photos;
    Panel fogged = panelTurned(0);
    cv::RNG random(7);
    random.fill(fogged.bgr, cv::RNG::NORMAL, 120, 1.5);
    photos.add(fogged);
    const Panel clear = panelTurned(3);
    photos.add(clear);
    const Panel today = panelTurned(8, 1, 2);
    const TubHistory history = photos.add(today);
    EXPECT_EQ(history.place.side, "side 1");
    EXPECT_LT(worstError(history.place.to_reference, today, 8, clear, 3), 0.3);
}

// Tolerance: 0.7 mm, since three steps err by up to 0.3 mm each (test_align.cpp), seldom at the same place.
TEST(LookBack, FollowsATubThatIsTurnedFurtherEachTime)
{
    const Panel first = panelTurned(0), third = panelTurned(40), today = panelTurned(60);
    EXPECT_FALSE(alignTo(today, first).good) << "too far for one step";
    Photos photos;
    photos.add(first);
    photos.add(panelTurned(20));
    photos.add(third);
    const TubHistory history = photos.add(today);
    EXPECT_EQ(history.place.side, "side 0");
    EXPECT_LT(worstError(history.place.to_reference, today, 60, first, 0), 0.7);
    // What the first photo shows is from there, what has come to the front since from later ones.
    EXPECT_GT(shareKnown(history, today), 0.7);
    EXPECT_LT(cv::countNonZero(history.of_reference & today.frontal),
              0.9 * cv::countNonZero(history.past->visible & today.frontal));
    // Against leaving the third where it was; the first sees at a slant, and coarsely, what it shows.
    EXPECT_LT(offFrom(today, *history.past), 0.5 * offFrom(today, {third.bgr, third.visible}));
}

TEST(LookBack, FillsWhatTheFirstPhotoHidesInTheFirstPhotosLight)
{
    Panel first = panelTurned(0);
    const cv::Rect hidden(first.middleColumn() - 60, 300, 120, 120);
    first.bgr(hidden).setTo(cv::Scalar::all(255));
    first.visible(hidden).setTo(0);
    const Panel second = panelTurned(0, 0.6, 2), today = panelTurned(0, 1, 3);
    Photos photos;
    photos.add(first);
    photos.add(second);
    const TubHistory history = photos.add(today);
    EXPECT_EQ(cv::countNonZero(history.past->visible(hidden)), hidden.area());
    const auto green = [&](const Panel& panel) { return cv::mean(panel.bgr(hidden))[1]; };
    EXPECT_LT(green(second) / green(today), 0.7) << "the second photo is dark";
    EXPECT_NEAR(cv::mean(history.past->bgr(hidden))[1] / green(today), 1, 0.05);
    EXPECT_EQ(cv::countNonZero(history.of_reference(hidden)), 0);
}

TEST(LookBack, OpensFewPhotosOfALongSeasonThoughGlareHidesAPartOnAll)
{
    Panel panel = panelTurned(0);
    panel.visible(cv::Rect(panel.visible.cols / 2, 100, 200, 300)).setTo(0);
    const Panel turned = panelTurned(12);
    Panel today = panelTurned(4, 1, 9);
    std::vector<EarlierView> views;
    size_t opened = 0;
    for (int n = 0; n < 300; ++n) {
        const Panel& shown = n == 150 ? turned : panel;
        OnSide place{"front", panel.bgr.size(), Drift{panel.bgr.size(), {}, {}}};
        if (n == 150) place.to_reference = lookBack(turned, views).place.to_reference;
        views.push_back({place, true, {}, [&] { return ++opened, shown; }});
    }
    opened = 0;
    const TubHistory history = lookBack(today, views);
    EXPECT_EQ(history.place.side, "front");
    EXPECT_LE(opened, 20U);
    // What glare hides is filled from the one photo on which the tub was turned.
    EXPECT_GT(shareKnown(history, today), 0.95);
}

TEST(LookBack, SaysWhereAScaleIsMissing)
{
    Photos photos;
    Panel nominal = panelTurned(0);
    nominal.in_mm = false;
    photos.add(nominal);
    EXPECT_NE(photos.add(panelTurned(0)).why_alone.find("scale"), std::string::npos);
    nominal.bgr *= 0.9;
    EXPECT_EQ(photos.add(nominal).place.side, "side 0") << "two of them do compare";
}

}  // namespace
}  // namespace slipglass
