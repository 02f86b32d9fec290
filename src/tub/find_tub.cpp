#include "slipglass/tub/find_tub.h"

#include <algorithm>
#include <cmath>

#include "confidence.h"
#include "one_tub.h"
#include "pose_from_map.h"
#include "surface.h"

namespace slipglass {

namespace {

/// Scale of a nominal pose from the label: its printed side against its side on the nominal wall.
double mmPerNominal(const Pose& pose, const Label& label)
{
    const View view(pose);
    std::vector<cv::Point3d> corners;
    for (const PhotoPoint& c : label.corners) {
        const auto wall = view.wallFromPhoto(c);
        if (!wall) return 0;
        // Unrolled, so that the label's bend does not shorten it.
        corners.emplace_back(wall->angle * pose.cone.radiusAt(wall->z),
                             wall->z * std::sqrt(1 + pose.cone.slope * pose.cone.slope), 0);
    }
    double side = 0;
    for (size_t i = 0; i < 4; ++i) side += cv::norm(corners[i] - corners[(i + 1) % 4]) / 4;
    return side > 0 ? label.qr_side_mm / side : 0;
}

/// A tub at a pose, scaled by its type or its label.
Tub tubAt(const Pose& pose, const TubQuery& query)
{
    Tub tub;
    tub.pose = pose;
    tub.label = query.label;
    tub.in_mm = query.type.has_value();
    if (!query.type && query.label) {
        const double factor = mmPerNominal(tub.pose, *query.label);
        if (factor > 0.2 && factor < 6) {
            tub.pose = scaled(tub.pose, factor);
            tub.in_mm = true;
        }
    }
    if (query.type && query.label) tub.label_over_type = mmPerNominal(tub.pose, *query.label);
    return tub;
}

/// Adds where the medium ends and what covers it.
void addWall(Tub& tub, const TubMap& map)
{
    tub.cover = {map.cover, map.reduction, map.origin};
    const double rim = tub.pose.cone.height;
    const Surface surface = findSurface(map, tub.pose, 0.2 * rim, 0.99 * rim);
    tub.surface_angles = surface.angles;
    tub.surface_z = surface.z;
}

/// A person is believed instead of the picture.
TubFinding tubAsDrawn(const TubQuery& query)
{
    const TubMap map = tubMap(query.bgr, query.full_size, query.label, cv::Rect({}, query.full_size));
    Tub tub = tubAt(poseFromCorners(query, map), query);
    if (tub.pose.cone.height < 0.3 * tub.pose.cone.base_radius)
        return {std::nullopt, "the outline set by hand is not that of a tub",
                "Set its corners anew: where the sides, drawn on straight, meet the rim and the table"};
    addWall(tub, map);
    tub.confidence = 1;
    return {tub, "", ""};
}

TubFinding notFound(const std::string& reason)
{
    return {std::nullopt, reason,
            "Photograph one tub upright and whole, filling about two thirds of the picture, against a plain "
            "background"};
}

}  // namespace

double Tub::surfaceAt(double angle) const
{
    if (surface_z.empty()) return 0;
    if (angle <= surface_angles.front()) return surface_z.front();
    if (angle >= surface_angles.back()) return surface_z.back();
    const auto after = static_cast<size_t>(
        std::upper_bound(surface_angles.begin(), surface_angles.end(), angle) - surface_angles.begin());
    const double part =
        (angle - surface_angles[after - 1]) / (surface_angles[after] - surface_angles[after - 1]);
    return surface_z[after - 1] * (1 - part) + surface_z[after] * part;
}

double Tub::surfaceMean() const
{
    double sum = 0;
    for (const double z : surface_z) sum += z;
    return surface_z.empty() ? 0 : sum / static_cast<double>(surface_z.size());
}

TubFinding findTub(const TubQuery& query, const TubSettings& settings)
{
    if (query.outline) return tubAsDrawn(query);
    const std::optional<OneTub> seen = oneTub(query);
    if (!seen) return notFound("no tub of medium can be seen");
    const TubEdges edges = edgesOf(seen->map, query.full_size);
    if (edges.left.size() + edges.right.size() < 2 * kFewest ||
        std::max(edges.foot.size(), edges.rim.size()) < kFewest)
        return notFound("no two sides and foot of a tub can be made out");
    const PoseFit fit = poseFromMap(query, *seen, edges);
    Tub tub = tubAt(fit.pose, query);
    tub.misfit = fit.cost;
    // Where the foot is out of the picture, a known tub's rim tells how high it stands.
    tub.base_known = edges.foot.size() >= kFewest || query.type;
    addWall(tub, seen->map);
    const Confidence confidence = confidenceIn(tub, seen->map);
    tub.confidence = confidence.value;
    tub.doubt = confidence.doubt;
    if (tub.confidence < settings.min_confidence)
        return notFound("no tub could be made out for certain: " + tub.doubt);
    return {tub, "", ""};
}

}  // namespace slipglass
