// From a drawn wall through the network to the level. Truth by construction: lines and shades drawn on grains
// at known heights. The network has seen none of these.
#include <gtest/gtest.h>

#include <cmath>
#include <functional>
#include <opencv2/imgproc.hpp>

#include "../support/drawn_tub.h"
#include "slipglass/roots/find_roots.h"
#include "slipglass/water/water_level.h"

namespace slipglass {
namespace {

/// 120 mm round, 100 mm of medium, seen down to the floor.
Panel grainPanel()
{
    Panel panel;
    panel.inner = innerWall(test::standing(6, 0));
    panel.unit_per_px = test::kTextureMmPerPx;
    panel.px_per_unit = 4.4;
    panel.top = 103;
    panel.in_mm = true;
    const int rows = static_cast<int>(105 / panel.unit_per_px), columns = 801;
    test::grainTexture(7)(cv::Rect(1000, 200, columns, rows)).copyTo(panel.bgr);
    panel.wall = cv::Mat::zeros(panel.bgr.size(), CV_8U);
    panel.wall.rowRange(static_cast<int>(panel.rowAt(100)), static_cast<int>(panel.rowAt(1.4))).setTo(255);
    panel.visible = panel.wall.clone();
    panel.frontal = panel.wall.clone();
    return panel;
}

Panel copyOf(const Panel& panel)
{
    Panel copy = panel;
    copy.bgr = panel.bgr.clone();
    return copy;
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

/// Water in the pores: darker, richer in colour, its grains standing out less.
cv::Vec3d filled(const cv::Vec3d& v)
{
    const cv::Vec3d mean(48, 68, 88);  // of grainTexture
    const cv::Vec3d wet = 0.66 * (mean + 0.7 * (v - mean));
    return {0.88 * wet[0], wet[1], wet[2]};
}

void flood(Panel& panel, double level_mm)
{
    shade(panel, [&](const cv::Vec3d& v, PanelPoint at) { return at.y < level_mm ? filled(v) : v; });
}

void drawLine(Panel& panel, double at_mm, double strength, double half_width_mm = 0.25, double slope = 0)
{
    shade(panel, [&](const cv::Vec3d& v, PanelPoint at) -> cv::Vec3d {
        const double off = (at.y - at_mm - slope * at.x) / half_width_mm;
        return v + cv::Vec3d::all(strength * std::exp(-off * off));
    });
}

void pour(Panel& panel, double level_mm)
{
    flood(panel, level_mm);
    drawLine(panel, level_mm, 45);
}

EarlierPanel firstOf(const Panel& panel, double exposure = 1.15)
{
    return {exposure * panel.bgr, panel.visible.clone()};
}

WaterReading told(const Panel& panel, const std::optional<EarlierPanel>& first = std::nullopt)
{
    return waterLevel(panel, readPanel(panel, first, {}).water, 1, {});
}

void expectLevel(const WaterReading& reading, double level_mm, const std::string& what = "")
{
    // Tolerance: a cell of the evidence; line and edge lie nearly that far apart.
    EXPECT_NEAR(reading.level.value_or(-1), level_mm, 0.6) << what << ": " << reading.note;
    EXPECT_LE(reading.low.value_or(99), level_mm) << what;
    EXPECT_GE(reading.high.value_or(-99), level_mm) << what;
}

void expectNoWater(const WaterReading& reading, const std::string& what)
{
    ASSERT_TRUE(reading.level) << what << ": " << reading.note;
    EXPECT_EQ(*reading.level, 0) << what << ": " << reading.note;
    EXPECT_EQ(reading.low.value_or(-1), 0) << what;
    EXPECT_LT(reading.high.value_or(9), 5) << what;
}

/// No water is claimed; whether there is none may be open.
void expectNoLevel(const WaterReading& reading, const std::string& what)
{
    EXPECT_EQ(reading.level.value_or(0), 0) << what;
    EXPECT_EQ(reading.low.value_or(-1), 0) << what;
    EXPECT_TRUE(reading.level || !reading.note.empty()) << what;
}

class WaterOnWallAt : public testing::TestWithParam<double> {};

TEST_P(WaterOnWallAt, IsFoundThere)
{
    Panel panel = grainPanel();
    const EarlierPanel dry = firstOf(panel);
    pour(panel, GetParam());
    expectLevel(told(panel), GetParam(), "alone");
    expectLevel(told(panel, dry), GetParam(), "dry before");
}
INSTANTIATE_TEST_SUITE_P(Heights, WaterOnWallAt, testing::Values(3.0, 6.1, 12.0, 26.0));

// The network sees a surface from 18 mm down; deeper it may take a wet wall for a dry one.
TEST(WaterOnWall, IsNotSaidToBeNoneWhereItIsVeryDeep)
{
    for (const double level : {55.0, 90.0}) {
        Panel panel = grainPanel();
        pour(panel, level);
        const WaterReading reading = told(panel);
        EXPECT_NE(reading.level.value_or(level), 0) << level;
        EXPECT_NEAR(reading.level.value_or(level), level, 0.6);
        EXPECT_GE(reading.high.value_or(-99), level) << reading.note;
    }
}

TEST(WaterOnWall, IsNoneAmongGrains)
{
    const Panel panel = grainPanel();
    expectNoWater(told(panel), "grains");
    expectNoWater(told(panel, firstOf(panel)), "the same grains before");
}

TEST(WaterOnWall, IsNotDampThatFades)
{
    // Over 4 mm it is taken for water (docs/measured/water.md).
    for (const double fades_over_mm : {8.0, 20.0}) {
        Panel panel = grainPanel();
        const EarlierPanel dry = firstOf(panel);
        shade(panel, [&](const cv::Vec3d& v, PanelPoint at) -> cv::Vec3d {
            const double damp = std::clamp((30 - at.y) / fades_over_mm + 0.5, 0.0, 1.0);
            return (1 - damp) * v + damp * filled(v);
        });
        expectNoWater(told(panel, dry), "damp fading over " + std::to_string(fades_over_mm));
        expectNoLevel(told(panel), "alone, damp fading over " + std::to_string(fades_over_mm));
    }
}

TEST(WaterOnWall, IsNotARowOfPaleGrains)
{
    Panel panel = grainPanel();
    shade(panel, [](const cv::Vec3d& v, PanelPoint at) -> cv::Vec3d {
        const bool grain = std::fmod(at.x + 200, 7) < 2 && std::abs(at.y - 15) < 0.5;
        return grain ? v + cv::Vec3d::all(90) : v;
    });
    expectNoWater(told(panel), "a row of pale grains");
}

TEST(WaterOnWall, IsNotASlantingRoot)
{
    Panel panel = grainPanel();
    drawLine(panel, 20, 45, 0.25, 0.08);
    expectNoWater(told(panel), "a slanting root");
}

TEST(WaterOnWall, IsNotALevelRoot)
{
    Panel panel = grainPanel();
    const EarlierPanel before = firstOf(panel);
    shade(panel, [](const cv::Vec3d& v, PanelPoint at) -> cv::Vec3d {
        const bool root = at.x > -25 && std::abs(at.y - 17) < 0.4;
        return root ? cv::Vec3d(190, 205, 210) : v;
    });
    expectNoWater(told(panel, before), "a root round most of the front");
    expectNoWater(told(panel), "the same alone");
}

TEST(WaterOnWall, IsNotARidgeOfTheTub)
{
    Panel panel = grainPanel();
    drawLine(panel, 22, 45);
    expectNoWater(told(panel), "ridge");
    expectNoWater(told(panel, firstOf(panel)), "ridge seen before");
    Panel wet = copyOf(panel);
    pour(wet, 9);
    expectLevel(told(wet, firstOf(panel)), 9, "water under a ridge");
}

TEST(WaterOnWall, IsNotGlare)
{
    for (const double half_width_mm : {0.3, 1.0, 3.0}) {
        Panel panel = grainPanel();
        const EarlierPanel before = firstOf(panel);
        drawLine(panel, 25, 60, half_width_mm);
        expectNoWater(told(panel, before), "strip of glare " + std::to_string(half_width_mm));
        expectNoWater(told(panel), "strip of glare alone " + std::to_string(half_width_mm));
    }
}

// A shadow takes as much light from every grain.
TEST(WaterOnWall, IsNotAShadow)
{
    Panel panel = grainPanel();
    const EarlierPanel before = firstOf(panel);
    shade(panel, [](const cv::Vec3d& v, PanelPoint at) { return at.y < 24 ? cv::Vec3d(0.68 * v) : v; });
    expectNoLevel(told(panel, before), "level edge of a shadow");
    expectNoLevel(told(panel), "level edge of a shadow, alone");
}

// Media poured one over the other meet within a grain or two, not at one height.
TEST(WaterOnWall, IsNotALayerOfAnotherMedium)
{
    Panel panel = grainPanel();
    cv::RNG random(11);
    std::vector<double> edge;
    for (int i = 0; i < 200; ++i) edge.push_back(26 + random.gaussian(1.0));
    shade(panel, [&](const cv::Vec3d& v, PanelPoint at) {
        return at.y < edge[static_cast<size_t>(at.x / 1.2 + 100)] ? filled(v) : v;
    });
    expectNoWater(told(panel, firstOf(panel)), "two layers, seen before");
    expectNoLevel(told(panel), "two layers, alone");
}

TEST(WaterOnWall, IsNotTheHeelOrTheTable)
{
    Panel panel = grainPanel();
    drawLine(panel, 1.9, 90, 0.3);
    shade(panel, [](const cv::Vec3d& v, PanelPoint at) { return at.y < 1.2 ? cv::Vec3d(150, 160, 170) : v; });
    expectNoWater(told(panel), "heel and table");
}

// A table is level to a degree or so.
TEST(WaterOnWall, FollowsATableThatIsNotQuiteLevel)
{
    Panel panel = grainPanel();
    shade(panel, [](const cv::Vec3d& v, PanelPoint at) { return at.y < 18 + 0.018 * at.x ? filled(v) : v; });
    drawLine(panel, 18, 45, 0.25, 0.018);
    const WaterReading reading = told(panel);
    expectLevel(reading, 18);
    EXPECT_NEAR(reading.tilt.right, 0.018, 0.012);
}

TEST(WaterOnWall, IsFoundWhereItHasFallenSince)
{
    Panel panel = grainPanel(), higher = grainPanel();
    pour(panel, 16);
    flood(higher, 30);
    expectLevel(told(panel, firstOf(higher)), 16);
}

TEST(WaterOnWall, IsFoundWithoutALine)
{
    Panel panel = grainPanel();
    const EarlierPanel dry = firstOf(panel);
    flood(panel, 15);
    expectLevel(told(panel, dry), 15, "filled pores");
}

// A phone's picture is brighter, darker, warmer, blurred.
TEST(WaterOnWall, IsTheSameForAnotherPhone)
{
    Panel panel = grainPanel();
    const EarlierPanel dry = firstOf(panel);
    pour(panel, 13);
    for (const double light : {0.6, 1.0, 1.5}) {
        Panel other = copyOf(panel);
        cv::multiply(panel.bgr, cv::Scalar(0.8 * light, light, 1.1 * light), other.bgr);
        cv::GaussianBlur(other.bgr, other.bgr, {}, 1.5);
        expectLevel(told(other, dry), 13, std::to_string(light));
    }
}

TEST(WaterOnWall, IsToldByRulesForRootsAsWell)
{
    Panel panel = grainPanel();
    pour(panel, 12);
    RootSettings rules;
    rules.learned = false;
    expectLevel(waterLevel(panel, readPanel(panel, std::nullopt, rules).water, 1, {}), 12);
}

}  // namespace
}  // namespace slipglass
