#include "slipglass/tub/pose.h"

#include <algorithm>
#include <cmath>

namespace slipglass {

View::View(const Pose& pose) : pose_(pose)
{
    const double cr = std::cos(pose.roll), sr = std::sin(pose.roll);
    const double cp = std::cos(pose.pitch), sp = std::sin(pose.pitch);
    const auto rolled = [&](double x, double y, double z) {
        return cv::Vec3d(cr * x - sr * y, sr * x + cr * y, z);
    };
    // Looking down tips the tub's upper end towards the camera.
    right_ = rolled(1, 0, 0);
    towards_ = rolled(0, sp, -cp);
    up_ = rolled(0, -cp, -sp);
    const cv::Vec3d to_eye(-pose.base.x, -pose.base.y, -pose.base.z);
    eye_ = {to_eye.dot(right_), to_eye.dot(towards_), to_eye.dot(up_)};
    facing_ = std::atan2(eye_[0], eye_[1]);
    distance_ = std::hypot(eye_[0], eye_[1]);
}

PhotoPoint View::photoFromWall(WallPoint point) const
{
    const double r = pose_.cone.radiusAt(point.z);
    const cv::Vec3d p = cv::Vec3d(pose_.base.x, pose_.base.y, pose_.base.z) +
                        r * std::sin(facing_ + point.angle) * right_ +
                        r * std::cos(facing_ + point.angle) * towards_ + point.z * up_;
    return {pose_.centre_px.x + pose_.focal_px * p[0] / p[2],
            pose_.centre_px.y + pose_.focal_px * p[1] / p[2]};
}

std::vector<PhotoPoint> View::photoFromRing(WallPoint first, double step, int count) const
{
    const double r = pose_.cone.radiusAt(first.z);
    const cv::Vec3d middle = cv::Vec3d(pose_.base.x, pose_.base.y, pose_.base.z) + first.z * up_;
    const cv::Vec3d across = r * right_, forward = r * towards_;
    // The next angle's sine and cosine by the addition theorem; errs by a rounding a step.
    const double step_sin = std::sin(step), step_cos = std::cos(step);
    double sine = std::sin(facing_ + first.angle), cosine = std::cos(facing_ + first.angle);
    std::vector<PhotoPoint> points(static_cast<size_t>(std::max(0, count)));
    for (PhotoPoint& point : points) {
        const cv::Vec3d p = middle + sine * across + cosine * forward;
        const double scale = pose_.focal_px / p[2];
        point = {pose_.centre_px.x + scale * p[0], pose_.centre_px.y + scale * p[1]};
        const double next = sine * step_cos + cosine * step_sin;
        cosine = cosine * step_cos - sine * step_sin;
        sine = next;
    }
    return points;
}

std::optional<cv::Vec3d> View::onWall(PhotoPoint pixel) const
{
    const cv::Vec3d ray((pixel.x_px - pose_.centre_px.x) / pose_.focal_px,
                        (pixel.y_px - pose_.centre_px.y) / pose_.focal_px, 1);
    const cv::Vec3d d(ray.dot(right_), ray.dot(towards_), ray.dot(up_));
    // x^2 + y^2 = (radius at z)^2 along eye + t d.
    const double s = pose_.cone.slope, r0 = pose_.cone.radiusAt(eye_[2]);
    const double a = d[0] * d[0] + d[1] * d[1] - s * s * d[2] * d[2];
    const double b = eye_[0] * d[0] + eye_[1] * d[1] - s * r0 * d[2];
    const double c = distance_ * distance_ - r0 * r0;
    const double root = b * b - a * c;
    if (a <= 0 || root < 0) return std::nullopt;
    const double t = (-b - std::sqrt(root)) / a;
    const cv::Vec3d p = eye_ + t * d;
    if (t <= 0 || pose_.cone.radiusAt(p[2]) <= 0) return std::nullopt;
    return p;
}

std::optional<WallPoint> View::wallFromPhoto(PhotoPoint pixel) const
{
    const auto p = onWall(pixel);
    if (!p) return std::nullopt;
    double angle = std::atan2((*p)[0], (*p)[1]) - facing_;
    if (std::abs(angle) > CV_PI) angle -= std::copysign(2 * CV_PI, angle);
    return WallPoint{angle, (*p)[2]};
}

std::optional<double> View::heightFromPhoto(PhotoPoint pixel) const
{
    const auto p = onWall(pixel);
    return p ? std::optional((*p)[2]) : std::nullopt;
}

View View::of(const Cone& cone) const
{
    View view = *this;
    view.pose_.cone = cone;
    return view;
}

double View::grazingAngle() const
{
    return std::acos(std::clamp(pose_.cone.radiusAt(eye_[2]) / distance_, -1.0, 1.0));
}

double View::viewCosine(WallPoint point) const
{
    const double r = pose_.cone.radiusAt(point.z), s = pose_.cone.slope;
    const double across = distance_ * std::sin(point.angle);
    const double along = distance_ * std::cos(point.angle) - r;  // along the level normal
    const double above = eye_[2] - point.z;
    return (along - s * above) / std::sqrt((1 + s * s) * (across * across + along * along + above * above));
}

double View::pxPerUnit(double z) const
{
    const double step = 0.02;
    const PhotoPoint left = photoFromWall({-step, z}), right = photoFromWall({step, z});
    return std::hypot(right.x_px - left.x_px, right.y_px - left.y_px) /
           (2 * std::sin(step) * pose_.cone.radiusAt(z));
}

double View::elevationAtBase(double angle) const
{
    return std::atan2(eye_[2], std::max(1e-9, distance_ * std::cos(angle) - pose_.cone.base_radius));
}

Pose innerWall(const Pose& pose)
{
    const double t = pose.cone.wall, s = pose.cone.slope;
    Pose inner = pose;
    inner.cone.base_radius = pose.cone.radiusAt(t) - t * std::sqrt(1 + s * s);
    inner.cone.height = std::max(0.0, pose.cone.height - t);
    inner.cone.wall = 0;
    const double sr = std::sin(pose.roll), cr = std::cos(pose.roll), cp = std::cos(pose.pitch),
                 sp = std::sin(pose.pitch);
    inner.base += t * cv::Point3d(sr * cp, -cr * cp, -sp);
    return inner;
}

Pose scaled(const Pose& pose, double factor)
{
    Pose result = pose;
    result.base *= factor;
    result.cone.base_radius *= factor;
    result.cone.height *= factor;
    result.cone.wall *= factor;
    return result;
}

}  // namespace slipglass
