#pragma once
// The pose a sample was rendered with.
#include <cmath>

#include "samples.h"
#include "slipglass/tub/pose.h"
#include "slipglass/tub/tub_type.h"

namespace slipglass::test {

/// The truth's camera looks along -z, y up, and its picture's origin is the corner of the top-left pixel;
/// ours looks along z, y down, from that pixel's centre.
inline Pose poseOfTruth(const nlohmann::json& truth)
{
    const auto& camera = truth.at("camera_matrix");
    const auto& m = camera.at("world_to_camera");
    const auto number = [&](int row, int column) {
        return m.at(static_cast<size_t>(row)).at(static_cast<size_t>(column)).get<double>();
    };
    Pose pose;
    pose.focal_px = camera.at("focal_px");
    pose.centre_px = {camera.at("principal_point_px")[0].get<double>() - 0.5,
                      camera.at("principal_point_px")[1].get<double>() - 0.5};
    pose.base = {number(0, 3), -number(1, 3), -number(2, 3)};
    const double up_x = number(0, 2), up_y = -number(1, 2), up_z = -number(2, 2);  // the tub's axis
    pose.pitch = std::asin(-up_z);
    pose.roll = std::atan2(up_x, -up_y);
    const TubType type = tubType(truth.at("tub_type"), {});
    // sample-images/README.md: linear in height, with a step of 0.9-1.0 mm near the top and a bead.
    pose.cone = {type.base_diameter_mm / 2,
                 (type.rim_diameter_mm / 2 - 2 - type.base_diameter_mm / 2) / type.height_mm, type.height_mm,
                 type.wall_mm};
    return pose;
}

}  // namespace slipglass::test
