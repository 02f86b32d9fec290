// What a person has set by hand holds: on tubs drawn by construction, by rules, where the learned map would
// only take time.
#include <gtest/gtest.h>

#include <algorithm>
#include <opencv2/imgproc.hpp>

#include "../support/drawn_panel.h"
#include "slipglass/corrections/on_panel.h"
#include "slipglass/observe.h"

namespace slipglass {
namespace {

const test::DrawnTub& drawnTub()
{
    static const test::DrawnTub drawn = [] {
        test::DrawnTub usual;
        usual.pose = test::standing(6, 1, 4.8, 0, 380);
        return usual;
    }();
    return drawn;
}

Settings quick()
{
    Settings settings;
    settings.roots.learned = false;
    settings.roots.min_crest = 20;  // nothing drawn here is a root
    return settings;
}

const cv::Mat& picture()
{
    static const cv::Mat drawn = test::drawTub(drawnTub());
    return drawn;
}

Look lookWith(const std::optional<Correction>& correction, const cv::Mat& bgr = picture())
{
    PhotoFacts facts;
    facts.upright_size = bgr.size();
    facts.focal_35mm = 28;
    TubInPhoto which{"T01", test::drawnType(), std::nullopt};
    which.correction = correction;
    const TakenAt taken{Date{std::chrono::year{2026} / 2 / 1}, std::nullopt};
    return observe({bgr, bgr.size(), 1}, facts, "T01_2026-02-01.jpg", taken, which, {}, quick());
}

const Look& plain()
{
    static const Look look = lookWith(std::nullopt);
    return look;
}

bool hasNote(const Look& look, const std::string& words)
{
    return std::any_of(look.seen.notes.begin(), look.seen.notes.end(),
                       [&](const std::string& note) { return note.find(words) != std::string::npos; });
}

using Corners = std::array<PhotoPoint, 4>;

/// Where the sides, drawn on straight, meet the rim and the table: from the pose the tub was drawn with.
Corners trueCorners()
{
    const View view(drawnTub().pose);
    const double g = view.grazingAngle(), rim = drawnTub().pose.cone.height;
    return {view.photoFromWall({-g, rim}), view.photoFromWall({g, rim}), view.photoFromWall({g, 0}),
            view.photoFromWall({-g, 0})};
}

Correction outlined(Corners corners)
{
    Correction correction;
    correction.outline = corners;
    return correction;
}

// Tolerances as in test_find_tub.cpp: scale within 3 %, roll within 1 degree; pitch, which four corners alone
// hardly tell, within 4.
TEST(AnOutlineSetByHand, PlacesTheTubWhereItIs)
{
    const Look look = lookWith(outlined(trueCorners()));
    ASSERT_EQ(look.seen.state, State::measured);
    EXPECT_TRUE(hasNote(look, "outline set by hand"));
    const View ours(look.panel->inner), truth(innerWall(drawnTub().pose));
    EXPECT_NEAR(ours.pxPerUnit(56) / truth.pxPerUnit(56), 1, 0.03);
    EXPECT_NEAR(look.panel->inner.roll / test::kDegree, 1, 1);
    EXPECT_NEAR(look.panel->inner.pitch / test::kDegree, 6, 4);
    EXPECT_NEAR(*look.seen.coverage_percent, *plain().seen.coverage_percent, 0.2);
    EXPECT_NEAR(*look.seen.medium_height_mm, *plain().seen.medium_height_mm, 3);
    EXPECT_EQ(look.seen.confidence, 1.0);
    EXPECT_FALSE(hasNote(plain(), "by hand"));
}

TEST(AnOutlineSetByHand, MovesTheFiguresWithIt)
{
    Corners moved = trueCorners();
    for (PhotoPoint& corner : moved) corner.x_px += 40;
    const Look aside = lookWith(outlined(moved));
    ASSERT_EQ(aside.seen.outline.size(), 4u);
    // The picture's own foot, which has not moved, may turn the rest of the tub a little about its base.
    for (size_t i = 2; i < 4; ++i)
        EXPECT_NEAR(aside.seen.outline[i].x_px - plain().seen.outline[i].x_px, 40, 10) << i;
    const auto middle = [](const Look& look) {
        return (look.seen.outline[0].x_px + look.seen.outline[1].x_px) / 2;
    };
    EXPECT_NEAR(middle(aside) - middle(plain()), 40, 10);

    // A fifth larger about the middle of its base: by construction, a fifth more px to the mm.
    Corners larger = trueCorners();
    const double x = (larger[2].x_px + larger[3].x_px) / 2, y = (larger[2].y_px + larger[3].y_px) / 2;
    for (PhotoPoint& corner : larger) corner = {x + 1.2 * (corner.x_px - x), y + 1.2 * (corner.y_px - y)};
    const Look closer = lookWith(outlined(larger));
    ASSERT_TRUE(closer.seen.px_per_mm);
    EXPECT_NEAR(*closer.seen.px_per_mm / *plain().seen.px_per_mm, 1.2, 0.06);
}

TEST(AnOutlineSetByHand, MeasuresATubThatCouldNotBeFound)
{
    // Sunk into a heap of the same grains: neither sides nor foot stand out.
    const Corners corners = trueCorners();
    std::vector<cv::Point> tub;
    for (const PhotoPoint& c : corners) tub.emplace_back(cvRound(c.x_px), cvRound(c.y_px));
    cv::Mat around(picture().size(), CV_8U, cv::Scalar(255)), crowded = picture().clone();
    cv::fillConvexPoly(around, tub, 0);
    drawnTub()
        .texture(cv::Rect({0, 0}, cv::Size(picture().cols, 1101)))
        .copyTo(crowded.rowRange(99, 1200), around.rowRange(99, 1200));
    EXPECT_EQ(lookWith(std::nullopt, crowded).seen.state, State::retake);
    const Look helped = lookWith(outlined(corners), crowded);
    EXPECT_NE(helped.seen.state, State::retake);
    const double truth = View(drawnTub().pose).pxPerUnit(drawnTub().surface_mm / 2);
    EXPECT_NEAR(*helped.seen.px_per_mm / truth, 1, 0.03);
}

TEST(AnOutlineSetByHand, IsRefusedWhenItIsNoTub)
{
    const Look look = lookWith(outlined({{{100, 100}, {800, 100}, {800, 130}, {100, 130}}}));
    EXPECT_EQ(look.seen.state, State::retake);
    EXPECT_FALSE(look.remedy.empty());
}

Correction withLine(std::vector<PhotoPoint> line)
{
    Correction correction;
    correction.water_line = std::move(line);
    return correction;
}

TEST(AWaterLineSetByHand, IsTheLevel)
{
    std::vector<PhotoPoint> line;
    for (int x = -30; x <= 30; x += 15) line.push_back(photoFromPanel(*plain().panel, {1.0 * x, 14.0}));
    const Look wet = lookWith(withLine(line));
    EXPECT_TRUE(hasNote(wet, "water line set by hand"));
    EXPECT_NEAR(*wet.seen.water_level_mm, 14, 0.01);
    EXPECT_NEAR(*wet.seen.water_low_mm, 14 - WaterSettings{}.level_error_mm, 0.01);
    EXPECT_EQ(stands(wet.seen.water, 2), true);
    EXPECT_FALSE(wet.seen.water_line.empty());

    const Look dry = lookWith(withLine({}));
    EXPECT_EQ(dry.seen.water_level_mm, 0.0);
    EXPECT_EQ(stands(dry.seen.water, 2), false);
    EXPECT_TRUE(dry.seen.water_line.empty());
}

TEST(AWaterLineSetByHand, IsLeftOutBesideTheTub)
{
    const Look look = lookWith(withLine({{3, 3}, {20, 3}}));
    EXPECT_TRUE(hasNote(look, "beside the tub"));
    EXPECT_EQ(look.seen.water_level_mm, plain().seen.water_level_mm);
}

// By construction: 30 mm of a root 1.2 mm wide on a wall without roots. Tolerance of the area: a panel pixel
// along both edges; of the length: a root width at each end.
TEST(Strokes, AreFinalOnTheirPhoto)
{
    ASSERT_EQ(plain().seen.coverage_percent, 0.0);
    Correction correction;
    const double width = 1.2 * plain().panel->px_per_unit;
    correction.strokes = {
        {true, width, {photoFromPanel(*plain().panel, {0, 30}), photoFromPanel(*plain().panel, {0, 60})}}};
    const Look painted = lookWith(correction);
    EXPECT_TRUE(hasNote(painted, "roots corrected by hand"));
    const double wall = *painted.seen.wall_area_mm2;
    EXPECT_NEAR(*painted.seen.coverage_percent / 100 * wall, 30 * 1.2, 2 * 30 * 0.15);
    EXPECT_NEAR(*painted.seen.root_length_mm, 30, 2.4);
    EXPECT_NEAR(*painted.seen.deepest_root_mm, 30, 1);
    EXPECT_GT(cv::countNonZero(painted.root_mask), 500);

    correction.strokes.push_back(correction.strokes[0]);
    correction.strokes[1].root = false;
    correction.strokes[1].width_px += 2;
    const Look wiped = lookWith(correction);
    EXPECT_LT(*wiped.seen.coverage_percent, 0.02);
}

}  // namespace
}  // namespace slipglass
