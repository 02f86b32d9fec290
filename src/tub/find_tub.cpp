#include "slipglass/tub/find_tub.h"

#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>

#include "fit_pose.h"
#include "foot.h"
#include "medium_look.h"
#include "outline.h"
#include "surface.h"

namespace slipglass {

namespace {

constexpr int kCoarseSide = 400, kFineSide = 1200;  // long sides, px: grains become texture; edges stay sharp
constexpr double kNominalBaseRadius = 45;           // mm, stands in while the size is not known
constexpr double kDegree = CV_PI / 180;

struct Scaled {
    cv::Mat bgr;
    double reduction;  ///< full-size px per px
};

Scaled scaledTo(const TubQuery& query, int long_side)
{
    const double factor =
        std::min(1.0, static_cast<double>(long_side) / std::max(query.bgr.cols, query.bgr.rows));
    Scaled result;
    const cv::Size size(std::max(1, cvRound(query.bgr.cols * factor)),
                        std::max(1, cvRound(query.bgr.rows * factor)));
    cv::resize(query.bgr, result.bgr, size, 0, 0, cv::INTER_AREA);
    // Of the long side, whose rounding weighs least.
    result.reduction = static_cast<double>(std::max(query.full_size.width, query.full_size.height)) /
                       std::max(size.width, size.height);
    return result;
}

cv::Mat grown(const cv::Mat& mask, int diameter)
{
    cv::Mat out;
    cv::dilate(mask, out, cv::getStructuringElement(cv::MORPH_ELLIPSE, {diameter, diameter}));
    return out;
}

cv::Mat shrunk(const cv::Mat& mask, int diameter)
{
    cv::Mat out;
    cv::erode(mask, out, cv::getStructuringElement(cv::MORPH_ELLIPSE, {diameter, diameter}), {-1, -1}, 1,
              cv::BORDER_CONSTANT, 0);
    return out;
}

/// The convex outline of a mask, filled: what lies in a notch of the block (fog, algae, glare) is not
/// background.
cv::Mat hullOf(const cv::Mat& mask)
{
    std::vector<cv::Point> points, hull;
    cv::findNonZero(mask, points);
    cv::convexHull(points, hull);
    cv::Mat filled = cv::Mat::zeros(mask.size(), CV_8U);
    cv::fillConvexPoly(filled, hull, 255);
    return filled;
}

/// A labelled tub is looked for round its label only: other tubs stand beside it.
std::optional<cv::Rect> neighbourhood(const TubQuery& query, double reduction)
{
    if (!query.label) return std::nullopt;
    double side = 0;
    cv::Point2d centre{0, 0};
    for (size_t i = 0; i < 4; ++i) {
        side += cv::norm(query.label->corners[i] - query.label->corners[(i + 1) % 4]) / 4;
        centre += query.label->corners[i] / 4.0;
    }
    const double px_per_mm = side / query.label->qr_side_mm / reduction;
    const double width = query.type ? query.type->rim_diameter_mm : 200,
                 height = query.type ? query.type->height_mm : 200;
    const cv::Point2d c = centre / reduction;
    return cv::Rect(
        cv::Point(static_cast<int>(c.x - width * px_per_mm), static_cast<int>(c.y - height * px_per_mm)),
        cv::Point(static_cast<int>(c.x + width * px_per_mm), static_cast<int>(c.y + height * px_per_mm)));
}

double focalPx(const TubQuery& query)
{
    // EXIF 2.32, FocalLengthIn35mmFilm: equivalent for 36 mm of width; makers differ on side or diagonal by a
    // few percent, which the fit's prior allows for. Without it: a phone's main camera, common practice 26
    // mm.
    return query.focal_35mm.value_or(28) / 36 * std::max(query.full_size.width, query.full_size.height);
}

/// A pose whose sides and foot lie about where the outline says, at a given pitch.
Pose poseFromOutline(const TubQuery& query, const Outline& outline, const Cone& cone, double pitch)
{
    Pose pose;
    pose.focal_px = focalPx(query);
    pose.centre_px = {(query.full_size.width - 1) / 2.0, (query.full_size.height - 1) / 2.0};
    pose.cone = cone;
    pose.pitch = pitch;
    const double foot_row = outline.bottom;
    const double width = outline.right.xAt(foot_row) - outline.left.xAt(foot_row);
    const double z = pose.focal_px * 2 * cone.base_radius / std::max(10.0, width);
    const double x = (outline.left.xAt(foot_row) + outline.right.xAt(foot_row)) / 2;
    pose.base = {(x - pose.centre_px.x) / pose.focal_px * z,
                 (foot_row - pose.centre_px.y) / pose.focal_px * z, z};
    pose.roll = std::atan((-outline.left.slope - outline.right.slope) / 2);
    return pose;
}

std::vector<cv::Point2d> alongLine(const SideLine& line, double top, double bottom)
{
    std::vector<cv::Point2d> points;
    for (int i = 0; i <= 8; ++i) {
        const double y = top + (bottom - top) * i / 8;
        points.emplace_back(line.xAt(y), y);
    }
    return points;
}

PhotoPoint toFullSize(cv::Point2d p, double reduction)
{
    return {(p.x + 0.5) * reduction - 0.5, (p.y + 0.5) * reduction - 0.5};
}

std::vector<cv::Point2d> toFullSize(std::vector<cv::Point2d> points, double reduction)
{
    for (cv::Point2d& p : points) {
        const PhotoPoint full = toFullSize(p, reduction);
        p = {full.x_px, full.y_px};
    }
    return points;
}

/// Everything the fit reads from the picture at the fine scale.
struct FineEdges {
    Outline outline;  ///< with its sides refined
    SideBand left, right;
    double side_evidence;
    cv::Mat downward;  ///< change of L* per px going down
    double reduction;

    /// The sides are straight down to here; below, the foot is rounded and the base ellipse turns.
    static double straightBottom(const Outline& outline) { return outline.bottom - 0.2 * outline.width(); }
};

/// Brings a dark picture's contrasts to those of a well exposed one, whose lightest parts reach L* 80 or so.
double exposureGain(const cv::Mat& lab)
{
    std::vector<float> lightness;
    for (int y = 0; y < lab.rows; y += 8)
        for (int x = 0; x < lab.cols; x += 8) lightness.push_back(lab.at<cv::Vec3f>(y, x)[0]);
    const auto bright =
        lightness.begin() + static_cast<long>(0.98 * static_cast<double>(lightness.size() - 1));
    std::nth_element(lightness.begin(), bright, lightness.end());
    return std::clamp(80.0 / std::max(1.0F, *bright), 1.0, 3.0);
}

FineEdges fineEdges(const Scaled& fine, const Outline& coarse)
{
    cv::Mat lab, lightness;
    fine.bgr.convertTo(lab, CV_32F, 1.0 / 255);
    cv::cvtColor(lab, lab, cv::COLOR_BGR2Lab);
    lab *= exposureGain(lab);
    FineEdges edges;
    edges.outline = coarse;
    edges.reduction = fine.reduction;
    const double reach = 0.15 * coarse.width(), bottom = FineEdges::straightBottom(coarse);
    const int half = static_cast<int>(reach) + 24;
    edges.left = bandAlong(lab, coarse.left, coarse.top, bottom, half, true);
    edges.right = bandAlong(lab, coarse.right, coarse.top, bottom, half, false);
    const auto [left, right] =
        matchedSides(bestSides(edges.left, reach, 6), bestSides(edges.right, reach, 6));
    edges.outline.left = left.line;
    edges.outline.right = right.line;
    edges.side_evidence = std::min(left.evidence, right.evidence);
    cv::extractChannel(lab, lightness, 0);
    cv::GaussianBlur(lightness, lightness, {}, 1.0);
    cv::Sobel(lightness, edges.downward, CV_32F, 0, 1, 3, 1.0 / 8);
    return edges;
}

struct Fit {
    Pose pose;
    FootEdge foot;
    size_t foot_points = 0;
};

/// What is known of the tub before the picture is looked at.
struct Known {
    Cone cone{kNominalBaseRadius, 0.09, 0, 0.8};
    PosePrior prior;
};

Known knownOf(const TubQuery& query)
{
    Known known;
    auto& [cone, prior] = known;
    if (query.type) {
        const TubType& t = *query.type;
        // The wall widens by a step of about 1 mm just under the rim, and the bead by a little more (common
        // practice): the straight part aims at 2.4 mm within the rim's edge.
        cone = {t.base_diameter_mm / 2, (t.rim_diameter_mm / 2 - 2.4 - t.base_diameter_mm / 2) / t.height_mm,
                t.height_mm, t.wall_mm};
        prior.cone_known = true;
    }
    // Where neither focal length nor taper is known they cannot both be told from two sides and a foot.
    prior.focal_sigma = query.focal_35mm || !query.type ? 0.03 : 0.2;
    return known;
}

Fit fitToEdges(const TubQuery& query, const TubSettings& settings, const FineEdges& edges)
{
    const Outline& outline = edges.outline;
    auto [cone, prior] = knownOf(query);
    prior.px_sigma = edges.reduction;
    const double heel = settings.heel_radius_mm;
    const double side_bottom = FineEdges::straightBottom(outline);

    const Outline full = scaledOutline(outline, edges.reduction);
    EdgePoints points;
    points.left = toFullSize(alongLine(outline.left, outline.top, side_bottom), edges.reduction);
    points.right = toFullSize(alongLine(outline.right, outline.top, side_bottom), edges.reduction);
    points.foot = {{(full.left.xAt(full.bottom) + full.right.xAt(full.bottom)) / 2, full.bottom}};

    // How far the foot's curve sags tells how far the camera looks down; sides alone hardly do.
    Fit best;
    best.foot.strength = -1;
    prior.pitch_known = true;
    for (int pitch = -4; pitch <= 44; pitch += 2) {
        Fit trial;
        trial.pose = fitPose(poseFromOutline(query, full, cone, pitch * kDegree), points, prior, heel);
        trial.foot = findFoot(edges.downward, trial.pose, edges.reduction, 0.25 * cone.base_radius);
        if (trial.foot.strength > best.foot.strength) best = trial;
    }
    // With the cone known, sides and foot together say more than the foot's sharpness. With its taper free as
    // well, pitch and taper would make up for each other's errors: the pitch that draws the foot sharpest is
    // kept.
    prior.pitch_known = !prior.cone_known;
    for (const double step : {1.0, 0.5})
        if (prior.pitch_known) {
            const double centre = best.pose.pitch;
            for (const double pitch : {centre - step * kDegree, centre + step * kDegree}) {
                Fit trial;
                trial.pose = fitPose(poseFromOutline(query, full, cone, pitch), points, prior, heel);
                trial.foot = findFoot(edges.downward, trial.pose, edges.reduction, 0.25 * cone.base_radius);
                if (trial.foot.strength > best.foot.strength) best = trial;
            }
        }
    for (const double reach : {0.06, 0.035, 0.02}) {
        points.foot =
            footPoints(edges.downward, best.pose, edges.reduction, best.foot, heel, reach * cone.base_radius);
        points.left = toFullSize(sidePoints(edges.left, outline.left, 2), edges.reduction);
        points.right = toFullSize(sidePoints(edges.right, outline.right, 2), edges.reduction);
        best.pose = fitPose(best.pose, points, prior, heel);
        best.foot = findFoot(edges.downward, best.pose, edges.reduction, 0.04 * cone.base_radius);
        best.foot_points = points.foot.size();
    }
    return best;
}

SideLine lineThrough(PhotoPoint upper, PhotoPoint lower)
{
    return {upper.x_px, (lower.x_px - upper.x_px) / (lower.y_px - upper.y_px), upper.y_px};
}

/// Fits the pose to corners set by hand. They hardly tell how far the camera looks down: of the pitches they
/// allow, the one that draws the foot's curve sharpest is taken, and the curve is fitted together with them.
Pose poseFromCorners(const TubQuery& query, const TubSettings& settings, const Scaled& fine)
{
    const std::array<PhotoPoint, 4>& corners = *query.outline;
    Outline sides;
    sides.left = lineThrough(corners[0], corners[3]);
    sides.right = lineThrough(corners[1], corners[2]);
    sides.top = (corners[0].y_px + corners[1].y_px) / 2;
    sides.bottom = (corners[2].y_px + corners[3].y_px) / 2;
    auto [cone, prior] = knownOf(query);
    prior.px_sigma = std::max(1.0, 0.004 * sides.width());  // how near a finger gets to a corner. Guess.

    cv::Mat lightness, downward;
    cv::cvtColor(fine.bgr, lightness, cv::COLOR_BGR2GRAY);
    lightness.convertTo(lightness, CV_32F, 100.0 / 255);
    cv::GaussianBlur(lightness, lightness, {}, 1.0);
    cv::Sobel(lightness, downward, CV_32F, 0, 1, 3, 1.0 / 8);

    const double heel = settings.heel_radius_mm, radius = cone.base_radius;
    const CornerFit likely =
        fitPoseToCorners(poseFromOutline(query, sides, cone, 8 * kDegree), corners, {}, prior, heel);
    constexpr double kAllowed = 2;       // two standard deviations
    constexpr double kFaintFoot = 0.15;  // as judge() has it: no foot to be seen
    Fit best{likely.pose, {}, 0};
    best.foot.strength = kFaintFoot;
    prior.pitch_known = true;
    for (int degrees = -4; degrees <= 44; ++degrees) {
        const double pitch = degrees * kDegree;
        const CornerFit trial =
            fitPoseToCorners(poseFromOutline(query, sides, cone, pitch), corners, {}, prior, heel);
        if (trial.cost > likely.cost + kAllowed) continue;
        const FootEdge foot = findFoot(downward, trial.pose, fine.reduction, 0.06 * radius);
        if (foot.strength > best.foot.strength) best = {trial.pose, foot, 0};
    }
    if (best.foot.strength <= kFaintFoot) return best.pose;
    prior.pitch_known = false;
    for (const double reach : {0.06, 0.035, 0.02}) {
        const auto foot = footPoints(downward, best.pose, fine.reduction, best.foot, heel, reach * radius);
        best.pose = fitPoseToCorners(best.pose, corners, foot, prior, heel).pose;
        best.foot = findFoot(downward, best.pose, fine.reduction, 0.04 * radius);
    }
    return best.pose;
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

/// Mask of the wall between two heights and within an angle of the front, at a picture's scale.
cv::Mat wallMask(const Pose& pose, cv::Size size, double reduction, double z_low, double z_high, double angle)
{
    const View view(pose);
    std::vector<cv::Point> corners;
    const auto add = [&](double a, double z) {
        const PhotoPoint p = view.photoFromWall({a, z});
        corners.emplace_back(cvRound((p.x_px + 0.5) / reduction - 0.5),
                             cvRound((p.y_px + 0.5) / reduction - 0.5));
    };
    for (int i = -20; i <= 20; ++i) add(angle * i / 20, z_low);
    for (int i = 20; i >= -20; --i) add(angle * i / 20, z_high);
    cv::Mat mask = cv::Mat::zeros(size, CV_8U);
    cv::fillPoly(mask, std::vector<std::vector<cv::Point>>{corners}, 255);
    return mask;
}

/// Nothing can be told of the medium behind the paper.
void coverLabel(cv::Mat& probability, const TubQuery& query, double reduction)
{
    if (!query.label) return;
    std::vector<cv::Point> paper;
    const cv::Point2d centre = (query.label->corners[0] + query.label->corners[2]) / 2;
    for (const cv::Point2d& c : query.label->corners) {
        const cv::Point2d p = (centre + (c - centre) * 2.0) / reduction;
        paper.emplace_back(cvRound(p.x), cvRound(p.y));
    }
    cv::fillConvexPoly(probability, paper, 0.5);
}

/// Finds the medium's surface; gives the share-of-medium map it was found in, learned from inside and outside
/// the tub.
cv::Mat addSurface(Tub& tub, const TubQuery& query, const MediumLook& look, cv::Size coarse_size,
                   double reduction, double coarse_top_z)
{
    cv::Mat probability;
    const double grazing = View(tub.pose).grazingAngle();
    const double highest = tub.pose.cone.height > 0 ? tub.pose.cone.height - 4 : 1.35 * coarse_top_z;
    const auto wall = [&](double low, double high, double angle) {
        return wallMask(tub.pose, coarse_size, reduction, low, high, angle);
    };
    const cv::Mat beside = ~grown(wall(-0.05 * coarse_top_z, 1.6 * coarse_top_z, grazing), 7);
    double top = coarse_top_z;
    // Each pass learns what the empty wall above looks like (glints, the stem) from the surface found before.
    for (int pass = 0; pass < 3; ++pass) {
        const cv::Mat above = wall(std::min(highest - 6, 1.1 * top), highest, 0.9 * grazing);
        probability = look.probability(wall(0.12 * top, 0.75 * top, 0.85 * grazing), beside | above);
        if (probability.empty()) break;
        coverLabel(probability, query, reduction);
        const Surface surface = findSurface(probability, tub.pose, reduction, 0.4 * top, highest);
        tub.surface_angles = surface.angles;
        tub.surface_z = surface.z;
        top = tub.surfaceMean();
    }
    // Seen from above, the medium's own top shows over the wall and looks the same. How high the lens stood
    // is told well enough only where the focal length is known; else a guess could cost more than it mends.
    const View view(tub.pose);
    for (size_t i = 0; query.focal_35mm && i < tub.surface_z.size(); ++i)
        tub.surface_z[i] = std::max(0.3 * tub.surface_z[i],
                                    view.levelSurfaceBelow({tub.surface_angles[i], tub.surface_z[i]}));
    return probability;
}

double ramp(double value, double low, double high)
{
    return std::clamp((value - low) / (high - low), 0.0, 1.0);
}

/// 0..1 from the evidence; the weakest part decides, and names the doubt.
void judge(Tub& tub, const Fit& fit, double side_evidence, double inside, double outside)
{
    const double taper = tub.pose.cone.slope;
    const struct {
        double trust;
        const char* doubt;
    } parts[] = {
        {ramp(side_evidence, 0.2, 0.45), "the sides of the tub are hard to see"},
        {ramp(fit.foot.strength, 0.15, 0.9), "the foot of the tub is hard to see"},
        {ramp(static_cast<double>(fit.foot_points), 15, 45), "the foot of the tub is partly hidden"},
        {ramp(inside - outside, 0.4, 0.75), "the medium does not stand out from what is round it"},
        {ramp(taper, -0.06, 0.0), "the sides do not narrow towards the foot"},
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

namespace {

/// One attempt, from one guess at what is background.
TubFinding attempt(const TubQuery& query, const TubSettings& settings, const MediumLook& look,
                   const Scaled& coarse, const Scaled& fine, const cv::Mat& medium_seed,
                   const cv::Mat& other_seed)
{
    const cv::Mat probability = look.probability(medium_seed, other_seed);
    if (probability.empty())
        return notFound("the textured part fills the picture or is too small to be a tub of medium");
    const auto outline = coarseOutline(probability);
    if (!outline) return notFound("no block of medium with two straight sides can be seen");

    if (outline->cut_off)
        return {std::nullopt, "part of the tub is outside the picture",
                "Take the whole tub, from rim to table"};

    const FineEdges edges = fineEdges(fine, scaledOutline(*outline, coarse.reduction / fine.reduction));
    const Outline& sides = edges.outline;
    const Fit fit = fitToEdges(query, settings, edges);

    Tub tub = tubAt(fit.pose, query);
    const View view(tub.pose);
    const auto top = view.wallFromPhoto(toFullSize(
        {(sides.left.xAt(sides.top) + sides.right.xAt(sides.top)) / 2, sides.top}, fine.reduction));
    if (!top || top->z < 0.3 * tub.pose.cone.base_radius)
        return notFound("what looks like medium is too shallow for a tub");
    const cv::Mat medium = addSurface(tub, query, look, coarse.bgr.size(), coarse.reduction, top->z);
    if (medium.empty() || tub.surface_z.empty()) return notFound("the medium's surface cannot be told");

    const auto wall = [&](double low, double high, double share) {
        return wallMask(tub.pose, coarse.bgr.size(), coarse.reduction, low, high,
                        share * view.grazingAngle());
    };
    const cv::Mat inside = wall(0.1 * tub.surfaceMean(), 0.9 * tub.surfaceMean(), 0.8);
    const cv::Mat near = grown(wall(0, tub.surfaceMean(), 1), 9);
    const cv::Mat ring = grown(near, 25) & ~near;
    judge(tub, fit, edges.side_evidence, cv::mean(medium, inside)[0], cv::mean(medium, ring)[0]);
    return {tub, "", ""};
}

/// The tub where a person has drawn it.
TubFinding tubFromOutline(const TubQuery& query, const TubSettings& settings, const Scaled& coarse,
                          const Scaled& fine)
{
    Tub tub = tubAt(poseFromCorners(query, settings, fine), query);
    const std::array<PhotoPoint, 4>& corners = *query.outline;
    const auto rim = View(tub.pose).wallFromPhoto(
        {(corners[0].x_px + corners[1].x_px) / 2, (corners[0].y_px + corners[1].y_px) / 2});
    if (!rim || rim->z < 0.3 * tub.pose.cone.base_radius)
        return {std::nullopt, "the outline set by hand is not that of a tub",
                "Set its corners anew: where the sides, drawn on straight, meet the rim and the table"};
    // Filled to six sevenths, until the picture tells better. Guess.
    const double top = 0.85 * (tub.pose.cone.height > 0 ? tub.pose.cone.height : rim->z);
    const MediumLook look(coarse.bgr);
    addSurface(tub, query, look, coarse.bgr.size(), coarse.reduction, top);
    if (tub.surface_z.empty()) return notFound("the medium's surface cannot be told");
    tub.confidence = 1;
    return {tub, "", ""};
}

}  // namespace

TubFinding findTub(const TubQuery& query, const TubSettings& settings)
{
    const Scaled coarse = scaledTo(query, kCoarseSide), fine = scaledTo(query, kFineSide);
    if (query.outline) return tubFromOutline(query, settings, coarse, fine);
    const MediumLook look(coarse.bgr);
    const cv::Mat block = look.texturedBlock(neighbourhood(query, coarse.reduction));
    if (block.empty()) return notFound("no block of medium can be seen");

    // A notch in the block may be fog or algae on the wall, or background between the tub and a thing beside
    // it: try both, unless the first leaves no doubt.
    TubFinding best;
    for (const cv::Mat& around : {hullOf(block), block}) {
        const TubFinding finding =
            attempt(query, settings, look, coarse, fine, shrunk(block, 35), ~grown(around, 15));
        const double before = best.tub ? best.tub->confidence : -1;
        if ((!best.tub && !finding.tub) || (finding.tub && finding.tub->confidence > before)) best = finding;
        if (best.tub && best.tub->confidence > 0.9) break;
    }
    if (best.tub && best.tub->confidence < settings.min_confidence)
        return notFound("no tub could be made out for certain: " + best.tub->doubt);
    return best;
}

}  // namespace slipglass
