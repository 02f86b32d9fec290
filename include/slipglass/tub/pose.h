#pragma once
#include <opencv2/core/matx.hpp>
#include <opencv2/core/types.hpp>
#include <optional>
#include <vector>

#include "slipglass/frames.h"

namespace slipglass {

// Everything here is for double; `...Of<T>` is the same for numbers that carry their derivatives, so that the
// fit of a pose (src/tub/fit_pose.cpp) need not work each place out once more for each parameter.

/// Outside of a tub as a truncated cone standing on z = 0; radius at height z is base_radius + slope * z.
/// Units: mm; nominal while the size is not known: first base radii, then as if the base were 90 mm wide
/// (Tub).
template <class T>
struct ConeOf {
    T base_radius{1};
    T slope{0};   ///< gain of radius per unit of height
    T height{0};  ///< 0 when unknown
    T wall{0};    ///< thickness of wall and base; the inner base lies at z = wall
    T radiusAt(const T& z) const { return base_radius + slope * z; }
};
using Cone = ConeOf<double>;

/// A point on a cone: angle round its axis from the line facing the camera (right positive, radians) and
/// height above its base, the table for a tub's outside, the inner base for its inside (innerWall).
template <class T>
struct WallPointOf {
    T angle{0}, z{0};
};
using WallPoint = WallPointOf<double>;

/// Where a tub stands before a pinhole camera. Camera frame: x right, y down, z forward, origin at the lens;
/// picture in full-size photo px. The tub's turn about its own axis is not part of the pose: angle 0 always
/// faces the camera.
template <class T>
struct PoseOf {
    T focal_px{1};
    cv::Point2d centre_px;  ///< principal point: the picture's centre
    T roll{0};              ///< radians the tub leans clockwise in the picture
    T pitch{0};             ///< radians the camera looks down on the tub
    cv::Point3_<T> base;    ///< centre of the base's outside in the camera frame
    ConeOf<T> cone;
};
using Pose = PoseOf<double>;

/// A pose made ready for converting many points.
template <class T>
class ViewOf {
public:
    explicit ViewOf(const PoseOf<T>& pose);

    /// The picture of a wall point; also of the far side, which a caller has to rule out.
    PhotoPointOf<T> photoFromWall(const WallPointOf<T>& point) const;
    /// The pictures of `count` wall points at one height, `step` radians apart: the same as one by one, many
    /// times faster.
    std::vector<PhotoPointOf<T>> photoFromRing(const WallPointOf<T>& first, const T& step, int count) const;
    /// The nearest wall point seen at a pixel; empty when the line of sight misses the cone. z may lie
    /// outside the tub.
    std::optional<WallPointOf<T>> wallFromPhoto(const PhotoPointOf<T>& pixel) const;
    /// Its z alone, in half the time.
    std::optional<T> heightFromPhoto(const PhotoPointOf<T>& pixel) const;
    /// The view of a tub of another shape at the same place.
    ViewOf of(const ConeOf<T>& cone) const;
    /// Largest angle that can be seen: where the line of sight grazes the wall. The same at every height of a
    /// cone.
    T grazingAngle() const;
    /// Cosine of the angle between the wall's normal and the line of sight; negative on the far side.
    T viewCosine(const WallPointOf<T>& point) const;
    /// Photo px per unit across the wall facing the camera at height z.
    T pxPerUnit(const T& z) const;
    /// Angle by which the line of sight looks down on the base's edge, in the upright plane through the
    /// edge's own normal, radians: steeper towards the sides, where the wall is seen at a slant.
    T elevationAtBase(const T& angle) const;

private:
    /// A place `across` (right) and `forward` (towards the camera) of the tub's axis, at height z.
    cv::Point3_<T> inCamera(const T& across, const T& forward, const T& z) const;
    PhotoPointOf<T> seen(const cv::Point3_<T>& in_camera) const;
    /// The wall point seen at a pixel in the tub's frame.
    std::optional<cv::Point3_<T>> onWall(const PhotoPointOf<T>& pixel) const;

    PoseOf<T> pose_;
    cv::Point3_<T> right_, towards_, up_;  ///< the tub's axes in the camera frame
    cv::Point3_<T> eye_;                   ///< the lens in the tub's frame
    T facing_, distance_;                  ///< direction and distance of the lens from the tub's axis
};
using View = ViewOf<double>;
extern template class ViewOf<double>;

/// The inside of the wall, against which the medium lies: the cone set in by the wall's thickness, heights
/// counted from the inner base.
Pose innerWall(const Pose& pose);

/// The same pose with all lengths multiplied (base radii to mm).
Pose scaled(const Pose& pose, double factor);

}  // namespace slipglass
