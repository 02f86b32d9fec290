#include "confidence.h"

#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>

namespace slipglass {

namespace {

constexpr double kDegree = CV_PI / 180;

/// Mask of the wall between two heights and within an angle of the front, on the map.
cv::Mat wallMask(const Pose& pose, const TubMap& map, double z_low, double z_high, double angle)
{
    const View view(pose);
    std::vector<cv::Point> corners;
    const auto add = [&](double a, double z) {
        const PicturePoint p = map.placeOf(view.photoFromWall({a, z}));
        corners.emplace_back(cvRound(p.x_px), cvRound(p.y_px));
    };
    for (int i = -20; i <= 20; ++i) add(angle * i / 20, z_low);
    for (int i = 20; i >= -20; --i) add(angle * i / 20, z_high);
    cv::Mat mask = cv::Mat::zeros(map.medium.size(), CV_8U);
    cv::fillPoly(mask, std::vector<std::vector<cv::Point>>{corners}, 255);
    return mask;
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
        const PicturePoint at = map.placeOf(photoAt(static_cast<double>(i) / (kPlaces - 1)));
        const int x = cvRound(at.x_px), y = cvRound(at.y_px);
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

}  // namespace

Confidence confidenceIn(const Tub& tub, const TubMap& map)
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
    Confidence confidence;
    for (const auto& part : parts)
        if (part.trust < confidence.value) confidence = {part.trust, part.doubt};
    return confidence;
}

}  // namespace slipglass
