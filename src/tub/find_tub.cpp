#include "slipglass/tub/find_tub.h"

#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>

#include "fit_pose.h"
#include "surface.h"
#include "tub_map.h"

namespace slipglass {

namespace {

constexpr double kNominalBaseRadius = 45;  // mm, stands in while the size is not known
constexpr double kDegree = CV_PI / 180;
/// Share of the photo's long side under which the part with the tub is looked at by itself: twice the time,
/// for edges found so much finer.
constexpr double kCloser = 0.75;
/// Places by which an edge is known.
constexpr size_t kFewest = 5;

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

/// Where the tub is, roughly, full-size px.
struct Block {
    double left = 0, right = 0, top = 0, bottom = 0;
};

/// Clears the map of all tubs but one: the labelled one, else the largest. In a row of tubs the network may
/// show the neighbours too. Where that one is; empty when no tub is shown.
std::optional<Block> keepOneTub(TubMap& map, const std::optional<Label>& label)
{
    cv::Mat tub = cv::max(cv::max(map.medium, map.empty), map.cover) > 0.5;
    // A strip of glare, or a shadow, does not make two tubs of one.
    cv::morphologyEx(tub, tub, cv::MORPH_CLOSE, cv::getStructuringElement(cv::MORPH_ELLIPSE, {7, 7}));
    cv::Mat parts, stats, centroids;
    const int count = cv::connectedComponentsWithStats(tub, parts, stats, centroids, 8);
    const auto at = [&](int part, int what) { return stats.at<int>(part, what); };
    int best = 0;
    for (int i = 1; i < count; ++i)
        if (!best || at(i, cv::CC_STAT_AREA) > at(best, cv::CC_STAT_AREA)) best = i;
    if (!best) return std::nullopt;
    if (label) {
        // The label's paper belongs to its tub; where the map has missed it, the part nearest to it does.
        const PhotoPoint centre{(label->corners[0].x + label->corners[2].x) / 2,
                                (label->corners[0].y + label->corners[2].y) / 2};
        const cv::Point2d place = map.placeOf(centre);
        const int x = std::clamp(cvRound(place.x), 0, tub.cols - 1),
                  y = std::clamp(cvRound(place.y), 0, tub.rows - 1);
        const int least = at(best, cv::CC_STAT_AREA) / 8;
        double nearest_px = HUGE_VAL;
        for (int i = 1; i < count; ++i) {
            if (at(i, cv::CC_STAT_AREA) < least) continue;
            const double dx = std::max({0, at(i, cv::CC_STAT_LEFT) - x,
                                        x - at(i, cv::CC_STAT_LEFT) - at(i, cv::CC_STAT_WIDTH)}),
                         dy = std::max({0, at(i, cv::CC_STAT_TOP) - y,
                                        y - at(i, cv::CC_STAT_TOP) - at(i, cv::CC_STAT_HEIGHT)});
            if (std::hypot(dx, dy) < nearest_px) {
                nearest_px = std::hypot(dx, dy);
                best = i;
            }
        }
    }
    // Its edges lie around it, as far as the map may have missed some of the tub.
    const int reach = std::max(4, at(best, cv::CC_STAT_HEIGHT) / 12);
    cv::Mat around;
    cv::dilate(parts == best, around,
               cv::getStructuringElement(cv::MORPH_ELLIPSE, {2 * reach + 1, 2 * reach + 1}));
    for (cv::Mat* m :
         {&map.medium, &map.empty, &map.cover, &map.left, &map.right, &map.foot, &map.rim, &map.surface})
        m->setTo(0, ~around);
    const PhotoPoint low = map.photoAt(at(best, cv::CC_STAT_LEFT), at(best, cv::CC_STAT_TOP));
    const PhotoPoint high = map.photoAt(at(best, cv::CC_STAT_LEFT) + at(best, cv::CC_STAT_WIDTH) - 1,
                                        at(best, cv::CC_STAT_TOP) + at(best, cv::CC_STAT_HEIGHT) - 1);
    return Block{low.x_px, high.x_px, low.y_px, high.y_px};
}

/// A part of the photo that shows it with a margin in which rim and table are seen.
cv::Rect partAround(const Block& block)
{
    const double margin = 0.2 * std::max(block.right - block.left, block.bottom - block.top);
    return {cv::Point(cvFloor(block.left - margin), cvFloor(block.top - margin)),
            cv::Point(cvCeil(block.right + margin), cvCeil(block.bottom + margin))};
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
    const auto add = [&](std::vector<cv::Point2d>& past, double x, double y) {
        const PhotoPoint p = map.photoAt(x, y);
        past.emplace_back(p.x_px, p.y_px);
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
                                      const cv::Point2d at = map.placeOf({p.at.x, p.at.y});
                                      const int x =
                                          std::clamp(cvRound(at.x + sign * kBeyond), 0, tub.cols - 1);
                                      return tub.at<uchar>(cvRound(at.y), x) > 0;
                                  }),
                   side.end());
    };
    if (!edges.past_left.empty()) keepOutermost(edges.left, -1);
    if (!edges.past_right.empty()) keepOutermost(edges.right, 1);
    return edges;
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

/// The best of some starts: how far the camera looks down is the hardest to tell.
PoseFit bestFit(const TubQuery& query, const TubMap& map, const Block& block, const TubEdges& edges)
{
    const auto [cone, prior] = knownOf(query, map);
    std::optional<PoseFit> best;
    for (const double pitch : {2.0, 10.0, 20.0}) {
        const PoseFit fit = fitPose(poseFromBlock(query, block, cone, pitch * kDegree), edges, prior);
        if (!best || fit.cost < best->cost) best = fit;
    }
    return *best;
}

/// The far edge of the medium's top, or a lid, can be taken for a rim, and glare for a side that is out of
/// the picture: what contradicts the rest is left out. The foot is then looked at from nearer.
PoseFit poseFromMap(const TubQuery& query, const TubMap& map, const Block& block, const TubEdges& edges)
{
    using Edge = std::vector<EdgePoint> TubEdges::*;
    std::vector<Edge> doubtful;
    if (edges.foot.size() >= kFewest) doubtful.push_back(&TubEdges::rim);
    if (!edges.past_left.empty()) doubtful.push_back(&TubEdges::left);
    if (!edges.past_right.empty()) doubtful.push_back(&TubEdges::right);
    TubEdges kept = edges;
    PoseFit fit = bestFit(query, map, block, kept);
    for (bool left_out = true; left_out;) {
        left_out = false;
        PoseFit best = fit;
        TubEdges best_kept;
        for (const Edge edge : doubtful) {
            if ((kept.*edge).empty()) continue;
            TubEdges rest = kept;
            (rest.*edge).clear();
            if (rest.left.size() + rest.right.size() < 2 * kFewest) continue;
            const PoseFit without = fitPose(fit.pose, rest, knownOf(query, map).prior);
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
    return fitPose(fit.pose, kept, knownOf(query, map).prior);
}

/// The pose at which a person has drawn the tub. Corners hardly tell how far the camera looks down: the
/// foot's curve does, where one is seen near the foot drawn.
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
        const auto wall = view.wallFromPhoto({p.at.x, p.at.y});
        if (wall && std::abs(wall->z) < 0.12 * cone.base_radius) edges.foot.push_back(p);
    }
    return fitPose(drawn, edges, prior, corners, sigma).pose;
}

/// Scale of a nominal pose from the label: its printed side against its side on the nominal wall.
double mmPerNominal(const Pose& pose, const Label& label)
{
    const View view(pose);
    std::vector<cv::Point3d> corners;
    for (const cv::Point2d& c : label.corners) {
        const auto wall = view.wallFromPhoto({c.x, c.y});
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

/// Mask of the wall between two heights and within an angle of the front, on the map.
cv::Mat wallMask(const Pose& pose, const TubMap& map, double z_low, double z_high, double angle)
{
    const View view(pose);
    std::vector<cv::Point> corners;
    const auto add = [&](double a, double z) {
        const PhotoPoint p = view.photoFromWall({a, z});
        corners.emplace_back(map.placeOf(p));
    };
    for (int i = -20; i <= 20; ++i) add(angle * i / 20, z_low);
    for (int i = 20; i >= -20; --i) add(angle * i / 20, z_high);
    cv::Mat mask = cv::Mat::zeros(map.medium.size(), CV_8U);
    cv::fillPoly(mask, std::vector<std::vector<cv::Point>>{corners}, 255);
    return mask;
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

double ramp(double value, double low, double high)
{
    return std::clamp((value - low) / (high - low), 0.0, 1.0);
}

/// How much of an edge of the fitted tub, where it lies in the photo, the map shows within a place or two.
/// 1 for an edge that is out of the photo altogether: it says nothing against the fit.
template <class PhotoAt>
double edgeSeen(const TubMap& map, const cv::Mat& edge, const PhotoAt& photoAt)
{
    constexpr int kPlaces = 41;
    cv::Mat near;
    cv::dilate(edge, near, cv::getStructuringElement(cv::MORPH_ELLIPSE, {3, 3}));
    double sum = 0;
    int inside = 0;
    for (int i = 0; i < kPlaces; ++i) {
        const cv::Point2d at = map.placeOf(photoAt(static_cast<double>(i) / (kPlaces - 1)));
        const int x = cvRound(at.x), y = cvRound(at.y);
        if (x < 1 || y < 1 || x >= near.cols - 1 || y >= near.rows - 1) continue;
        sum += std::min(1.0, near.at<float>(y, x) / 0.6);
        ++inside;
    }
    return inside < kPlaces / 10 ? 1 : sum / inside;
}

/// Share of the places that show medium, or should by the fit, that do both.
double agreement(const TubMap& map, const Tub& tub)
{
    const View view(tub.pose);
    const cv::Mat fitted = wallMask(tub.pose, map, 0, tub.surfaceMean(), view.grazingAngle());
    const cv::Mat told = map.cover < 0.5, seen = (map.medium > 0.5) & told, should = fitted & told;
    const int either = cv::countNonZero(seen | should);
    return either ? static_cast<double>(cv::countNonZero(seen & should)) / either : 0;
}

/// 0..1 from the evidence; the weakest part decides, and names the doubt.
void judge(Tub& tub, const TubMap& map)
{
    const View view(tub.pose);
    const double g = view.grazingAngle(), top = tub.surfaceMean();
    const auto side = [&](const cv::Mat& edge, double sign) {
        return edgeSeen(map, edge, [&](double t) {
            return view.photoFromWall({sign * g, top * (0.05 + 0.95 * t)});
        });
    };
    const double foot = edgeSeen(map, map.foot, [&](double t) {
        return view.photoFromWall({(2 * t - 1) * 60 * kDegree, 0});
    });
    const struct {
        double trust;
        const char* doubt;
    } parts[] = {
        {ramp(std::min(side(map.left, -1), side(map.right, 1)), 0.1, 0.7),
         "a side of the tub is hard to see"},
        {ramp(foot, 0.1, 0.7), "the foot of the tub is hard to see"},
        {ramp(tub.pose.cone.slope, -0.06, 0.0), "the sides do not narrow towards the foot"},
        {ramp(-tub.misfit, -60, -20), "the edges that are seen do not fit the shape of a tub"},
        {ramp(agreement(map, tub), 0.6, 0.93), "where the medium is seen does not fit the outline of a tub"},
    };
    tub.confidence = 1;
    for (const auto& part : parts)
        if (part.trust < tub.confidence) {
            tub.confidence = part.trust;
            tub.doubt = part.doubt;
        }
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
    const cv::Rect whole({}, query.full_size);
    TubMap map = tubMap(query.bgr, query.full_size, query.label, whole);
    if (query.outline) {
        Tub tub = tubAt(poseFromCorners(query, map), query);
        if (tub.pose.cone.height < 0.3 * tub.pose.cone.base_radius)
            return {std::nullopt, "the outline set by hand is not that of a tub",
                    "Set its corners anew: where the sides, drawn on straight, meet the rim and the table"};
        addWall(tub, map);
        tub.confidence = 1;
        return {tub, "", ""};
    }
    // A strip of a few px shows no tub, nor does the map of it.
    auto block = map.medium.empty() ? std::nullopt : keepOneTub(map, query.label);
    if (block) {
        const cv::Rect part = partAround(*block) & whole;
        if (std::max(part.width, part.height) < kCloser * std::max(whole.width, whole.height)) {
            TubMap closer = tubMap(query.bgr, query.full_size, query.label, part);
            if (const auto again = keepOneTub(closer, query.label)) {
                map = closer;
                block = again;
            }
        }
    }
    // A hundredth of the picture is a tub of a tenth of its height.
    if (!block || cv::countNonZero(map.medium > 0.5) < 0.01 * static_cast<double>(map.medium.total()))
        return notFound("no tub of medium can be seen");
    const TubEdges edges = edgesOf(map, query.full_size);
    if (edges.left.size() + edges.right.size() < 2 * kFewest ||
        std::max(edges.foot.size(), edges.rim.size()) < kFewest)
        return notFound("no two sides and foot of a tub can be made out");
    const PoseFit fit = poseFromMap(query, map, *block, edges);
    Tub tub = tubAt(fit.pose, query);
    // Where the foot is out of the picture, a known tub's rim tells how high it stands.
    tub.base_known = edges.foot.size() >= kFewest || query.type;
    addWall(tub, map);
    tub.misfit = fit.cost;
    judge(tub, map);
    if (tub.confidence < settings.min_confidence)
        return notFound("no tub could be made out for certain: " + tub.doubt);
    return {tub, "", ""};
}

}  // namespace slipglass
