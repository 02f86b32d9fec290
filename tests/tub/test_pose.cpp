#include "slipglass/tub/pose.h"

#include <gtest/gtest.h>

#include <cmath>
#include <opencv2/calib3d.hpp>
#include <vector>

#include "../support/drawn_tub.h"
#include "../support/sample_pose.h"

namespace slipglass {
namespace {

using test::kDegree;

std::vector<Pose> somePoses()
{
    std::vector<Pose> poses;
    for (const double pitch : {-5.0, 0.0, 8.0, 20.0, 35.0})
        for (const double roll : {-12.0, 0.0, 7.0})
            for (const double across : {-150.0, 0.0, 90.0})
                poses.push_back(test::standing(pitch, roll, 4, across));
    return poses;
}

double apart(PhotoPoint a, PhotoPoint b)
{
    return std::hypot(a.x_px - b.x_px, a.y_px - b.y_px);
}

// Tolerance: double arithmetic on numbers of a thousand; a millionth of a pixel is a thousand times that.
TEST(Pose, ComesBackFromPhotoToWallToPhoto)
{
    int compared = 0;
    for (const Pose& pose : somePoses()) {
        const View view(pose);
        for (double angle = -1.2; angle < 1.3; angle += 0.2)
            for (double z = 0; z < 140; z += 20) {
                if (std::abs(angle) > view.grazingAngle() - 0.02) continue;  // the far side is not looked for
                const PhotoPoint pixel = view.photoFromWall({angle, z});
                const auto wall = view.wallFromPhoto(pixel);
                ASSERT_TRUE(wall);
                EXPECT_NEAR(wall->angle, angle, 1e-9);
                EXPECT_NEAR(wall->z, z, 1e-7);
                EXPECT_LT(apart(view.photoFromWall(*wall), pixel), 1e-6);
                ++compared;
            }
    }
    // 45 poses, 7 heights, 13 angles, of which those at 1.2 are hidden from some poses.
    EXPECT_GE(compared, 45 * 7 * 11);
}

// Source: OpenCV's projectPoints, a pinhole written by others, with the rotation as matrices of the three
// turns.
TEST(Pose, SeesWhatAPlainPinholeSees)
{
    for (const Pose& pose : somePoses()) {
        const View view(pose);
        const cv::Matx33d turn = test::rotationOf(pose);
        const cv::Vec3d base(pose.base.x, pose.base.y, pose.base.z), eye = turn.t() * (-base);
        cv::Vec3d rotation;
        cv::Rodrigues(turn, rotation);
        const cv::Matx33d lens(pose.focal_px, 0, pose.centre_px.x, 0, pose.focal_px, pose.centre_px.y, 0, 0,
                               1);
        const double towards_camera = std::atan2(eye[0], -eye[1]);
        for (const double angle : {-1.0, -0.3, 0.0, 0.5, 1.1})
            for (const double z : {0.0, 60.0, 140.0}) {
                const double r = pose.cone.base_radius + pose.cone.slope * z, a = towards_camera + angle;
                const std::vector<cv::Point3d> point{{r * std::sin(a), -r * std::cos(a), z}};
                std::vector<cv::Point2d> seen;
                cv::projectPoints(point, rotation, base, lens, cv::noArray(), seen);
                EXPECT_LT(apart(view.photoFromWall({angle, z}), {seen[0].x, seen[0].y}), 1e-6);
            }
    }
}

TEST(Pose, LosesSightOfTheWallAtTheGrazingAngle)
{
    for (const Pose& pose : somePoses()) {
        const View view(pose);
        const double grazing = view.grazingAngle();
        for (const double z : {0.0, 50.0, 130.0})
            for (const double side : {-1.0, 1.0}) {
                EXPECT_NEAR(view.viewCosine({side * grazing, z}), 0, 1e-9);
                EXPECT_GT(view.viewCosine({side * (grazing - 0.01), z}), 0);
                EXPECT_LT(view.viewCosine({side * (grazing + 0.01), z}), 0);
            }
    }
}

TEST(Pose, SeesNoWallBesideTheTub)
{
    const View view(test::standing(10, 0));
    EXPECT_TRUE(view.wallFromPhoto({449.5, 600}));
    EXPECT_FALSE(view.wallFromPhoto({10, 600}));
    EXPECT_FALSE(view.wallFromPhoto({890, 600}));
}

TEST(Pose, FacesTheCameraAtAngleZero)
{
    const View view(test::standing(0, 0, 4, 0, 0));
    EXPECT_NEAR(view.viewCosine({0, 0}), 1 / std::sqrt(1 + std::pow(test::standing(0, 0).cone.slope, 2)),
                1e-9);
    EXPECT_GT(view.viewCosine({0, 0}), view.viewCosine({0.3, 0}));
}

TEST(Pose, GivesPixelsPerUnitAcrossTheFrontWall)
{
    // Level camera at the base's height: the front wall is base_radius nearer than the axis.
    const Pose pose = test::standing(0, 0, 4, 0, 0);
    EXPECT_NEAR(View(pose).pxPerUnit(0), pose.focal_px / (pose.base.z - pose.cone.base_radius), 0.01);
}

// By construction: the inner wall is parallel to the outer, its thickness away, and starts that much higher.
TEST(Pose, SetsTheInnerWallInByTheWallsThickness)
{
    Pose pose = test::standing(18, 5);
    pose.cone.wall = 1.2;
    const Pose inner = innerWall(pose);
    EXPECT_DOUBLE_EQ(inner.cone.slope, pose.cone.slope);
    EXPECT_DOUBLE_EQ(inner.cone.wall, 0);
    const double level_gap = pose.cone.radiusAt(50 + 1.2) - inner.cone.radiusAt(50);
    EXPECT_NEAR(level_gap / std::sqrt(1 + std::pow(pose.cone.slope, 2)), 1.2, 1e-9);
    const cv::Vec3d up = test::rotationOf(pose) * cv::Vec3d(0, 0, 1);
    EXPECT_NEAR(inner.base.x - pose.base.x, 1.2 * up[0], 1e-12);
    EXPECT_NEAR(inner.base.y - pose.base.y, 1.2 * up[1], 1e-12);
    EXPECT_NEAR(inner.base.z - pose.base.z, 1.2 * up[2], 1e-12);
}

TEST(Pose, LooksTheSameInAnotherUnit)
{
    const Pose pose = test::standing(14, -3);
    const View mm(pose), inches(scaled(pose, 1 / 25.4));
    for (const double angle : {-0.9, 0.0, 0.7})
        for (const double z : {0.0, 80.0})
            EXPECT_LT(apart(mm.photoFromWall({angle, z}), inches.photoFromWall({angle, z / 25.4})), 1e-9);
    EXPECT_NEAR(inches.pxPerUnit(80 / 25.4), 25.4 * mm.pxPerUnit(80), 1e-6);
}

// Source: the samples' renderer, which gives its camera and where things are seen.
// Tolerance: half a pixel, a tenth of a millimetre: most of it the rounding of the renderer's numbers and,
// for the sides, of its polygons.
TEST(Pose, SeesTheSamplesAsTheirRendererDid)
{
    for (const std::string& stem : test::sampleStems()) {
        SCOPED_TRACE(stem);
        const auto truth = test::sampleTruth(stem);
        const Pose pose = test::poseOfTruth(truth);
        const View view(pose);
        EXPECT_NEAR(pose.pitch / kDegree, truth["camera"]["pitch_down_deg"], 0.006);
        EXPECT_NEAR(pose.roll / kDegree, truth["camera"]["roll_deg"], 0.06);

        std::vector<PhotoPoint> on_base;
        for (const auto& p : truth["base_arc_px"])
            on_base.push_back({p[0].get<double>() - 0.5, p[1].get<double>() - 0.5});
        for (const char* name : {"base_left", "base_right"}) {
            const auto& p = truth["outline_px"][name];
            on_base.push_back({p[0].get<double>() - 0.5, p[1].get<double>() - 0.5});
        }
        for (const PhotoPoint& pixel : on_base) {
            double nearest = 1e9;
            for (double angle = -1.8; angle <= 1.8; angle += 0.002)
                nearest = std::min(nearest, apart(view.photoFromWall({angle, 0}), pixel));
            EXPECT_LT(nearest, 0.5);
        }
        const double half_filled = truth["medium_surface_mm"].get<double>() / 2 + pose.cone.wall;
        EXPECT_NEAR(view.pxPerUnit(half_filled) / truth["px_per_mm"].get<double>(), 1, 0.01);
    }
}

// The renderer draws its water lines 0.40-0.41 mm above the level it states, at 5 mm as at 21 (half its
// wall's thickness; its pages do not say why). Tolerance: two decimals of a pixel of 0.17 mm, and the
// rounding of levels.
TEST(Pose, SeesTheSamplesWaterLinesOnTheInnerWall)
{
    int lines = 0;
    for (const std::string& stem : test::sampleStems()) {
        const auto truth = test::sampleTruth(stem);
        if (truth["water_line_px"].is_null()) continue;
        SCOPED_TRACE(stem);
        ++lines;
        const View inner(innerWall(test::poseOfTruth(truth)));
        const auto& centre = truth["water_line_px"]["centre"];
        const auto wall = inner.wallFromPhoto({centre[0].get<double>() - 0.5, centre[1].get<double>() - 0.5});
        ASSERT_TRUE(wall);
        EXPECT_NEAR(wall->z, truth["water_level_mm"].get<double>() + 0.405, 0.02);
    }
    EXPECT_EQ(lines, 16);  // sample-images/truth
}

}  // namespace
}  // namespace slipglass
