#include "true_tub.h"

#include <cmath>

namespace slipglass {

using nlohmann::json;

namespace {

/// Outer wall of the two shapes of which the samples' truth gives only the name: sample-images/README.md.
Cone coneOf(const json& truth)
{
    if (truth.contains("tub_shape_mm")) {
        const json& s = truth["tub_shape_mm"];
        const double base = s["rb"], below_rim = s["rw"], height = s["H"];
        return {base, (below_rim - base) / height, height, s["t"]};
    }
    if (truth["tub_type"] == "gallon") return {77.9, 0.0939, 165, 1.0};
    return {44.83, 0.0798, 140, 0.8};
}

}  // namespace

Tub trueTub(const json& truth)
{
    const json& camera = truth["camera_matrix"];
    const auto m = [&](int r, int c) -> double { return camera["world_to_camera"][r][c]; };
    Tub tub;
    tub.in_mm = true;
    tub.confidence = 1;
    Pose& pose = tub.pose;
    pose.focal_px = camera["focal_px"];
    pose.centre_px = {camera["principal_point_px"][0].get<double>() - 0.5,
                      camera["principal_point_px"][1].get<double>() - 0.5};
    pose.base = {m(0, 3), -m(1, 3), -m(2, 3)};
    pose.roll = std::atan2(m(0, 2), m(1, 2));
    pose.pitch = std::asin(m(2, 2));
    pose.cone = coneOf(truth);
    const double surface = truth["medium_surface_mm"].get<double>() + pose.cone.wall;
    tub.surface_angles = {-1, 1};
    tub.surface_z = {surface, surface};
    if (const json& label = truth["label"]; !label.is_null()) {
        Label seen{};
        for (size_t i = 0; i < 4; ++i)
            seen.corners[i] = {label["qr_corners_px"][i][0].get<double>() - 0.5,
                               label["qr_corners_px"][i][1].get<double>() - 0.5};
        seen.qr_side_mm = label["qr_modules"].get<double>() * label["qr_module_mm"].get<double>();
        tub.label = seen;
    }
    return tub;
}

}  // namespace slipglass
