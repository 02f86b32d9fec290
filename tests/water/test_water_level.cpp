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

class WaterAtHeight : public testing::TestWithParam<double> {};

// Tolerance: two rows of the panel.
TEST_P(WaterAtHeight, IsFoundThere)
{
    Panel panel = grainPanel();
    pour(panel, GetParam());
    const WaterReading reading = waterLevel(panel, {});
    ASSERT_TRUE(reading.level_mm && reading.low_mm && reading.high_mm);
    EXPECT_NEAR(*reading.level_mm, GetParam(), 0.3);
    EXPECT_LE(*reading.low_mm, GetParam());
    EXPECT_GE(*reading.high_mm, GetParam());
}
INSTANTIATE_TEST_SUITE_P(Heights, WaterAtHeight, testing::Values(4.0, 6.1, 12.0, 26.0, 55.0));

void expectNoWater(const Panel& panel, const std::string& what)
{
    const WaterReading reading = waterLevel(panel, {});
    ASSERT_TRUE(reading.level_mm) << what;
    EXPECT_EQ(*reading.level_mm, 0) << what;
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
    const WaterReading reading = waterLevel(panel, {});
    EXPECT_FALSE(reading.level_mm);
    EXPECT_FALSE(reading.low_mm);
    EXPECT_FALSE(reading.high_mm);
    panel.frontal.setTo(0);
    EXPECT_FALSE(waterLevel(panel, {}).level_mm);
}

TEST(WaterLevel, SeesWaterThroughUnevenLight)
{
    Panel panel = grainPanel();
    pour(panel, 18);
    shade(panel, [](const cv::Vec3d& v, PanelPoint at) -> cv::Vec3d { return (1 + 0.004 * at.x_mm) * v; });
    EXPECT_NEAR(waterLevel(panel, {}).level_mm.value_or(-1), 18, 0.3);
}

}  // namespace
}  // namespace slipglass
