// What docs/measured/quality.md rests on: a photo spoilt in memory leaves the photo as it was, for the next
// way to spoil it.
#include <gtest/gtest.h>

#include <opencv2/imgproc.hpp>

#include "../benchmark/degrade.h"

namespace slipglass::benchmark {
namespace {

bool same(const cv::Mat& a, const cv::Mat& b)
{
    return a.size() == b.size() && a.type() == b.type() && cv::norm(a, b, cv::NORM_INF) == 0;
}

TEST(Degradations, LeaveThePhotoAsItWas)
{
    Scene scene{cv::Mat(160, 120, CV_8UC3), cv::Mat::zeros(160, 120, CV_8UC1),
                cv::Mat::zeros(160, 120, CV_8UC1), 6, 150};
    cv::RNG(20261127).fill(scene.bgr, cv::RNG::UNIFORM, 0, 256);
    cv::rectangle(scene.wall, {30, 30, 60, 100}, 255, cv::FILLED);
    cv::line(scene.roots, {50, 40}, {70, 120}, 255, 3);
    const cv::Mat bgr = scene.bgr.clone(), roots = scene.roots.clone(), wall = scene.wall.clone();
    const auto all = degradations();
    ASSERT_GT(all.size(), 10u);
    for (const Degradation& step : all) {
        const Scene spoilt = step.apply(scene);
        EXPECT_TRUE(same(scene.bgr, bgr)) << step.kind << " " << step.amount;
        EXPECT_TRUE(same(scene.roots, roots) && same(scene.wall, wall)) << step.kind << " " << step.amount;
        if (step.kind != "none") {
            EXPECT_FALSE(same(spoilt.bgr, bgr)) << step.kind << " " << step.amount;
        }
    }
}

}  // namespace
}  // namespace slipglass::benchmark
