// Truth by construction: a map that shows medium up to a surface that is written down.
#include "../../src/tub/surface.h"

#include <gtest/gtest.h>

#include <cmath>
#include <functional>

#include "../support/drawn_tub.h"

namespace slipglass {
namespace {

using SurfaceOf = std::function<double(double angle)>;

Pose pose()
{
    return test::standing(8, 2);
}

/// Of a whole photo of 900 x 1200 px, a place each 4 px. Above and beside the medium nothing is shown.
TubMap mapOf(const SurfaceOf& surface)
{
    TubMap map;
    map.reduction = 4;
    const cv::Size size(225, 300);
    for (cv::Mat* plane :
         {&map.medium, &map.empty, &map.cover, &map.left, &map.right, &map.foot, &map.rim, &map.surface})
        *plane = cv::Mat::zeros(size, CV_32F);
    const View view(pose());
    for (int y = 0; y < size.height; ++y)
        for (int x = 0; x < size.width; ++x) {
            const auto wall = view.wallFromPhoto(map.photoAt(x, y));
            if (wall && wall->z > 0 && wall->z < surface(wall->angle)) map.medium.at<float>(y, x) = 1;
        }
    return map;
}

void hide(TubMap& map, const std::function<bool(WallPoint)>& there, double cover)
{
    const View view(pose());
    for (int y = 0; y < map.medium.rows; ++y)
        for (int x = 0; x < map.medium.cols; ++x) {
            const auto wall = view.wallFromPhoto(map.photoAt(x, y));
            if (!wall || !there(*wall)) continue;
            map.medium.at<float>(y, x) = 0;
            map.cover.at<float>(y, x) = static_cast<float>(cover);
        }
}

double worstError(const Surface& found, const SurfaceOf& surface)
{
    EXPECT_GE(found.z.size(), 41U) << "one each 3 degrees, 60 degrees to either side at least";
    EXPECT_EQ(found.angles.size(), found.z.size());
    double worst = 0;
    for (size_t i = 0; i < found.z.size(); ++i)
        worst = std::max(worst, std::abs(found.z[i] - surface(found.angles[i])));
    return worst;
}

// Tolerance: a place of the map, 4 px of 4.4 a millimetre, and a level of 0.75 mm.
constexpr double kPlaceMm = 1, kLevelMm = 0.75;

TEST(FindSurface, LiesWhereMediumEnds)
{
    for (const double level : {40.0, 81.0, 112.0}) {
        const SurfaceOf surface = [=](double) { return level; };
        EXPECT_LT(worstError(findSurface(mapOf(surface), pose(), 15, 135), surface), kPlaceMm + kLevelMm)
            << level;
    }
}

TEST(FindSurface, FollowsASlope)
{
    const SurfaceOf surface = [](double angle) { return 90 + 15 * std::sin(angle); };
    EXPECT_LT(worstError(findSurface(mapOf(surface), pose(), 15, 135), surface), kPlaceMm + kLevelMm);
}

// Paper over 40 degrees of the front, 50 mm high, across the surface; nothing else tells where that is.
TEST(FindSurface, IsCarriedOnBehindPaper)
{
    const SurfaceOf surface = [](double) { return 100.0; };
    TubMap map = mapOf(surface);
    const auto behind_paper = [](WallPoint at) {
        return std::abs(at.angle) < 0.35 && at.z > 70 && at.z < 120;
    };
    hide(map, behind_paper, 1);
    EXPECT_LT(worstError(findSurface(map, pose(), 15, 135), surface), kPlaceMm + kLevelMm);
    hide(map, behind_paper, 0);
    EXPECT_GT(worstError(findSurface(map, pose(), 15, 135), surface), 10) << "as if medium were gone there";
}

// The medium's map is as sure 6 mm higher, as where condensation hangs; the surface's own edge tells.
TEST(FindSurface, PrefersTheSurfacesOwnEdge)
{
    const SurfaceOf surface = [](double) { return 90.0; };
    TubMap map = mapOf(surface);
    const View view(pose());
    for (int y = 0; y < map.medium.rows; ++y)
        for (int x = 0; x < map.medium.cols; ++x) {
            const auto wall = view.wallFromPhoto(map.photoAt(x, y));
            if (!wall) continue;
            if (wall->z >= 90 && wall->z < 96) map.medium.at<float>(y, x) = 0.6F;
            if (std::abs(wall->z - 90) < 0.6) map.surface.at<float>(y, x) = 1;
        }
    EXPECT_LT(worstError(findSurface(map, pose(), 15, 135), surface), kPlaceMm + kLevelMm);
    map.surface.setTo(0);
    EXPECT_NEAR(findSurface(map, pose(), 15, 135).z[20], 96, kPlaceMm + kLevelMm) << "without it";
}

TEST(FindSurface, StaysWithinTheHeightsItMayHave)
{
    const Surface found = findSurface(mapOf([](double) { return 110.0; }), pose(), 30, 80);
    for (const double z : found.z) EXPECT_EQ(z, 80);
    EXPECT_GE(found.z.size(), 41U);
}

}  // namespace
}  // namespace slipglass
