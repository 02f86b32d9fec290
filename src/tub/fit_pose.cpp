#include "fit_pose.h"

#include <ceres/ceres.h>
#include <glog/logging.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>

namespace slipglass {

namespace {

// Parameters: roll, pitch, x/z, y/z, log z of the base's centre, slope, log focal length, log height of the
// rim.
constexpr int kParameters = 8;

/// How far the rim's edge stands out from the straight side, mm. Common practice.
constexpr double kBead = 2.4;

Pose poseFrom(const Pose& start, const double* p)
{
    Pose pose = start;
    pose.roll = p[0];
    pose.pitch = p[1];
    const double z = std::exp(p[4]);
    pose.base = {p[2] * z, p[3] * z, z};
    pose.cone.slope = p[5];
    pose.focal_px = std::exp(p[6]);
    pose.cone.height = std::exp(p[7]);
    return pose;
}

/// Radius of the rounded edge between base and wall, mm. Common practice for moulded tubs: 2 to 4.
constexpr double kHeel = 2.5;

/// Whether a camera could be there: before the tub, not within it, nor at its wall. Beyond, a trial step ends
/// in divisions by nothing.
bool possible(const Pose& pose, const View& view)
{
    const double grazing = view.grazingAngle();
    return std::isfinite(grazing) && grazing > 0.4 && pose.base.z > 0 && std::abs(pose.pitch) < 1.4;
}

/// Grows like the root of the error beyond one sigma: one stray point cannot turn the tub.
double softened(double r)
{
    const double a = std::abs(r);
    return a <= 1 ? r : std::copysign(std::sqrt(2 * a - 1), r);
}

/// Neighbours err together: an edge counts as so many places of its own, however many were found on it.
double shared(size_t points)
{
    constexpr double kApart = 8;  // places along an edge that err by themselves. Guess.
    return std::sqrt(std::min(1.0, kApart / static_cast<double>(std::max<size_t>(1, points))));
}

/// Signed distance of places from the projected side of the cone.
/// @param past  places beyond which that side lies: only how far they are outside it counts.
void appendSide(const View& view, double sign, const Cone& cone, const std::vector<EdgePoint>& points,
                const std::vector<PhotoPoint>& past, double sigma, double*& residual)
{
    const double angle = sign * view.grazingAngle();
    const PhotoPoint a = view.photoFromWall({angle, 0.1 * cone.base_radius});
    const PhotoPoint b = view.photoFromWall({angle, 2.1 * cone.base_radius});
    const double dx = b.x_px - a.x_px, dy = b.y_px - a.y_px, length = std::hypot(dx, dy);
    const auto rightOf = [&](PhotoPoint at) {
        return -((at.x_px - a.x_px) * dy - (at.y_px - a.y_px) * dx) / length / sigma;
    };
    const double share = shared(points.size()), share_past = shared(past.size());
    for (const EdgePoint& p : points) *residual++ = share * p.weight * softened(rightOf(p.at));
    for (const PhotoPoint& p : past) *residual++ = share_past * softened(std::max(0.0, sign * rightOf(p)));
}

/// Distance of places on the front half of an edge round the cone from where it is seen; `above(place)`: how
/// far above it, on the straight wall drawn on.
template <class Above>
void appendRing(const Above& above, double px_per_unit, const std::vector<EdgePoint>& points, double sigma,
                double*& residual)
{
    const double share = shared(points.size());
    for (const EdgePoint& p : points) {
        const std::optional<double> off = above(p.at);
        // Beside the tub, at the ends of the arc, there is no wall to measure on.
        *residual++ = share * p.weight * (off ? softened(*off * px_per_unit / sigma) : 3);
    }
}

/// Where the lowest place of the rounded heel that is still seen lies, at an angle, on the straight wall
/// drawn on: the line of sight to it touches the heel's arc, which lies within the wall.
double footAt(double angle, const Pose& pose, const View& view)
{
    const double slope = pose.cone.slope,
                 centre =
                     pose.cone.base_radius + kHeel * (slope - std::sqrt(1 + slope * slope));  // of the arc
    double on_heel = angle, z = 0;
    for (int i = 0; i < 4; ++i) {  // it is seen beside where it is; that soon settles
        const double falls = std::clamp(view.elevationAtBase(on_heel), 0.0, 1.4);
        const double radius = centre + kHeel * std::sin(falls), height = kHeel * (1 - std::cos(falls));
        Cone inside = pose.cone;  // a wall through that place
        inside.base_radius = radius - slope * height;
        const auto seen = view.wallFromPhoto(view.of(inside).photoFromWall({on_heel, height}));
        if (!seen) break;
        z = seen->z;
        if (std::abs(angle - seen->angle) < 1e-5) break;
        on_heel += angle - seen->angle;
    }
    return z;
}

void appendFoot(const Pose& pose, const View& view, const std::vector<EdgePoint>& points, double sigma,
                double*& residual)
{
    if (points.empty()) return;
    // Told at some places, the closer to the sides the denser: there the line of sight falls onto the heel
    // ever more steeply.
    constexpr int kSteps = 32;  // an even number
    const double widest = view.grazingAngle();
    std::array<double, kSteps + 1> heights{};
    for (size_t i = 0; i <= kSteps; ++i) {
        const double s = 2.0 * static_cast<double>(i) / kSteps - 1, inward = 1 - std::abs(s);
        heights[i] = footAt(std::copysign(widest * (1 - inward * inward), s), pose, view);
    }
    const auto height = [&](double angle) {
        const double inward = std::sqrt(std::max(0.0, 1 - std::abs(angle) / widest));
        const double at = (std::copysign(1 - inward, angle) + 1) / 2 * kSteps;
        const auto before = std::min(static_cast<size_t>(at), size_t{kSteps - 1});
        const double part = at - static_cast<double>(before);
        return heights[before] * (1 - part) + heights[before + 1] * part;
    };
    const auto above = [&](PhotoPoint at) -> std::optional<double> {
        const auto wall = view.wallFromPhoto(at);
        return wall ? std::optional(wall->z - height(wall->angle)) : std::nullopt;
    };
    appendRing(above, view.pxPerUnit(height(0.0)), points, sigma, residual);
}

/// How far the foot lies over places below which it has to be.
void appendPastFoot(const View& view, const std::vector<PhotoPoint>& past, double sigma, double*& residual)
{
    const double share = shared(past.size()), px_per_unit = view.pxPerUnit(0);
    for (const PhotoPoint& p : past) {
        const auto z = view.heightFromPhoto(p);
        *residual++ = share * (z ? softened(std::max(0.0, -*z) * px_per_unit / sigma) : 0);
    }
}

/// The tub with its wall as far out as the rim's edge.
void appendRim(Cone cone, const View& tub, const std::vector<EdgePoint>& points, double sigma,
               double*& residual)
{
    cone.base_radius += kBead;
    const View view = tub.of(cone);
    const auto above = [&](PhotoPoint at) -> std::optional<double> {
        const auto z = view.heightFromPhoto(at);
        return z ? std::optional(*z - cone.height) : std::nullopt;
    };
    appendRing(above, view.pxPerUnit(cone.height), points, sigma, residual);
}

struct Errors {
    Pose start;
    const TubEdges& edges;
    PosePrior prior;
    const std::optional<std::array<PhotoPoint, 4>>& corners;
    double corner_sigma;

    int count() const
    {
        return static_cast<int>(edges.left.size() + edges.right.size() + edges.foot.size() +
                                edges.rim.size() + edges.past_left.size() + edges.past_right.size() +
                                edges.past_foot.size()) +
               (corners ? 8 : 0) + 4;
    }

    void appendCorners(const View& view, const Pose& pose, double*& residual) const
    {
        const double grazing = view.grazingAngle(), rim = pose.cone.height;
        double off[4], along[4];  // the side, in sigmas; off: left positive
        for (size_t i = 0; i < 4; ++i) {
            const double angle = i == 0 || i == 3 ? -grazing : grazing;
            const PhotoPoint base = view.photoFromWall({angle, 0}), top = view.photoFromWall({angle, rim});
            const PhotoPoint& aim = i < 2 ? top : base;
            const double ex = ((*corners)[i].x_px - aim.x_px) / corner_sigma,
                         ey = ((*corners)[i].y_px - aim.y_px) / corner_sigma;
            const double ux = top.x_px - base.x_px, uy = top.y_px - base.y_px, length = std::hypot(ux, uy);
            off[i] = (ex * uy - ey * ux) / length;
            along[i] = (ex * ux + ey * uy) / length;
        }
        // People set the rim's corners on its bead, over it, or where the side, drawn on, would meet it:
        // alike on both sides, and no nearer than that. Where the taper is not known there is nothing else to
        // tell it by.
        const bool known = prior.slope_sigma < 0.03;
        const double bead = known ? std::max(1.0, kBead * view.pxPerUnit(rim) / corner_sigma) : 1;
        *residual++ = (off[0] - off[1]) / std::sqrt(2.0) / bead;
        *residual++ = (off[0] + off[1]) / std::sqrt(2.0);
        for (const size_t i : {2, 3}) *residual++ = off[i];
        for (const size_t i : {0, 1}) *residual++ = along[i] / bead;
        for (const size_t i : {2, 3}) *residual++ = along[i];
    }

    bool operator()(double const* const* parameters, double* residual) const
    {
        const double* p = parameters[0];
        const Pose pose = poseFrom(start, p);
        const View view(pose);
        if (!possible(pose, view)) return false;
        appendSide(view, -1, pose.cone, edges.left, edges.past_left, prior.px_sigma, residual);
        appendSide(view, 1, pose.cone, edges.right, edges.past_right, prior.px_sigma, residual);
        appendFoot(pose, view, edges.foot, prior.px_sigma, residual);
        appendPastFoot(view, edges.past_foot, prior.px_sigma, residual);
        // Bead, lid and the rim's far side leave more doubt about the rim.
        appendRim(pose.cone, view, edges.rim, 3 * prior.px_sigma, residual);
        if (corners) appendCorners(view, pose, residual);
        *residual++ = (p[1] - 0.12) / 0.3;  // people look down on a tub a little
        *residual++ = (p[5] - start.cone.slope) / prior.slope_sigma;
        *residual++ = (p[6] - std::log(start.focal_px)) / prior.focal_sigma;
        *residual++ = (p[7] - std::log(start.cone.height)) / prior.height_sigma;
        return std::all_of(residual - count(), residual, [](double r) { return std::isfinite(r); });
    }
};

}  // namespace

PoseFit fitPose(const Pose& start, const TubEdges& edges, const PosePrior& prior,
                const std::optional<std::array<PhotoPoint, 4>>& corners, double corner_sigma)
{
    double p[kParameters] = {start.roll,
                             start.pitch,
                             start.base.x / start.base.z,
                             start.base.y / start.base.z,
                             std::log(start.base.z),
                             start.cone.slope,
                             std::log(start.focal_px),
                             std::log(start.cone.height)};
    const Errors errors{start, edges, prior, corners, corner_sigma};
    auto* owned = new Errors(errors);  // by the cost function
    auto* cost = new ceres::DynamicNumericDiffCostFunction<Errors, ceres::FORWARD>(owned);
    cost->AddParameterBlock(kParameters);
    cost->SetNumResiduals(errors.count());
    ceres::Problem problem;
    problem.AddResidualBlock(cost, nullptr, p);

    // What the solver logs about steps that lead nowhere is nothing a user could act on.
    [[maybe_unused]] static const bool quiet = (FLAGS_minloglevel = google::GLOG_FATAL, true);
    ceres::Solver::Options options;
    options.linear_solver_type = ceres::DENSE_QR;
    options.num_threads = 1;
    options.max_num_iterations = 60;
    options.logging_type = ceres::SILENT;
    ceres::Solver::Summary summary;
    ceres::Solve(options, &problem, &summary);
    return {poseFrom(start, p), summary.final_cost};
}

}  // namespace slipglass
