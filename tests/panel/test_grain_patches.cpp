#include "../../src/panel/grain_patches.h"

#include <gtest/gtest.h>

#include <opencv2/imgproc.hpp>

#include "slipglass/panel/panel.h"

namespace slipglass {
namespace {

/// A panel of noise, its grains some px wide.
Panel grainy(unsigned long long seed)
{
    Panel panel;
    cv::Mat noise(360, 480, CV_8UC3);
    cv::RNG(seed).fill(noise, cv::RNG::UNIFORM, 0, 256);
    cv::GaussianBlur(noise, panel.bgr, {}, 3);
    panel.visible = cv::Mat(panel.bgr.size(), CV_8U, cv::Scalar(255));
    panel.wall = panel.frontal = panel.visible;
    return panel;
}

/// The same, its grains moved.
Panel moved(const Panel& panel, int right, int down)
{
    Panel other = panel;
    const cv::Mat shift = (cv::Mat_<double>(2, 3) << 1, 0, right, 0, 1, down);
    cv::warpAffine(panel.bgr, other.bgr, shift, panel.bgr.size(), cv::INTER_LINEAR, cv::BORDER_WRAP);
    return other;
}

TEST(GrainPatches, AreFoundWhereTheyWereMovedTo)
{
    const Panel panel = grainy(1);
    const PanelGrains today(panel), earlier(moved(panel, 4, -2));
    const auto patches = matchPatches(today.half, earlier.half, Drift{panel.bgr.size(), {}, {}}, 6, 1);
    ASSERT_GT(patches.size(), 20U);
    for (const Patch& patch : patches) {
        EXPECT_NEAR(patch.dx, 4, 0.5);
        EXPECT_NEAR(patch.dy, -2, 0.5);
        EXPECT_GT(patch.score, 0.9);
    }
}

// Reference: OpenCV's matchTemplate, TM_CCOEFF_NORMED, over the same detail.
TEST(GrainPatches, CorrelateAsOpenCvSays)
{
    const PanelGrains today(grainy(1)), earlier(grainy(2));  // other grains: any correlation may come
    constexpr int kHalf = 20, kReach = 3;
    const auto patches = matchPatches(today.half, earlier.half, Drift{{480, 360}, {}, {}}, 2 * kReach, 1);
    ASSERT_GT(patches.size(), 20U);
    cv::Mat now, then, map;
    today.half.detail.convertTo(now, CV_32F);
    earlier.half.detail.convertTo(then, CV_32F);
    for (const Patch& patch : patches) {
        const cv::Point middle(cvRound(patch.x / 2), cvRound(patch.y / 2));
        const cv::Rect from(middle - cv::Point(kHalf, kHalf), cv::Size(2 * kHalf, 2 * kHalf));
        const cv::Rect to(from.tl() - cv::Point(kReach, kReach),
                          from.size() + cv::Size(2 * kReach, 2 * kReach));
        cv::matchTemplate(then(to), now(from), map, cv::TM_CCOEFF_NORMED);
        double most = 0;
        cv::Point at;
        cv::minMaxLoc(map, nullptr, &most, nullptr, &at);
        EXPECT_NEAR(patch.score, most, 1e-4);
        EXPECT_NEAR(patch.dx / 2, at.x - kReach, 0.51);  // between the shifts tried: half of one
        EXPECT_NEAR(patch.dy / 2, at.y - kReach, 0.51);
    }
}

TEST(GrainPatches, OfNothingAreLikeNothing)
{
    Panel blank = grainy(1);
    blank.bgr.setTo(cv::Scalar(90, 110, 130));
    const PanelGrains today(blank), grains(grainy(1));
    for (const PanelGrains* earlier : {&today, &grains})
        for (const Patch& patch :
             matchPatches(today.half, earlier->half, Drift{blank.bgr.size(), {}, {}}, 6, 1))
            EXPECT_EQ(patch.score, 0);
}

}  // namespace
}  // namespace slipglass
