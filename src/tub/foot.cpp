#include "foot.h"

#include <algorithm>
#include <cmath>

#include "steps.h"

namespace slipglass {

namespace {

constexpr double kDegree = CV_PI / 180;
constexpr double kClip =
    3;  // L* per px: more is a grain or a glint, and must not outvote the rest of the circle

double stepAt(const cv::Mat& step, PhotoPoint p, double reduction)
{
    const int x = static_cast<int>(std::lround((p.x_px + 0.5) / reduction - 0.5));
    const int y = static_cast<int>(std::lround((p.y_px + 0.5) / reduction - 0.5));
    if (x < 0 || y < 0 || x >= step.cols || y >= step.rows) return 0;
    return std::clamp<double>(step.at<float>(y, x), -kClip, kClip);
}

}  // namespace

double seenFootHeight(double heel_radius, double elevation)
{
    if (elevation <= 0) return 0;
    return heel_radius * ((1 - std::cos(elevation)) + (1 - std::sin(elevation)) * std::tan(elevation));
}

FootEdge findFoot(const cv::Mat& lightness_step, const Pose& pose, double reduction, double reach)
{
    const View view(pose);
    const double step = 0.3 * reduction / view.pxPerUnit(0);
    FootEdge best;
    best.strength = -1;
    // A pose with the lens all but in the tub: a foot is longer than any picture, and there is none.
    if (!(step > 1e-4 * reach)) return best;
    const int half = static_cast<int>(std::ceil(reach / step));
    constexpr int kAngles = 80;  // -60 to 58.5 degrees
    std::vector<double> profile;
    for (int i = -half; i <= half; ++i) {
        double sum = 0;
        for (const PhotoPoint& p : view.photoFromRing({-60 * kDegree, i * step}, 1.5 * kDegree, kAngles))
            sum += stepAt(lightness_step, p, reduction);
        profile.push_back(sum / kAngles);
    }
    // Dark below bright (glint or medium over shadow), seen 0.02 to 0.09 base radii higher up, backs the edge
    // up.
    const int near = std::max(1, static_cast<int>(0.01 * pose.cone.base_radius / step));
    const int far = std::max(near + 1, static_cast<int>(0.09 * pose.cone.base_radius / step));
    for (int i = 0; i < static_cast<int>(profile.size()); ++i) {
        double darkening = 0;
        for (int k = i + near; k <= i + far && k < static_cast<int>(profile.size()); ++k)
            darkening = std::max(darkening, -profile[static_cast<size_t>(k)]);
        const double strength = std::max(0.0, profile[static_cast<size_t>(i)]) + 0.5 * darkening;
        if (strength > best.strength) best = {(i - half) * step, strength};
    }
    return best;
}

std::vector<cv::Point2d> footPoints(const cv::Mat& lightness_step, const Pose& pose, double reduction,
                                    const FootEdge& edge, double heel_radius, double reach)
{
    const View view(pose);
    const double step = 0.3 * reduction / view.pxPerUnit(0);
    std::vector<cv::Point2d> points;
    if (!(step > 1e-4 * reach)) return points;
    const std::vector<double> heights = stepsAcross(reach, step);
    for (const double angle : stepsAcross(62 * kDegree, 2 * kDegree)) {
        // The rounded heel is seen higher up the cone towards the sides.
        const double middle = edge.z + seenFootHeight(heel_radius, view.elevationAtBase(angle)) -
                              seenFootHeight(heel_radius, view.elevationAtBase(0));
        double best = 0.15, at = 0;
        for (const double dz : heights) {
            // Three neighbours round the tub steady the step against noise.
            double sum = 0;
            for (const double side : {-0.7, 0.0, 0.7})
                sum += stepAt(lightness_step, view.photoFromWall({angle + side * kDegree, middle + dz}),
                              reduction) /
                       3;
            if (sum > best) best = sum, at = dz;
        }
        if (best > 0.15) {
            const PhotoPoint p = view.photoFromWall({angle, middle + at});
            points.emplace_back(p.x_px, p.y_px);
        }
    }
    return points;
}

}  // namespace slipglass
