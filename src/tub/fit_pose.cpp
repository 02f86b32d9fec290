#include "fit_pose.h"

#include <ceres/ceres.h>
#include <glog/logging.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>

#include "view_of.h"

namespace slipglass {

namespace {

// Parameters: roll, pitch, x/z, y/z, log z of the base's centre, slope, log focal length, log height of the
// rim.
constexpr int kParameters = 8;

/// A number without its derivatives.
double plain(double value)
{
    return value;
}
double plain(const ceres::Jet<double, kParameters>& value)
{
    return value.a;
}

/// How far the rim's edge stands out from the straight side, mm. Common practice.
constexpr double kBead = 2.4;

template <class T>
PoseOf<T> poseFrom(const Pose& start, const T* p)
{
    using std::exp;
    PoseOf<T> pose;
    pose.centre_px = start.centre_px;
    pose.cone.base_radius = T(start.cone.base_radius);
    pose.cone.wall = T(start.cone.wall);
    pose.roll = p[0];
    pose.pitch = p[1];
    const T z = exp(p[4]);
    pose.base = {p[2] * z, p[3] * z, z};
    pose.cone.slope = p[5];
    pose.focal_px = exp(p[6]);
    pose.cone.height = exp(p[7]);
    return pose;
}

/// Radius of the rounded edge between base and wall, mm. Common practice for moulded tubs: 2 to 4.
constexpr double kHeel = 2.5;

/// Whether a camera could be there: before the tub, not within it, nor at its wall. Beyond, a trial step ends
/// in divisions by nothing.
template <class T>
bool possible(const PoseOf<T>& pose, const ViewOf<T>& view)
{
    const double grazing = plain(view.grazingAngle()), pitch = plain(pose.pitch);
    return std::isfinite(grazing) && grazing > 0.4 && plain(pose.base.z) > 0 && std::abs(pitch) < 1.4;
}

/// Grows like the root of the error beyond one sigma: one stray point cannot turn the tub.
template <class T>
T softened(const T& r)
{
    using std::sqrt;
    if (r > T(1)) return sqrt(2.0 * r - 1.0);
    if (r < T(-1)) return -sqrt(-2.0 * r - 1.0);
    return r;
}

/// Neighbours err together: an edge counts as so many places of its own, however many were found on it.
double shared(size_t points)
{
    constexpr double kApart = 8;  // places along an edge that err by themselves. Guess.
    return std::sqrt(std::min(1.0, kApart / static_cast<double>(std::max<size_t>(1, points))));
}

/// Signed distance of places from the projected side of the cone.
/// @param past  places beyond which that side lies: only how far they are outside it counts.
template <class T>
void appendSide(const ViewOf<T>& view, double sign, const ConeOf<T>& cone,
                const std::vector<EdgePoint>& points, const std::vector<PhotoPoint>& past, double sigma,
                T*& residual)
{
    using std::hypot;
    const T angle = sign * view.grazingAngle();
    const PhotoPointOf<T> a = view.photoFromWall({angle, 0.1 * cone.base_radius});
    const PhotoPointOf<T> b = view.photoFromWall({angle, 2.1 * cone.base_radius});
    const T dx = b.x_px - a.x_px, dy = b.y_px - a.y_px, length = hypot(dx, dy);
    const auto rightOf = [&](PhotoPoint at) -> T {
        return ((at.y_px - a.y_px) * dx - (at.x_px - a.x_px) * dy) / length / sigma;
    };
    const double share = shared(points.size()), share_past = shared(past.size());
    for (const EdgePoint& p : points) *residual++ = share * p.weight * softened(rightOf(p.at));
    for (const PhotoPoint& p : past)
        *residual++ = share_past * softened(std::max(T(0), T(sign * rightOf(p))));
}

/// Distance of places on the front half of an edge round the cone from where it is seen; `above(place)`: how
/// far above it, on the straight wall drawn on.
template <class T, class Above>
void appendRing(const Above& above, const T& px_per_unit, const std::vector<EdgePoint>& points, double sigma,
                T*& residual)
{
    const double share = shared(points.size());
    for (const EdgePoint& p : points) {
        const std::optional<T> off = above(p.at);
        // Beside the tub, at the ends of the arc, there is no wall to measure on.
        *residual++ = share * p.weight * (off ? softened(T(*off * px_per_unit / sigma)) : T(3));
    }
}

/// Where the lowest place of the rounded heel that is still seen lies, at an angle, on the straight wall
/// drawn on: the line of sight to it touches the heel's arc, which lies within the wall.
template <class T>
T footAt(const T& angle, const PoseOf<T>& pose, const ViewOf<T>& view)
{
    using std::cos, std::sin, std::sqrt;
    const T slope = pose.cone.slope;
    const T centre = pose.cone.base_radius + kHeel * (slope - sqrt(1.0 + slope * slope));  // of the arc
    T on_heel = angle, z{0};
    for (int i = 0; i < 4; ++i) {  // it is seen beside where it is; that soon settles
        const T falls = std::clamp(view.elevationAtBase(on_heel), T(0), T(1.4));
        const T radius = centre + kHeel * sin(falls), height = kHeel * (1.0 - cos(falls));
        ConeOf<T> inside = pose.cone;  // a wall through that place
        inside.base_radius = radius - slope * height;
        const auto seen = view.wallFromPhoto(view.of(inside).photoFromWall({on_heel, height}));
        if (!seen) break;
        z = seen->z;
        if (std::abs(plain(angle - seen->angle)) < 1e-5) break;
        on_heel += angle - seen->angle;
    }
    return z;
}

template <class T>
void appendFoot(const PoseOf<T>& pose, const ViewOf<T>& view, const std::vector<EdgePoint>& points,
                double sigma, T*& residual)
{
    using std::abs, std::sqrt;
    if (points.empty()) return;
    // Told at some places, the closer to the sides the denser: there the line of sight falls onto the heel
    // ever more steeply.
    constexpr int kSteps = 32;  // an even number
    const T widest = view.grazingAngle();
    std::array<T, kSteps + 1> heights{};
    for (size_t i = 0; i <= kSteps; ++i) {
        const double s = 2.0 * static_cast<double>(i) / kSteps - 1, inward = 1 - std::abs(s);
        heights[i] = footAt(T(std::copysign(1 - inward * inward, s) * widest), pose, view);
    }
    const auto height = [&](const T& angle) -> T {
        const T inward = 1.0 - abs(angle) / widest;
        const T outward = inward > T(0) ? T(1.0 - sqrt(inward)) : T(1);  // no slope at a root of nothing
        const T at = ((angle < T(0) ? T(-outward) : outward) + 1.0) * (kSteps / 2.0);
        const auto before = std::min(static_cast<size_t>(plain(at)), size_t{kSteps - 1});
        const T part = at - static_cast<double>(before);
        return heights[before] * (1.0 - part) + heights[before + 1] * part;
    };
    const auto above = [&](PhotoPoint at) -> std::optional<T> {
        const auto wall = view.wallFromPhoto({T(at.x_px), T(at.y_px)});
        return wall ? std::optional<T>(wall->z - height(wall->angle)) : std::nullopt;
    };
    appendRing<T>(above, view.pxPerUnit(height(T(0))), points, sigma, residual);
}

/// How far the foot lies over places below which it has to be.
template <class T>
void appendPastFoot(const ViewOf<T>& view, const std::vector<PhotoPoint>& past, double sigma, T*& residual)
{
    const double share = shared(past.size());
    const T px_per_unit = view.pxPerUnit(T(0));
    for (const PhotoPoint& p : past) {
        const auto z = view.heightFromPhoto({T(p.x_px), T(p.y_px)});
        *residual++ = share * (z ? softened(T(std::max(T(0), T(-*z)) * px_per_unit / sigma)) : T(0));
    }
}

/// The tub with its wall as far out as the rim's edge.
template <class T>
void appendRim(ConeOf<T> cone, const ViewOf<T>& tub, const std::vector<EdgePoint>& points, double sigma,
               T*& residual)
{
    cone.base_radius += kBead;
    const ViewOf<T> view = tub.of(cone);
    const auto above = [&](PhotoPoint at) -> std::optional<T> {
        const auto z = view.heightFromPhoto({T(at.x_px), T(at.y_px)});
        return z ? std::optional<T>(*z - cone.height) : std::nullopt;
    };
    appendRing<T>(above, view.pxPerUnit(cone.height), points, sigma, residual);
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

    template <class T>
    void appendCorners(const ViewOf<T>& view, const PoseOf<T>& pose, T*& residual) const
    {
        using std::hypot;
        const T grazing = view.grazingAngle(), rim = pose.cone.height;
        T off[4], along[4];  // the side, in sigmas; off: left positive
        for (size_t i = 0; i < 4; ++i) {
            const T angle = i == 0 || i == 3 ? T(-grazing) : grazing;
            const PhotoPointOf<T> base = view.photoFromWall({angle, T(0)}),
                                  top = view.photoFromWall({angle, rim});
            const PhotoPointOf<T>& aim = i < 2 ? top : base;
            const T ex = ((*corners)[i].x_px - aim.x_px) / corner_sigma,
                    ey = ((*corners)[i].y_px - aim.y_px) / corner_sigma;
            const T ux = top.x_px - base.x_px, uy = top.y_px - base.y_px, length = hypot(ux, uy);
            off[i] = (ex * uy - ey * ux) / length;
            along[i] = (ex * ux + ey * uy) / length;
        }
        // People set the rim's corners on its bead, over it, or where the side, drawn on, would meet it:
        // alike on both sides, and no nearer than that. Where the taper is not known there is nothing else to
        // tell it by.
        const bool known = prior.slope_sigma < 0.03;
        const T bead = known ? std::max(T(1), T(kBead * view.pxPerUnit(rim) / corner_sigma)) : T(1);
        *residual++ = (off[0] - off[1]) / std::sqrt(2.0) / bead;
        *residual++ = (off[0] + off[1]) / std::sqrt(2.0);
        for (const size_t i : {2, 3}) *residual++ = off[i];
        for (const size_t i : {0, 1}) *residual++ = along[i] / bead;
        for (const size_t i : {2, 3}) *residual++ = along[i];
    }

    template <class T>
    bool operator()(const T* p, T* residual) const
    {
        const T* const first = residual;
        const PoseOf<T> pose = poseFrom(start, p);
        const ViewOf<T> view(pose);
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
        return std::all_of(first, static_cast<const T*>(residual),
                           [](const T& r) { return std::isfinite(plain(r)); });
    }
};

using Parameters = std::array<double, kParameters>;

Parameters parametersOf(const Pose& pose)
{
    return {pose.roll,
            pose.pitch,
            pose.base.x / pose.base.z,
            pose.base.y / pose.base.z,
            std::log(pose.base.z),
            pose.cone.slope,
            std::log(pose.focal_px),
            std::log(pose.cone.height)};
}

/// Moves the parameters to where the errors are least. Gives half the sum of squares there.
/// @param tolerance  ends when a step saves less than this part of it.
double solve(const Errors& errors, Parameters& p, double tolerance)
{
    // The problem owns the cost, and that the errors.
    using Cost = ceres::AutoDiffCostFunction<Errors, ceres::DYNAMIC, kParameters>;
    ceres::Problem problem;
    problem.AddResidualBlock(new Cost(new Errors(errors), errors.count()), nullptr, p.data());

    // What the solver logs about steps that lead nowhere is nothing a user could act on.
    [[maybe_unused]] static const bool quiet = (FLAGS_minloglevel = google::GLOG_FATAL, true);
    ceres::Solver::Options options;
    options.linear_solver_type = ceres::DENSE_QR;
    options.num_threads = 1;
    options.max_num_iterations = 60;
    options.function_tolerance = tolerance;
    options.logging_type = ceres::SILENT;
    ceres::Solver::Summary summary;
    ceres::Solve(options, &problem, &summary);
    return summary.final_cost;
}

/// A step that saves less than this part of the errors is the last.
constexpr double kSettled = 1e-9, kRough = 1e-2;
/// From afar errors of so many times the spread count fully.
constexpr double kAfar = 10;

}  // namespace

PoseFit fitPose(const Pose& start, const TubEdges& edges, const PosePrior& prior,
                const std::optional<std::array<PhotoPoint, 4>>& corners, double corner_sigma)
{
    Parameters p = parametersOf(start);
    const double cost = solve({start, edges, prior, corners, corner_sigma}, p, kSettled);
    return {poseFrom(start, p.data()), cost};
}

PoseFit fitPoseFromAfar(const Pose& start, const TubEdges& edges, const PosePrior& prior)
{
    Parameters p = parametersOf(start);
    PosePrior wide = prior;
    wide.px_sigma *= kAfar;
    const std::optional<std::array<PhotoPoint, 4>> no_corners;
    solve({start, edges, wide, no_corners, 1}, p, kRough);
    const double cost = solve({start, edges, prior, no_corners, 1}, p, kSettled);
    return {poseFrom(start, p.data()), cost};
}

}  // namespace slipglass
