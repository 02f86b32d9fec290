#include "fit_pose.h"

#include <ceres/ceres.h>
#include <glog/logging.h>

#include <algorithm>
#include <cmath>

#include "foot.h"

namespace slipglass {

namespace {

// Parameters: roll, pitch, x/z, y/z, log z of the base's centre, slope, log focal length.
constexpr int kParameters = 7;

Pose poseFrom(const Pose& start, const double* p)
{
    Pose pose = start;
    pose.roll = p[0];
    pose.pitch = p[1];
    const double z = std::exp(p[4]);
    pose.base = {p[2] * z, p[3] * z, z};
    pose.cone.slope = p[5];
    pose.focal_px = std::exp(p[6]);
    return pose;
}

/// Whether a camera could be there: before the tub, not within it, nor at its wall. Beyond, a trial step ends
/// in divisions by nothing.
bool possible(const Pose& pose)
{
    const double grazing = View(pose).grazingAngle();
    return std::isfinite(grazing) && grazing > 0.4 && pose.base.z > 0 && std::abs(pose.pitch) < 1.4;
}

/// Grows like the root of the error beyond one sigma: one stray point cannot turn the tub.
double softened(double r)
{
    const double a = std::abs(r);
    return a <= 1 ? r : std::copysign(std::sqrt(2 * a - 1), r);
}

/// Signed distance of points from the projected side of the cone.
void appendSide(const View& view, double sign, const Cone& cone, const std::vector<cv::Point2d>& points,
                double sigma, double*& residual)
{
    const double angle = sign * view.grazingAngle();
    const PhotoPoint a = view.photoFromWall({angle, 0.1 * cone.base_radius});
    const PhotoPoint b = view.photoFromWall({angle, 2.1 * cone.base_radius});
    const double dx = b.x_px - a.x_px, dy = b.y_px - a.y_px, length = std::hypot(dx, dy);
    // Neighbours err together (shadow, thickness of the plastic): a side tells two numbers, however many its
    // points.
    const double weight = std::sqrt(2.0 / static_cast<double>(std::max<size_t>(2, points.size())));
    for (const cv::Point2d& p : points)
        *residual++ = weight * softened(((p.x - a.x_px) * dy - (p.y - a.y_px) * dx) / length / sigma);
}

/// Distance of points from the contact line of the foot.
void appendFoot(const View& view, const std::vector<cv::Point2d>& points, double heel_radius, double sigma,
                double*& residual)
{
    const double weight = std::sqrt(3.0 / static_cast<double>(std::max<size_t>(1, points.size())));
    const double px_per_unit = view.pxPerUnit(0);
    for (const cv::Point2d& point : points) {
        const auto wall = view.wallFromPhoto({point.x, point.y});
        const double foot_z = wall ? seenFootHeight(heel_radius, view.elevationAtBase(wall->angle)) : 0;
        *residual++ = weight * (wall ? softened((wall->z - foot_z) * px_per_unit / sigma) : 10);
    }
}

void appendPriors(const Pose& start, const PosePrior& prior, const double* p, double*& residual)
{
    *residual++ = (p[1] - 0.15) / 0.3;               // people look down on a tub a little
    *residual++ = (p[5] - start.cone.slope) / 0.05;  // common practice: deli tubs taper about this much
    *residual++ = (p[6] - std::log(start.focal_px)) / prior.focal_sigma;
}

struct EdgeErrors {
    Pose start;
    const EdgePoints& edges;
    PosePrior prior;
    double heel_radius;

    int count() const
    {
        return static_cast<int>(edges.left.size() + edges.right.size() + edges.foot.size()) + 3;
    }

    bool operator()(double const* const* parameters, double* residual) const
    {
        const double* p = parameters[0];
        const Pose pose = poseFrom(start, p);
        if (!possible(pose)) return false;
        const View view(pose);
        appendSide(view, -1, pose.cone, edges.left, prior.px_sigma, residual);
        appendSide(view, 1, pose.cone, edges.right, prior.px_sigma, residual);
        appendFoot(view, edges.foot, heel_radius, prior.px_sigma, residual);
        appendPriors(start, prior, p, residual);
        return std::all_of(residual - count(), residual, [](double r) { return std::isfinite(r); });
    }
};

/// How far the rim stands out from the straight side, mm. Common practice.
constexpr double kBead = 2.4;

struct CornerErrors {
    Pose start;
    const std::array<PhotoPoint, 4>& corners;
    const std::vector<cv::Point2d>& foot;
    PosePrior prior;
    double heel_radius;

    int count() const { return static_cast<int>(foot.size()) + 4 + 4 + 3; }

    bool operator()(double const* const* parameters, double* residual) const
    {
        const double* p = parameters[0];
        const Pose pose = poseFrom(start, p);
        if (!possible(pose)) return false;
        const View view(pose);
        const double grazing = view.grazingAngle();
        const bool rim_known = pose.cone.height > 0;
        const double rim = rim_known ? pose.cone.height : 2 * pose.cone.base_radius;
        double off[4], along[4];  // the side, in sigmas; off: left positive
        for (size_t i = 0; i < 4; ++i) {
            const double angle = i == 0 || i == 3 ? -grazing : grazing;
            const PhotoPoint base = view.photoFromWall({angle, 0}), top = view.photoFromWall({angle, rim});
            const PhotoPoint& aim = i < 2 ? top : base;
            const double ex = (corners[i].x_px - aim.x_px) / prior.px_sigma,
                         ey = (corners[i].y_px - aim.y_px) / prior.px_sigma;
            const double ux = top.x_px - base.x_px, uy = top.y_px - base.y_px, length = std::hypot(ux, uy);
            off[i] = (ex * uy - ey * ux) / length;
            along[i] = (ex * ux + ey * uy) / length;
        }
        // People set the rim's corners on its bead, over it, or where the side, drawn on, would meet it:
        // alike on both sides, and no nearer than that. Where the taper is not known there is nothing else to
        // tell it by.
        const double bead = rim_known ? kBead * view.pxPerUnit(rim) / prior.px_sigma : 0;
        *residual++ = (off[0] - off[1]) / std::sqrt(2.0) / std::max(1.0, bead);
        *residual++ = (off[0] + off[1]) / std::sqrt(2.0);
        for (const size_t i : {2, 3}) *residual++ = off[i];
        // How high a rim of unknown height stands is not known.
        for (const size_t i : {0, 1}) *residual++ = rim_known ? along[i] / std::max(1.0, bead) : 0;
        for (const size_t i : {2, 3}) *residual++ = along[i];
        appendFoot(view, foot, heel_radius, prior.px_sigma, residual);
        appendPriors(start, prior, p, residual);
        return std::all_of(residual - count(), residual, [](double r) { return std::isfinite(r); });
    }
};

/// Gives the parameters found and half the sum of squares left.
template <class Errors>
CornerFit solved(const Errors& errors, int residuals, const Pose& start, const PosePrior& prior)
{
    double p[kParameters] = {start.roll,
                             start.pitch,
                             start.base.x / start.base.z,
                             start.base.y / start.base.z,
                             std::log(start.base.z),
                             start.cone.slope,
                             std::log(start.focal_px)};
    auto* owned = new Errors(errors);  // by the cost function
    auto* cost = new ceres::DynamicNumericDiffCostFunction<Errors, ceres::CENTRAL>(owned);
    cost->AddParameterBlock(kParameters);
    cost->SetNumResiduals(residuals);
    ceres::Problem problem;
    problem.AddResidualBlock(cost, nullptr, p);

    std::vector<int> fixed;
    if (prior.pitch_known) fixed.push_back(1);
    if (prior.cone_known) fixed.push_back(5);
    if (!fixed.empty()) problem.SetManifold(p, new ceres::SubsetManifold(kParameters, fixed));

    // What the solver logs about steps that lead nowhere is nothing a user could act on.
    [[maybe_unused]] static const bool quiet = (FLAGS_minloglevel = google::GLOG_FATAL, true);
    ceres::Solver::Options options;
    options.linear_solver_type = ceres::DENSE_QR;
    options.num_threads = 1;
    options.max_num_iterations = 40;
    options.logging_type = ceres::SILENT;
    ceres::Solver::Summary summary;
    ceres::Solve(options, &problem, &summary);
    return {poseFrom(start, p), summary.final_cost};
}

}  // namespace

Pose fitPose(const Pose& start, const EdgePoints& edges, const PosePrior& prior, double heel_radius)
{
    const EdgeErrors errors{start, edges, prior, heel_radius};
    return solved(errors, errors.count(), start, prior).pose;
}

CornerFit fitPoseToCorners(const Pose& start, const std::array<PhotoPoint, 4>& corners,
                           const std::vector<cv::Point2d>& foot, const PosePrior& prior, double heel_radius)
{
    const CornerErrors errors{start, corners, foot, prior, heel_radius};
    return solved(errors, errors.count(), start, prior);
}

}  // namespace slipglass
