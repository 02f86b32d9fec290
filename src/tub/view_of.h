#pragma once
#include <algorithm>
#include <cmath>

#include "slipglass/tub/pose.h"

// What ViewOf does, for whoever needs it for another kind of number than double.

namespace slipglass {

template <class T>
ViewOf<T>::ViewOf(const PoseOf<T>& pose) : pose_(pose)
{
    using std::cos, std::sin, std::atan2, std::hypot;
    const T cr = cos(pose.roll), sr = sin(pose.roll);
    const T cp = cos(pose.pitch), sp = sin(pose.pitch);
    // Looking down tips the tub's upper end towards the camera.
    right_ = {cr, sr, T(0)};
    towards_ = {-sr * sp, cr * sp, -cp};
    up_ = {sr * cp, -cr * cp, -sp};
    const cv::Point3_<T>& base = pose.base;
    const auto towardsEye = [&](const cv::Point3_<T>& axis) {
        return -(base.x * axis.x + base.y * axis.y + base.z * axis.z);
    };
    eye_ = {towardsEye(right_), towardsEye(towards_), towardsEye(up_)};
    facing_ = atan2(eye_.x, eye_.y);
    distance_ = hypot(eye_.x, eye_.y);
}

template <class T>
cv::Point3_<T> ViewOf<T>::inCamera(const T& across, const T& forward, const T& z) const
{
    const cv::Point3_<T>& base = pose_.base;
    return {base.x + across * right_.x + forward * towards_.x + z * up_.x,
            base.y + across * right_.y + forward * towards_.y + z * up_.y,
            base.z + across * right_.z + forward * towards_.z + z * up_.z};
}

template <class T>
PhotoPointOf<T> ViewOf<T>::seen(const cv::Point3_<T>& p) const
{
    return {pose_.centre_px.x + pose_.focal_px * p.x / p.z, pose_.centre_px.y + pose_.focal_px * p.y / p.z};
}

template <class T>
PhotoPointOf<T> ViewOf<T>::photoFromWall(const WallPointOf<T>& point) const
{
    using std::cos, std::sin;
    const T r = pose_.cone.radiusAt(point.z), angle = facing_ + point.angle;
    return seen(inCamera(r * sin(angle), r * cos(angle), point.z));
}

template <class T>
std::vector<PhotoPointOf<T>> ViewOf<T>::photoFromRing(const WallPointOf<T>& first, const T& step,
                                                      int count) const
{
    using std::cos, std::sin;
    const T r = pose_.cone.radiusAt(first.z);
    // The next angle's sine and cosine by the addition theorem; errs by a rounding a step.
    const T step_sin = sin(step), step_cos = cos(step);
    T sine = sin(facing_ + first.angle), cosine = cos(facing_ + first.angle);
    std::vector<PhotoPointOf<T>> points(static_cast<size_t>(std::max(0, count)));
    for (PhotoPointOf<T>& point : points) {
        point = seen(inCamera(r * sine, r * cosine, first.z));
        const T next = sine * step_cos + cosine * step_sin;
        cosine = cosine * step_cos - sine * step_sin;
        sine = next;
    }
    return points;
}

template <class T>
std::optional<cv::Point3_<T>> ViewOf<T>::onWall(const PhotoPointOf<T>& pixel) const
{
    using std::sqrt;
    const T x = (pixel.x_px - pose_.centre_px.x) / pose_.focal_px,
            y = (pixel.y_px - pose_.centre_px.y) / pose_.focal_px;
    const auto along = [&](const cv::Point3_<T>& axis) { return x * axis.x + y * axis.y + axis.z; };
    const cv::Point3_<T> d{along(right_), along(towards_), along(up_)};  // the line of sight's direction
    // x^2 + y^2 = (radius at z)^2 along eye + t d.
    const T &s = pose_.cone.slope, r0 = pose_.cone.radiusAt(eye_.z);
    const T a = d.x * d.x + d.y * d.y - s * s * d.z * d.z;
    const T b = eye_.x * d.x + eye_.y * d.y - s * r0 * d.z;
    const T c = distance_ * distance_ - r0 * r0;
    const T root = b * b - a * c;
    if (a <= T(0) || root < T(0)) return std::nullopt;
    const T t = (-b - sqrt(root)) / a;
    const cv::Point3_<T> p{eye_.x + t * d.x, eye_.y + t * d.y, eye_.z + t * d.z};
    if (t <= T(0) || pose_.cone.radiusAt(p.z) <= T(0)) return std::nullopt;
    return p;
}

template <class T>
std::optional<WallPointOf<T>> ViewOf<T>::wallFromPhoto(const PhotoPointOf<T>& pixel) const
{
    using std::atan2;
    const auto p = onWall(pixel);
    if (!p) return std::nullopt;
    T angle = atan2(p->x, p->y) - facing_;
    if (angle > T(CV_PI)) angle -= T(2 * CV_PI);
    if (angle < T(-CV_PI)) angle += T(2 * CV_PI);
    return WallPointOf<T>{angle, p->z};
}

template <class T>
std::optional<T> ViewOf<T>::heightFromPhoto(const PhotoPointOf<T>& pixel) const
{
    const auto p = onWall(pixel);
    return p ? std::optional<T>(p->z) : std::nullopt;
}

template <class T>
ViewOf<T> ViewOf<T>::of(const ConeOf<T>& cone) const
{
    ViewOf<T> view = *this;
    view.pose_.cone = cone;
    return view;
}

template <class T>
T ViewOf<T>::grazingAngle() const
{
    using std::acos;
    return acos(std::clamp(T(pose_.cone.radiusAt(eye_.z) / distance_), T(-1), T(1)));
}

template <class T>
T ViewOf<T>::viewCosine(const WallPointOf<T>& point) const
{
    using std::cos, std::sin, std::sqrt;
    const T r = pose_.cone.radiusAt(point.z), s = pose_.cone.slope;
    const T across = distance_ * sin(point.angle);
    const T along = distance_ * cos(point.angle) - r;  // along the level normal
    const T above = eye_.z - point.z;
    return (along - s * above) / sqrt((T(1) + s * s) * (across * across + along * along + above * above));
}

template <class T>
T ViewOf<T>::pxPerUnit(const T& z) const
{
    using std::hypot;
    const double step = 0.02;
    const PhotoPointOf<T> left = photoFromWall({T(-step), z}), right = photoFromWall({T(step), z});
    return hypot(right.x_px - left.x_px, right.y_px - left.y_px) /
           (2 * std::sin(step) * pose_.cone.radiusAt(z));
}

template <class T>
T ViewOf<T>::elevationAtBase(const T& angle) const
{
    using std::atan2, std::cos;
    return atan2(eye_.z, std::max(T(1e-9), T(distance_ * cos(angle) - pose_.cone.base_radius)));
}

}  // namespace slipglass
