// Truth by construction: edges are put where a pinhole of another make sees a tub of known pose, and the fit
// begins elsewhere.
#include "../../src/tub/fit_pose.h"

#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <map>

#include "../support/drawn_tub.h"

namespace slipglass {
namespace {

using test::kDegree;

constexpr double kHeelMm = 2.5;  // of drawn tubs; the fit takes it for the same

/// Where a point of the tub's own frame is seen (rotation matrices, as in the drawn pictures).
PhotoPoint seenAt(const Pose& pose, const cv::Vec3d& in_tub)
{
    const cv::Vec3d p = test::rotationOf(pose) * in_tub + cv::Vec3d(pose.base.x, pose.base.y, pose.base.z);
    return {pose.centre_px.x + pose.focal_px * p[0] / p[2], pose.centre_px.y + pose.focal_px * p[1] / p[2]};
}

/// The lens, in the tub's own frame.
cv::Vec3d eyeOf(const Pose& pose)
{
    return test::rotationOf(pose).t() * -cv::Vec3d(pose.base.x, pose.base.y, pose.base.z);
}

cv::Vec3d onWall(const Pose& pose, double angle, double z, double radius)
{
    const cv::Vec3d eye = eyeOf(pose);
    const double a = std::atan2(eye[0], -eye[1]) + angle;
    return {radius * std::sin(a), -radius * std::cos(a), z};
}

/// The last places of the wall that are seen to the left or right, at heights 3 mm apart: there its normal is
/// square to the line of sight.
std::vector<EdgePoint> sideOf(const Pose& pose, double sign)
{
    const cv::Vec3d eye = eyeOf(pose);
    std::vector<EdgePoint> points;
    for (double z = 6; z < 130; z += 3) {
        const auto faces = [&](double angle) {
            const cv::Vec3d at = onWall(pose, sign * angle, z, pose.cone.radiusAt(z));
            const double radius = std::hypot(at[0], at[1]);
            const cv::Vec3d normal(at[0] / radius, at[1] / radius, -pose.cone.slope);
            return normal.dot(eye - at) > 0;
        };
        double angle = 1;
        while (faces(angle)) angle += 0.0005;
        points.push_back({seenAt(pose, onWall(pose, sign * angle, z, pose.cone.radiusAt(z))), 1});
    }
    return points;
}

/// Lowest places of the body in each tenth column, its lower edge rounded.
std::vector<EdgePoint> footOf(const Pose& pose)
{
    // A circle that touches wall and base.
    const double slope = pose.cone.slope,
                 centre = pose.cone.radiusAt(kHeelMm) - kHeelMm * std::sqrt(1 + slope * slope);
    std::map<int, PhotoPoint> lowest;
    for (double angle = -1.3; angle < 1.3; angle += 0.0002)
        for (double turn = 0; turn <= 90; turn += 2) {
            const double z = kHeelMm * (1 - std::sin(turn * kDegree));
            const double radius = centre + kHeelMm * std::cos(turn * kDegree);
            const PhotoPoint at = seenAt(pose, onWall(pose, angle, z, radius));
            const int column = static_cast<int>(std::floor(at.x_px));
            if (column % 10 != 0) continue;
            const auto [found, is_new] = lowest.insert({column, at});
            if (!is_new && at.y_px > found->second.y_px) found->second = at;
        }
    // At the ends of the arc the next columns' lowest places are missing.
    const double left = seenAt(pose, onWall(pose, -1.0, 0, pose.cone.base_radius)).x_px,
                 right = seenAt(pose, onWall(pose, 1.0, 0, pose.cone.base_radius)).x_px;
    std::vector<EdgePoint> points;
    for (const auto& [column, at] : lowest)
        if (at.x_px > left && at.x_px < right) points.push_back({at, 1});
    return points;
}

TubEdges edgesOf(const Pose& pose)
{
    TubEdges edges;
    edges.left = sideOf(pose, -1);
    edges.right = sideOf(pose, 1);
    edges.foot = footOf(pose);
    return edges;
}

/// Of a known type and focal length, as findTub sets it.
PosePrior known()
{
    PosePrior prior;
    prior.slope_sigma = 0.012;
    prior.focal_sigma = 0.03;
    prior.height_sigma = 0.02;
    return prior;
}

/// Where a search might begin: upright, 15 % too far, 8 mm off.
Pose roughly(const Pose& pose)
{
    Pose start = pose;
    start.roll = 0;
    start.pitch = 0.12;
    start.base = 1.15 * pose.base + cv::Point3d(8, -6, 0);
    return start;
}

/// How far the front wall's foot and a place halfway up lie from where they are, mm.
double placeError(const Pose& found, const Pose& truth)
{
    double worst = 0;
    for (const double z : {0.0, 60.0}) {
        const PhotoPoint a = View(found).photoFromWall({0, z}), b = View(truth).photoFromWall({0, z});
        worst = std::max(worst, std::hypot(a.x_px - b.x_px, a.y_px - b.y_px) / View(truth).pxPerUnit(z));
    }
    return worst;
}

double scaleError(const Pose& found, const Pose& truth)
{
    return std::abs(View(found).pxPerUnit(60) / View(truth).pxPerUnit(60) - 1);
}

struct Stand {
    double pitch_deg, roll_deg;
};
class FitPose : public testing::TestWithParam<Stand> {};

// Tolerances: edges are exact to 0.01 mm, and priors pull by as little; reached are 0.03 mm, 0.01 % and 0.05
// degrees. A heel taken for that of an upright wall, in one upright plane, is off by 0.19 mm, 0.6 % and 0.9
// degrees.
TEST_P(FitPose, FindsThePoseFromSidesAndFoot)
{
    const Pose truth = test::standing(GetParam().pitch_deg, GetParam().roll_deg);
    const PoseFit fit = fitPose(roughly(truth), edgesOf(truth), known());
    EXPECT_LT(placeError(fit.pose, truth), 0.06);
    EXPECT_LT(scaleError(fit.pose, truth), 0.001);
    EXPECT_NEAR(fit.pose.roll / kDegree, GetParam().roll_deg, 0.05);
    EXPECT_NEAR(fit.pose.pitch / kDegree, GetParam().pitch_deg, 0.1);
    EXPECT_LT(fit.cost, 1) << "nothing disagrees by as much as a sigma";
}
INSTANTIATE_TEST_SUITE_P(Stands, FitPose,
                         testing::Values(Stand{0, 0}, Stand{7, 0}, Stand{12, -8}, Stand{20, 4}));

// A fifth of the left side lies on something else.
TEST(FitPoseTo, EdgesWithStrayPointsIsHardlyTurned)
{
    const Pose truth = test::standing(9, 2);
    TubEdges edges = edgesOf(truth);
    for (size_t i = 0; i < edges.left.size(); i += 5) edges.left[i].at.x_px -= 60;
    const PoseFit fit = fitPose(roughly(truth), edges, known());
    EXPECT_LT(placeError(fit.pose, truth), 0.5);
    EXPECT_LT(scaleError(fit.pose, truth), 0.01);
    EXPECT_GT(fit.cost, 1) << "and the cost tells";
}

TEST(FitPoseTo, NothingStaysWithWhatIsKnown)
{
    const Pose start = test::standing(20, 3);
    const PoseFit fit = fitPose(start, {}, known());
    EXPECT_NEAR(fit.pose.pitch, 0.12, 1e-6) << "as people mostly look down on a tub";
    EXPECT_NEAR(fit.pose.cone.slope, start.cone.slope, 1e-9);
    EXPECT_NEAR(fit.pose.focal_px / start.focal_px, 1, 1e-9);
    EXPECT_NEAR(fit.pose.cone.height / start.cone.height, 1, 1e-9);
    EXPECT_EQ(fit.pose.roll, start.roll);
    EXPECT_NEAR(fit.cost, 0, 1e-9);
}

// The sides alone leave open how low the tub reaches: the picture's edge, that its wall goes down to, tells.
TEST(FitPoseTo, AFootOutsideThePictureReachesBelowThePicturesEdge)
{
    const Pose truth = test::standing(9, 0);
    TubEdges edges = edgesOf(truth);
    edges.foot.clear();
    const double edge_px = View(truth).photoFromWall({0, 12}).y_px;
    Pose start = truth;
    start.base.y -= 40;  // as if it ended far above
    const auto footAt = [&](const TubEdges& of) {
        return View(fitPose(start, of, known()).pose).photoFromWall({0, 0}).y_px;
    };
    ASSERT_LT(footAt(edges), edge_px - 10) << "else this shows nothing";
    for (double x = 350; x <= 550; x += 25) edges.past_foot.push_back({x, edge_px});
    EXPECT_GT(footAt(edges), edge_px - 2);
}

// A tub of which the right side is cut off by the picture's edge.
TEST(FitPoseTo, ASideOutsideThePictureLiesBeyondItsEdge)
{
    const Pose truth = test::standing(9, 0);
    TubEdges edges = edgesOf(truth);
    double edge_px = 1e9;
    for (const EdgePoint& point : edges.right) edge_px = std::min(edge_px, point.at.x_px - 30);
    edges.right.clear();
    edges.foot.clear();
    Pose start = truth;
    start.base *= 1.7;  // as if it were smaller
    constexpr double kLowest = 800;
    const auto sideAt = [&](const TubEdges& of) {  // where it is seen at that height of the picture
        const View view(fitPose(start, of, known()).pose);
        const PhotoPoint low = view.photoFromWall({view.grazingAngle(), 0}),
                         high = view.photoFromWall({view.grazingAngle(), 100});
        return low.x_px + (kLowest - low.y_px) / (high.y_px - low.y_px) * (high.x_px - low.x_px);
    };
    ASSERT_LT(sideAt(edges), edge_px - 10) << "else this shows nothing";
    for (double y = 400; y <= kLowest; y += 40) edges.past_right.push_back({edge_px, y});
    EXPECT_GT(sideAt(edges), edge_px - 2);
}

// An outline of four corners, each set where it is.
TEST(FitPoseTo, AnOutlineSetByHandIsEnough)
{
    const Pose truth = test::standing(12, 5);
    const View view(truth);
    const double grazing = view.grazingAngle(), rim = truth.cone.height;
    const std::array<PhotoPoint, 4> corners{
        view.photoFromWall({-grazing, rim}), view.photoFromWall({grazing, rim}),
        view.photoFromWall({grazing, 0}), view.photoFromWall({-grazing, 0})};
    const PoseFit fit = fitPose(roughly(truth), {}, known(), corners, 2);
    // Reached: 0.19 mm and 0.1 %, the priors' pull.
    EXPECT_LT(placeError(fit.pose, truth), 0.3);
    EXPECT_LT(scaleError(fit.pose, truth), 0.002);
    EXPECT_NEAR(fit.pose.roll / kDegree, 5, 0.2);
    // On the rim's bead, 2.4 mm farther out (common practice), as people set them: the taper, which is known
    // better, tells against it.
    std::array<PhotoPoint, 4> on_bead = corners;
    const double bead_px = 2.4 * view.pxPerUnit(rim);
    on_bead[0].x_px -= bead_px;
    on_bead[1].x_px += bead_px;
    const PoseFit beaded = fitPose(roughly(truth), {}, known(), on_bead, 2);
    // Reached: 2.9 mm halfway up and 2.0 %, with 3 degrees more of pitch; corners taken as they are: 3.5 mm.
    EXPECT_LT(placeError(beaded.pose, truth), 3.2);
    EXPECT_LT(scaleError(beaded.pose, truth), 0.022);
    // Two corners set 20 px higher tip it.
    std::array<PhotoPoint, 4> tipped = corners;
    for (const size_t left : {0U, 3U}) tipped[left].y_px -= 20;
    EXPECT_GT(std::abs(fitPose(roughly(truth), {}, known(), tipped, 2).pose.roll / kDegree - 5), 0.5);
}

}  // namespace
}  // namespace slipglass
