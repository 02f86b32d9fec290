#include "slipglass/tub/pose.h"

#include <algorithm>
#include <cmath>

#include "view_of.h"

namespace slipglass {

template class ViewOf<double>;

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
