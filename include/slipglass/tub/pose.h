#pragma once
#include <opencv2/core/matx.hpp>
#include <opencv2/core/types.hpp>
#include <optional>
#include <vector>

#include "slipglass/frames.h"

namespace slipglass {

/// Outside of a tub as a truncated cone standing on z = 0; radius at height z is base_radius + slope * z.
/// Units: mm; nominal while the size is not known: first base radii, then as if the base were 90 mm wide
/// (Tub).
struct Cone {
    double base_radius = 1;
    double slope = 0;   ///< gain of radius per unit of height
    double height = 0;  ///< 0 when unknown
    double wall = 0;    ///< thickness of wall and base; the inner base lies at z = wall
    double radiusAt(double z) const { return base_radius + slope * z; }
};

/// A point on a cone: angle round its axis from the line facing the camera (right positive, radians) and
/// height above its base, the table for a tub's outside, the inner base for its inside (innerWall).
struct WallPoint {
    double angle = 0, z = 0;
};

/// Where a tub stands before a pinhole camera. Camera frame: x right, y down, z forward, origin at the lens;
/// picture in full-size photo px. The tub's turn about its own axis is not part of the pose: angle 0 always
/// faces the camera.
struct Pose {
    double focal_px = 1;
    cv::Point2d centre_px;  ///< principal point: the picture's centre
    double roll = 0;        ///< radians the tub leans clockwise in the picture
    double pitch = 0;       ///< radians the camera looks down on the tub
    cv::Point3d base;       ///< centre of the base's outside in the camera frame
    Cone cone;
};

/// A pose made ready for converting many points.
class View {
public:
    explicit View(const Pose& pose);

    /// The picture of a wall point; also of the far side, which a caller has to rule out.
    PhotoPoint photoFromWall(WallPoint point) const;
    /// The pictures of `count` wall points at one height, `step` radians apart: the same as one by one, many
    /// times faster.
    std::vector<PhotoPoint> photoFromRing(WallPoint first, double step, int count) const;
    /// The nearest wall point seen at a pixel; empty when the line of sight misses the cone. z may lie
    /// outside the tub.
    std::optional<WallPoint> wallFromPhoto(PhotoPoint pixel) const;
    /// Its z alone, in half the time.
    std::optional<double> heightFromPhoto(PhotoPoint pixel) const;
    /// The view of a tub of another shape at the same place.
    View of(const Cone& cone) const;
    /// Largest angle that can be seen: where the line of sight grazes the wall. The same at every height of a
    /// cone.
    double grazingAngle() const;
    /// Cosine of the angle between the wall's normal and the line of sight; negative on the far side.
    double viewCosine(WallPoint point) const;
    /// Photo px per unit across the wall facing the camera at height z.
    double pxPerUnit(double z) const;
    /// Angle by which the line of sight looks down on the base's edge, in the upright plane through the
    /// edge's own normal, radians: steeper towards the sides, where the wall is seen at a slant.
    double elevationAtBase(double angle) const;

private:
    /// The same wall point in the tub's frame.
    std::optional<cv::Vec3d> onWall(PhotoPoint pixel) const;

    Pose pose_;
    cv::Vec3d right_, towards_, up_;  ///< the tub's axes in the camera frame
    cv::Vec3d eye_;                   ///< the lens in the tub's frame
    double facing_, distance_;        ///< direction and distance of the lens from the tub's axis
};

/// The inside of the wall, against which the medium lies: the cone set in by the wall's thickness, heights
/// counted from the inner base.
Pose innerWall(const Pose& pose);

/// The same pose with all lengths multiplied (base radii to mm).
Pose scaled(const Pose& pose, double factor);

}  // namespace slipglass
