#include "pose_from_map.h"

#include <algorithm>
#include <cmath>

namespace slipglass {

namespace {

constexpr double kNominalBaseRadius = 45;  // mm, stands in while the size is not known
constexpr double kDegree = CV_PI / 180;

double focalPx(const TubQuery& query)
{
    // EXIF 2.32, FocalLengthIn35mmFilm: equivalent for 36 mm of width; makers differ on side or diagonal by a
    // few percent, which the fit's prior allows for. Without it: a phone's main camera, common practice 26
    // mm.
    return query.focal_35mm.value_or(28) / 36 * std::max(query.full_size.width, query.full_size.height);
}

/// What is known of the tub before its edges are looked at, and how finely the map shows those.
struct Known {
    Cone cone{kNominalBaseRadius, 0.09, 1.45 * 2 * kNominalBaseRadius, 0.8};
    PosePrior prior;
};

Known knownOf(const TubQuery& query, const TubMap& map)
{
    Known known;
    auto& [cone, prior] = known;
    if (query.type) {
        const TubType& t = *query.type;
        // The wall widens by a step of about 1 mm just under the rim, and the bead by a little more (common
        // practice): the straight part aims at 2.4 mm within the rim's edge.
        cone = {t.base_diameter_mm / 2, (t.rim_diameter_mm / 2 - 2.4 - t.base_diameter_mm / 2) / t.height_mm,
                t.height_mm, t.wall_mm};
        prior.slope_sigma = 0.012;  // 1.5 mm over a tub's height: steps and beads differ
        prior.height_sigma = 0.02;
    }
    // Where neither focal length nor taper is known they cannot both be told from two sides and a foot.
    prior.focal_sigma = query.focal_35mm || !query.type ? 0.03 : 0.2;
    prior.px_sigma = 0.5 * map.reduction;
    return known;
}

/// A pose at which a tub fills the block, at a given pitch.
Pose poseFromBlock(const TubQuery& query, const Block& block, const Cone& cone, double pitch)
{
    Pose pose;
    pose.focal_px = focalPx(query);
    pose.centre_px = {(query.full_size.width - 1) / 2.0, (query.full_size.height - 1) / 2.0};
    pose.cone = cone;
    pose.pitch = pitch;
    // Of width and height the larger: the other may be cut off.
    const double across = (block.right - block.left) / (2 * cone.radiusAt(cone.height));
    const double up = (block.bottom - block.top) /
                      (cone.height * std::cos(pitch) + 2 * cone.base_radius * std::abs(std::sin(pitch)));
    const double z = pose.focal_px / std::max({across, up, 1e-3}) + cone.base_radius;
    const double foot = block.bottom - cone.base_radius * std::sin(pitch) * pose.focal_px / z;
    pose.base = {((block.left + block.right) / 2 - pose.centre_px.x) / pose.focal_px * z,
                 (foot - pose.centre_px.y) / pose.focal_px * z, z};
    return pose;
}

/// A part of the photo with the foot of a tub alone, as near as a map can show it.
cv::Rect partAtFoot(const Pose& pose)
{
    const View view(pose);
    const double g = view.grazingAngle();
    const double left = view.photoFromWall({-g, 0}).x_px, right = view.photoFromWall({g, 0}).x_px,
                 middle = view.photoFromWall({0, 0}).y_px, width = right - left;
    return {cv::Point(cvFloor(left - 0.1 * width), cvFloor(middle - 0.5 * width)),
            cv::Point(cvCeil(right + 0.1 * width), cvCeil(middle + 0.25 * width))};
}

/// The foot of a tub at about this pose, looked at from nearer: dark ring, glint and shadow at a heel are
/// narrower than a place on the map of the whole tub. Nothing where it is not in the photo.
std::vector<EdgePoint> nearerFoot(const TubQuery& query, const Pose& pose)
{
    const cv::Rect part = partAtFoot(pose) & cv::Rect({}, query.full_size);
    if (part.empty()) return {};
    const TubMap map = tubMap(query.bgr, query.full_size, query.label, part);
    return edgePoints(map, map.foot, false);
}

/// The best of some starts: how far the camera looks down is the hardest to tell. Where those from both ends
/// meet, none between would end elsewhere.
PoseFit bestFit(const TubQuery& query, const OneTub& seen, const TubEdges& edges)
{
    const auto [cone, prior] = knownOf(query, seen.map);
    const auto from = [&, &cone = cone, &prior = prior](double pitch) {
        return fitPoseFromAfar(poseFromBlock(query, seen.block, cone, pitch * kDegree), edges, prior);
    };
    const auto better = [](const PoseFit& a, const PoseFit& b) { return b.cost < a.cost ? b : a; };
    const PoseFit low = from(2), high = from(20);
    constexpr double kMeet = 0.001;  // of the cost: less than edges on a map can tell. Guess.
    if (std::abs(low.cost - high.cost) <= kMeet * low.cost) return better(low, high);
    return better(better(low, from(10)), high);
}

}  // namespace

TubEdges edgesOf(const TubMap& map, cv::Size photo)
{
    TubEdges edges{edgePoints(map, map.left, true),
                   edgePoints(map, map.right, true),
                   edgePoints(map, map.foot, false),
                   edgePoints(map, map.rim, false),
                   {},
                   {},
                   {}};
    const cv::Mat wall = cv::max(map.medium, map.cover) > 0.5;
    const PhotoPoint end = map.photoAt(wall.cols - 0.5, wall.rows - 0.5);
    const auto add = [&](std::vector<PhotoPoint>& past, double x, double y) {
        past.push_back(map.photoAt(x, y));
    };
    for (int y = 0; y < wall.rows; ++y) {
        if (map.origin.x == 0 && wall.at<uchar>(y, 0)) add(edges.past_left, -0.5, y);
        if (end.x_px > photo.width - 1 - map.reduction && wall.at<uchar>(y, wall.cols - 1))
            add(edges.past_right, wall.cols - 0.5, y);
    }
    for (int x = 0; x < wall.cols; ++x)
        if (end.y_px > photo.height - 1 - map.reduction && wall.at<uchar>(wall.rows - 1, x))
            add(edges.past_foot, x, wall.rows - 0.5);
    // Glare passes for a side that is out of the picture: there is more of the tub beyond.
    const cv::Mat tub = cv::max(wall, map.empty > 0.5);
    const auto keepOutermost = [&](std::vector<EdgePoint>& side, double sign) {
        constexpr double kBeyond = 5;  // places
        side.erase(std::remove_if(side.begin(), side.end(),
                                  [&](const EdgePoint& p) {
                                      const PicturePoint at = map.placeOf(p.at);
                                      const int x =
                                          std::clamp(cvRound(at.x_px + sign * kBeyond), 0, tub.cols - 1);
                                      return tub.at<uchar>(cvRound(at.y_px), x) > 0;
                                  }),
                   side.end());
    };
    if (!edges.past_left.empty()) keepOutermost(edges.left, -1);
    if (!edges.past_right.empty()) keepOutermost(edges.right, 1);
    return edges;
}

PoseFit poseFromMap(const TubQuery& query, const OneTub& seen, const TubEdges& edges)
{
    using Edge = std::vector<EdgePoint> TubEdges::*;
    std::vector<Edge> doubtful;
    if (edges.foot.size() >= kFewest) doubtful.push_back(&TubEdges::rim);
    if (!edges.past_left.empty()) doubtful.push_back(&TubEdges::left);
    if (!edges.past_right.empty()) doubtful.push_back(&TubEdges::right);
    TubEdges kept = edges;
    const PosePrior prior = knownOf(query, seen.map).prior;
    PoseFit fit = bestFit(query, seen, kept);
    for (bool left_out = true; left_out;) {
        left_out = false;
        PoseFit best = fit;
        TubEdges best_kept;
        for (const Edge edge : doubtful) {
            // Without the edge no cost is below zero.
            if ((kept.*edge).empty() || fit.cost <= kContradictingMisfit) continue;
            TubEdges rest = kept;
            (rest.*edge).clear();
            if (rest.left.size() + rest.right.size() < 2 * kFewest) continue;
            const PoseFit without = fitPose(fit.pose, rest, prior);
            if (fit.cost - without.cost <= kContradictingMisfit || without.cost >= best.cost) continue;
            best = without;
            best_kept = std::move(rest);
            left_out = true;
        }
        if (left_out) {
            fit = best;
            kept = std::move(best_kept);
        }
    }
    std::vector<EdgePoint> foot = nearerFoot(query, fit.pose);
    if (foot.size() < std::max(kFewest, edges.foot.size())) return fit;
    kept.foot = std::move(foot);
    return fitPose(fit.pose, kept, prior);
}

Pose poseFromCorners(const TubQuery& query, const TubMap& map)
{
    const std::array<PhotoPoint, 4>& corners = *query.outline;
    const Block block{std::min(corners[0].x_px, corners[3].x_px), std::max(corners[1].x_px, corners[2].x_px),
                      (corners[0].y_px + corners[1].y_px) / 2, (corners[2].y_px + corners[3].y_px) / 2};
    const auto [cone, prior] = knownOf(query, map);
    const double sigma = std::max(1.0, 0.004 * (block.right - block.left));  // a finger's aim. Guess.
    const Pose drawn =
        fitPose(poseFromBlock(query, block, cone, 8 * kDegree), {}, prior, corners, sigma).pose;
    TubEdges edges;
    const View view(drawn);
    for (const EdgePoint& p : nearerFoot(query, drawn)) {
        const auto wall = view.wallFromPhoto(p.at);
        if (wall && std::abs(wall->z) < 0.12 * cone.base_radius) edges.foot.push_back(p);
    }
    return fitPose(drawn, edges, prior, corners, sigma).pose;
}

}  // namespace slipglass
