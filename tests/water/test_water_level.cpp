// Truth by construction: lines and shades drawn on a panel at known heights.
#include "slipglass/water/water_level.h"

#include <gtest/gtest.h>

#include <cmath>
#include <functional>
#include <opencv2/imgproc.hpp>

#include "../support/drawn_tub.h"

namespace slipglass {
namespace {

/// 120 mm round, 100 mm of medium, seen down to the floor.
Panel grainPanel()
{
    Panel panel;
    panel.mm_per_px = test::kTextureMmPerPx;
    panel.top_mm = 103;
    panel.in_mm = true;
    const int rows = static_cast<int>(105 / panel.mm_per_px), columns = 801;
    test::grainTexture(7)(cv::Rect(1000, 200, columns, rows)).copyTo(panel.bgr);
    panel.wall = cv::Mat::zeros(panel.bgr.size(), CV_8U);
    panel.wall.rowRange(static_cast<int>(panel.rowAt(100)), static_cast<int>(panel.rowAt(1.4))).setTo(255);
    panel.visible = panel.wall.clone();
    panel.frontal = panel.wall.clone();
    panel.frontal.colRange(0, 80).setTo(0);
    panel.frontal.colRange(columns - 80, columns).setTo(0);
    return panel;
}

/// Every pixel's levels by its place.
void shade(Panel& panel, const std::function<cv::Vec3d(const cv::Vec3d&, PanelPoint)>& change)
{
    for (int r = 0; r < panel.bgr.rows; ++r)
        for (int c = 0; c < panel.bgr.cols; ++c) {
            auto& px = panel.bgr.at<cv::Vec3b>(r, c);
            const cv::Vec3d v = change(cv::Vec3d(px), panel.pointAt(c, r));
            for (int k = 0; k < 3; ++k) px[k] = cv::saturate_cast<uchar>(v[k]);
        }
}

/// Filled pores below a level, and the bright line of its surface where `lit` says so.
void pour(
    Panel& panel, double level_mm, const std::function<bool(double)>& lit = [](double) { return true; })
{
    shade(panel, [&](const cv::Vec3d& v, PanelPoint at) -> cv::Vec3d {
        const cv::Vec3d wet = at.y_mm < level_mm ? cv::Vec3d(0.72 * v) : v;
        const double line = 45 * std::exp(-std::pow((at.y_mm - level_mm) / 0.25, 2));
        return lit(at.x_mm) ? wet + cv::Vec3d::all(line) : wet;
    });
}

/// No water is claimed; whether there is none may be open.
void expectNoLevel(const Panel& panel, const std::string& what)
{
    const WaterReading reading = waterLevel(panel, std::nullopt, {});
    EXPECT_EQ(reading.level_mm.value_or(0), 0) << what;
    EXPECT_EQ(reading.low_mm.value_or(-1), 0) << what;
    EXPECT_TRUE(reading.level_mm || !reading.note.empty()) << what;
}

class WaterAtHeight : public testing::TestWithParam<double> {};

// Tolerance: two rows of the panel.
TEST_P(WaterAtHeight, IsFoundThere)
{
    Panel panel = grainPanel();
    pour(panel, GetParam());
    const WaterReading reading = waterLevel(panel, std::nullopt, {});
    ASSERT_TRUE(reading.level_mm && reading.low_mm && reading.high_mm);
    EXPECT_NEAR(*reading.level_mm, GetParam(), 0.3);
    EXPECT_LE(*reading.low_mm, GetParam());
    EXPECT_GE(*reading.high_mm, GetParam());
}
INSTANTIATE_TEST_SUITE_P(Heights, WaterAtHeight, testing::Values(4.0, 6.1, 12.0, 26.0, 55.0));

void expectNoWater(const Panel& panel, const std::string& what,
                   const std::optional<EarlierPanel>& first = std::nullopt)
{
    const WaterReading reading = waterLevel(panel, first, {});
    ASSERT_TRUE(reading.level_mm) << what;
    EXPECT_EQ(*reading.level_mm, 0) << what << ": " << reading.note;
    EXPECT_EQ(reading.low_mm.value_or(-1), 0) << what;
    EXPECT_GT(reading.high_mm.value_or(0), 0) << what;
    EXPECT_LT(reading.high_mm.value_or(9), 5) << what;
}

TEST(WaterLevel, IsZeroWithAnIntervalWhereNoneStands)
{
    expectNoWater(grainPanel(), "grains");
}

TEST(WaterLevel, DoesNotTakeDampMediumForWater)
{
    Panel panel = grainPanel();
    shade(panel, [](const cv::Vec3d& v, PanelPoint at) -> cv::Vec3d {
        return (0.65 + 0.35 * std::clamp((at.y_mm - 28) / 5, 0.0, 1.0)) * v;
    });
    expectNoWater(panel, "damp below 30 mm");
}

TEST(WaterLevel, AsksForALineAllRoundTheFront)
{
    Panel half = grainPanel(), grains = grainPanel();
    pour(half, 15, [](double x) { return x < 0; });
    expectNoWater(half, "a line round half of the front");
    shade(grains, [](const cv::Vec3d& v, PanelPoint at) -> cv::Vec3d {
        const bool grain = std::fmod(at.x_mm + 200, 7) < 2 && std::abs(at.y_mm - 15) < 0.5;
        return grain ? v + cv::Vec3d::all(90) : v;
    });
    expectNoWater(grains, "a row of pale grains");
}

TEST(WaterLevel, AsksForALevelLine)
{
    Panel panel = grainPanel();
    shade(panel, [](const cv::Vec3d& v, PanelPoint at) -> cv::Vec3d {
        return v + cv::Vec3d::all(45 * std::exp(-std::pow((at.y_mm - 20 - 0.08 * at.x_mm) / 0.25, 2)));
    });
    expectNoWater(panel, "a slanting root");
}

TEST(WaterLevel, IsNotKnownWhenTheFootCannotBeSeen)
{
    Panel panel = grainPanel();
    pour(panel, 12);
    panel.frontal.rowRange(static_cast<int>(panel.rowAt(6)), panel.frontal.rows).setTo(0);
    const WaterReading reading = waterLevel(panel, std::nullopt, {});
    EXPECT_FALSE(reading.level_mm);
    EXPECT_FALSE(reading.low_mm);
    EXPECT_FALSE(reading.high_mm);
    panel.frontal.setTo(0);
    EXPECT_FALSE(waterLevel(panel, std::nullopt, {}).level_mm);
}

TEST(WaterLevel, SeesWaterThroughUnevenLight)
{
    Panel panel = grainPanel();
    pour(panel, 18);
    shade(panel, [](const cv::Vec3d& v, PanelPoint at) -> cv::Vec3d { return (1 + 0.004 * at.x_mm) * v; });
    EXPECT_NEAR(waterLevel(panel, std::nullopt, {}).level_mm.value_or(-1), 18, 0.3);
}

/// The same grains at another date, under another exposure.
EarlierPanel firstOf(const Panel& panel, double exposure = 1.15)
{
    EarlierPanel first{exposure * panel.bgr, panel.visible.clone()};
    return first;
}

/// Water in the pores: darker, richer in colour, its grains standing out less. No line.
cv::Vec3d filled(const cv::Vec3d& v)
{
    const cv::Vec3d mean(48, 68, 88);  // of grainTexture
    const cv::Vec3d wet = 0.66 * (mean + 0.7 * (v - mean));
    return {0.88 * wet[0], wet[1], wet[2]};
}

void flood(Panel& panel, double level_mm)
{
    shade(panel, [&](const cv::Vec3d& v, PanelPoint at) { return at.y_mm < level_mm ? filled(v) : v; });
}

void drawLine(Panel& panel, double at_mm, double strength, double half_width_mm = 0.25, double slope = 0)
{
    shade(panel, [&](const cv::Vec3d& v, PanelPoint at) -> cv::Vec3d {
        const double off = (at.y_mm - at_mm - slope * at.x_mm) / half_width_mm;
        return v + cv::Vec3d::all(strength * std::exp(-off * off));
    });
}

void hide(Panel& panel, double from_mm, double to_mm)
{
    panel.visible.rowRange(static_cast<int>(panel.rowAt(to_mm)), static_cast<int>(panel.rowAt(from_mm)))
        .setTo(0);
    panel.frontal &= panel.visible;
}

class FilledPores : public testing::TestWithParam<double> {};

// Tolerance: the edge is looked for over 1.5 mm, and grains are as large.
TEST_P(FilledPores, AreWaterWithoutALine)
{
    Panel panel = grainPanel();
    const EarlierPanel dry = firstOf(panel);
    flood(panel, GetParam());
    const WaterReading reading = waterLevel(panel, dry, {});
    EXPECT_NEAR(reading.level_mm.value_or(-1), GetParam(), 0.6);
    EXPECT_LE(reading.low_mm.value_or(99), GetParam());
    EXPECT_GE(reading.high_mm.value_or(-99), GetParam());
    EXPECT_NE(reading.note.find("filled pores"), std::string::npos);
}
INSTANTIATE_TEST_SUITE_P(Heights, FilledPores, testing::Values(5.0, 8.0, 15.0, 30.0, 60.0));

// One set of grains cannot tell a filling of pores from damp or from another medium: neither water nor none.
TEST(WaterLevel, IsNotKnownWhereFilledPoresAreSeenOnceAndWithoutALine)
{
    Panel panel = grainPanel();
    flood(panel, 20);
    const WaterReading reading = waterLevel(panel, std::nullopt, {});
    EXPECT_FALSE(reading.level_mm);
    EXPECT_EQ(reading.low_mm.value_or(-1), 0);
    EXPECT_NEAR(reading.high_mm.value_or(-1), 21, 1);
    EXPECT_EQ(reading.note, "darker below 20 mm without a line: damp, another layer or water; look");
}

TEST(WaterLevel, TakesAWeakOrBrokenLineOverFilledPores)
{
    Panel weak = grainPanel(), broken = grainPanel();
    const EarlierPanel dry = firstOf(weak);
    flood(weak, 14);
    drawLine(weak, 14, 16);
    flood(broken, 14);
    shade(broken, [](const cv::Vec3d& v, PanelPoint at) -> cv::Vec3d {
        const bool lit = std::fmod(at.x_mm + 200, 10) < 6;
        return lit ? v + cv::Vec3d::all(45 * std::exp(-std::pow((at.y_mm - 14) / 0.25, 2))) : v;
    });
    EXPECT_NEAR(waterLevel(weak, dry, {}).level_mm.value_or(-1), 14, 0.6);
    EXPECT_NEAR(waterLevel(broken, dry, {}).level_mm.value_or(-1), 14, 0.6);
}

// A table is level to a degree or so.
TEST(WaterLevel, FollowsATableThatIsNotQuiteLevel)
{
    Panel panel = grainPanel();
    shade(panel,
          [](const cv::Vec3d& v, PanelPoint at) { return at.y_mm < 18 + 0.018 * at.x_mm ? filled(v) : v; });
    drawLine(panel, 18, 45, 0.25, 0.018);
    const WaterReading reading = waterLevel(panel, std::nullopt, {});
    EXPECT_NEAR(reading.level_mm.value_or(-1), 18, 0.4);
    EXPECT_NEAR(reading.tilt.slope, 0.018, 0.007);
}

TEST(WaterLevel, FindsWaterThatStoodThereOnTheFirstPhotoAlready)
{
    Panel panel = grainPanel();
    flood(panel, 16);
    drawLine(panel, 16, 45);
    EXPECT_NEAR(waterLevel(panel, firstOf(panel), {}).level_mm.value_or(-1), 16, 0.3);
}

TEST(WaterLevel, FindsWaterThatHasFallenSinceTheFirstPhoto)
{
    Panel panel = grainPanel(), before = panel;
    before.bgr = panel.bgr.clone();
    flood(before, 30);
    flood(panel, 11);
    drawLine(panel, 11, 45);
    EXPECT_NEAR(waterLevel(panel, firstOf(before), {}).level_mm.value_or(-1), 11, 0.3);
}

TEST(WaterLevel, DoesNotTakeARidgeOfTheTubForWater)
{
    Panel panel = grainPanel();
    drawLine(panel, 22, 45);
    expectNoWater(panel, "first photo");
    expectNoWater(panel, "the same line on the first photo", firstOf(panel));
    const EarlierPanel before = firstOf(panel);
    Panel wet = panel;
    wet.bgr = panel.bgr.clone();
    flood(wet, 9);
    drawLine(wet, 9, 45);
    EXPECT_NEAR(waterLevel(wet, before, {}).level_mm.value_or(-1), 9, 0.3) << "water under a ridge";
}

TEST(WaterLevel, DoesNotTakeGlareForWater)
{
    for (const double half_width_mm : {0.3, 1.0, 3.0}) {
        Panel panel = grainPanel();
        const EarlierPanel before = firstOf(panel);
        drawLine(panel, 25, 60, half_width_mm);
        expectNoWater(panel, "strip of glare " + std::to_string(half_width_mm), before);
        expectNoWater(panel, "strip of glare on the first photo " + std::to_string(half_width_mm));
    }
}

// A shadow takes as much light from every grain.
TEST(WaterLevel, DoesNotTakeAShadowForWater)
{
    Panel panel = grainPanel();
    const EarlierPanel before = firstOf(panel);
    shade(panel, [](const cv::Vec3d& v, PanelPoint at) { return at.y_mm < 24 ? cv::Vec3d(0.68 * v) : v; });
    expectNoWater(panel, "level edge of a shadow", before);
    expectNoWater(panel, "level edge of a shadow on the first photo");
}

// Damp fades over some mm, and its pores hold air: grains stand out as before.
TEST(WaterLevel, DoesNotTakeDampMediumForWaterWhereItWasDryBefore)
{
    for (const double fades_over_mm : {4.0, 8.0, 20.0}) {
        Panel panel = grainPanel();
        const EarlierPanel dry = firstOf(panel);
        shade(panel, [&](const cv::Vec3d& v, PanelPoint at) -> cv::Vec3d {
            const double damp = std::clamp((30 - at.y_mm) / fades_over_mm + 0.5, 0.0, 1.0);
            return (1 - damp) * v + damp * filled(v);
        });
        expectNoWater(panel, "damp fading over " + std::to_string(fades_over_mm), dry);
        expectNoLevel(panel, "damp on the first photo, fading over " + std::to_string(fades_over_mm));
    }
}

// Media poured one over the other meet within a grain or two, not at one height.
TEST(WaterLevel, DoesNotTakeALayerOfAnotherMediumForWater)
{
    Panel panel = grainPanel();
    cv::RNG random(11);
    std::vector<double> edge;
    for (int i = 0; i < 200; ++i) edge.push_back(26 + random.gaussian(1.0));
    shade(panel, [&](const cv::Vec3d& v, PanelPoint at) {
        return at.y_mm < edge[static_cast<size_t>(at.x_mm / 1.2 + 100)] ? filled(v) : v;
    });
    expectNoWater(panel, "two layers, seen before", firstOf(panel));
    expectNoLevel(panel, "two layers on the first photo");
}

TEST(WaterLevel, DoesNotTakeALevelRootForWater)
{
    Panel panel = grainPanel();
    const EarlierPanel before = firstOf(panel);
    shade(panel, [](const cv::Vec3d& v, PanelPoint at) -> cv::Vec3d {
        const bool root = at.x_mm > -25 && std::abs(at.y_mm - 17) < 0.4;
        return root ? cv::Vec3d(190, 205, 210) : v;
    });
    expectNoWater(panel, "a root round most of the front", before);
    expectNoWater(panel, "the same without a first photo");
}

TEST(WaterLevel, DoesNotTakeTheHeelOrTheTableForWater)
{
    Panel panel = grainPanel();
    drawLine(panel, 1.9, 90, 0.3);
    shade(panel,
          [](const cv::Vec3d& v, PanelPoint at) { return at.y_mm < 1.2 ? cv::Vec3d(150, 160, 170) : v; });
    expectNoWater(panel, "heel and table");
}

TEST(WaterLevel, IsNotSaidToBeZeroWhereItMayStandBehindTheLabel)
{
    Panel panel = grainPanel();
    const EarlierPanel dry = firstOf(panel);
    flood(panel, 45);
    hide(panel, 30, 68);
    for (const auto& first : {std::optional<EarlierPanel>{}, std::optional<EarlierPanel>{dry}}) {
        const WaterReading reading = waterLevel(panel, first, {});
        EXPECT_FALSE(reading.level_mm);
        EXPECT_EQ(reading.low_mm.value_or(-1), 0);
        EXPECT_GE(reading.high_mm.value_or(-1), 45);
        EXPECT_EQ(reading.note, "water may stand unseen between 30 and 68 mm behind the label or glare");
    }
}

TEST(WaterLevel, IsZeroWhereTheWallUnderALabelIsAsDryAsOverIt)
{
    Panel panel = grainPanel();
    hide(panel, 30, 68);
    expectNoWater(panel, "label over dry medium", firstOf(panel));
}

TEST(WaterLevel, IsFoundAboveTheLabel)
{
    Panel panel = grainPanel();
    flood(panel, 80);
    drawLine(panel, 80, 45);
    hide(panel, 30, 68);
    EXPECT_NEAR(waterLevel(panel, std::nullopt, {}).level_mm.value_or(-1), 80, 0.3);
}

TEST(WaterLevel, SaysSoWhereItStandsAtTheSurface)
{
    Panel panel = grainPanel();
    const EarlierPanel dry = firstOf(panel);
    flood(panel, 96);
    drawLine(panel, 96, 45);
    const WaterReading reading = waterLevel(panel, dry, {});
    EXPECT_NEAR(reading.level_mm.value_or(-1), 96, 0.3);
    EXPECT_EQ(reading.note, "water stands at the medium's surface");
}

// A phone's picture is brighter, darker, warmer, blurred.
TEST(WaterLevel, IsTheSameForAnotherPhone)
{
    Panel panel = grainPanel();
    const EarlierPanel dry = firstOf(panel);
    flood(panel, 13);
    drawLine(panel, 13, 30);
    for (const double light : {0.6, 1.0, 1.5}) {
        Panel other = panel;
        cv::multiply(panel.bgr, cv::Scalar(0.8 * light, light, 1.1 * light), other.bgr);
        cv::GaussianBlur(other.bgr, other.bgr, {}, 1.5);
        const WaterReading reading = waterLevel(other, dry, {});
        EXPECT_NEAR(reading.level_mm.value_or(-1), 13, 0.8) << light;  // line and edge lie that far apart
        EXPECT_LE(reading.low_mm.value_or(99), 13) << light;
        EXPECT_GE(reading.high_mm.value_or(-99), 13) << light;
    }
}

}  // namespace
}  // namespace slipglass
