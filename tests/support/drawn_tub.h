#pragma once
// Tubs drawn by construction: a known texture on a known cone before a known pinhole camera. Rays are cut
// with the cone here, in the tub's own frame and with rotation matrices, so that a mistake in View cannot
// hide in the picture it is tested with.
#include <algorithm>
#include <cmath>
#include <cstdint>
#include <opencv2/imgproc.hpp>
#include <optional>

#include "slipglass/tub/label.h"
#include "slipglass/tub/pose.h"
#include "slipglass/tub/tub_type.h"

namespace slipglass::test {

constexpr double kDegree = CV_PI / 180;
constexpr double kTextureMmPerPx = 0.15;

/// Tub frame (x right, y away from the camera, z up, origin: centre of the base) to camera frame.
inline cv::Matx33d rotationOf(const Pose& pose)
{
    const double cr = std::cos(pose.roll), sr = std::sin(pose.roll), cp = std::cos(pose.pitch),
                 sp = std::sin(pose.pitch);
    const cv::Matx33d level(1, 0, 0, 0, 0, -1, 0, 1, 0), look_down(1, 0, 0, 0, cp, -sp, 0, sp, cp),
        lean(cr, -sr, 0, sr, cr, 0, 0, 0, 1);
    return lean * look_down * level;
}

/// The size of a common quart tub, with so thin a wall that its refraction does not matter.
inline TubType drawnType()
{
    return {"drawn", 117, 90, 140, 0.3};
}

/// A camera that sees a tub of that type. `down_px`, `across_px`: where the middle of the base is seen, off
/// the picture's middle; `px_per_mm` there.
inline Pose standing(double pitch_deg, double roll_deg, double px_per_mm = 4.4, double across_px = 0,
                     double down_px = 330, cv::Size size = {900, 1200}, double focal_35mm = 28)
{
    Pose pose;
    pose.focal_px = focal_35mm / 36 * std::max(size.width, size.height);
    pose.centre_px = {(size.width - 1) / 2.0, (size.height - 1) / 2.0};
    pose.roll = roll_deg * kDegree;
    pose.pitch = pitch_deg * kDegree;
    const double z = pose.focal_px / px_per_mm;
    pose.base = {across_px / pose.focal_px * z, down_px / pose.focal_px * z, z};
    const TubType t = drawnType();
    // What find_tub takes the straight part of a wall to be: the rim is 2 mm wider than the wall's line.
    pose.cone = {t.base_diameter_mm / 2, (t.rim_diameter_mm / 2 - 2 - t.base_diameter_mm / 2) / t.height_mm,
                 t.height_mm, t.wall_mm};
    return pose;
}

/// Grains of two sizes, 420 mm round and 165 mm up; the middle column is x = 0, the last row y = 0. CV_8UC3.
inline cv::Mat grainTexture(std::uint64_t seed)
{
    const cv::Size size(2801, 1101);
    cv::RNG random(seed);
    cv::Mat sum = cv::Mat::zeros(size, CV_32F);
    for (const auto& [grain_mm, weight] : {std::pair{0.25, 1.0}, std::pair{1.0, 1.2}}) {
        cv::Mat noise(size, CV_32F);
        random.fill(noise, cv::RNG::NORMAL, 0, 1);
        cv::GaussianBlur(noise, noise, {}, grain_mm / kTextureMmPerPx);
        cv::Scalar mean, spread;
        cv::meanStdDev(noise, mean, spread);
        sum += weight / spread[0] * noise;
    }
    cv::Mat texture(size, CV_8UC3);
    for (int y = 0; y < size.height; ++y)
        for (int x = 0; x < size.width; ++x) {
            const float s = sum.at<float>(y, x);
            texture.at<cv::Vec3b>(y, x) = {cv::saturate_cast<uchar>(48 + 17 * s),
                                           cv::saturate_cast<uchar>(68 + 20 * s),
                                           cv::saturate_cast<uchar>(88 + 23 * s)};
        }
    return texture;
}

/// Texture pixel of a place on the wall: x round from the line facing the camera, y above the inner base.
inline cv::Point2d texturePx(double x_mm, double y_mm)
{
    return {1400 + x_mm / kTextureMmPerPx, 1100 - y_mm / kTextureMmPerPx};
}

enum class Table { plain, wood, cloth };

struct DrawnTub {
    Pose pose;  ///< of the outside; the medium lies against its inside
    cv::Mat texture = grainTexture(1);
    double surface_mm = 112;  ///< medium above the table
    double turn_deg = 0;      ///< of the tub about its axis, grains going right
    cv::Size size{900, 1200};
    Table table = Table::plain;
    bool filled = true;  ///< else an empty clear tub
    double light = 1;
    double heel_mm = 2.5;  ///< radius of the rounded edge between base and wall
};

/// Where a ray from `eye` along `d` first meets the cone, in the tub frame.
inline std::optional<cv::Vec3d> firstOnCone(const cv::Vec3d& eye, const cv::Vec3d& d, const Cone& cone)
{
    const double s = cone.slope, r = cone.base_radius + s * eye[2];
    const double a = d[0] * d[0] + d[1] * d[1] - s * s * d[2] * d[2];
    const double b = 2 * (eye[0] * d[0] + eye[1] * d[1] - s * d[2] * r);
    const double c = eye[0] * eye[0] + eye[1] * eye[1] - r * r;
    const double under = b * b - 4 * a * c;
    if (under < 0 || a == 0) return std::nullopt;
    const double t = (-b - std::sqrt(under)) / (2 * a);
    if (t <= 0) return std::nullopt;
    return eye + t * d;
}

class TubPainter {
public:
    explicit TubPainter(const DrawnTub& tub)
        : tub_(tub), inner_(innerWall(tub.pose).cone), to_tub_(rotationOf(tub.pose).t())
    {
        // The eye in the tub frame; heights from the table.
        eye_ = to_tub_ * cv::Vec3d(-tub.pose.base.x, -tub.pose.base.y, -tub.pose.base.z);
        facing_ = std::atan2(eye_[0], -eye_[1]);
    }

    cv::Vec3d colourAt(double x, double y) const
    {
        const Pose& p = tub_.pose;
        const cv::Vec3d d =
            to_tub_ * cv::Vec3d((x - p.centre_px.x) / p.focal_px, (y - p.centre_px.y) / p.focal_px, 1);
        const auto hit = firstOnCone(eye_, d, p.cone);
        if (!hit || (*hit)[2] < 0 || (*hit)[2] > p.cone.height || passesUnderTheHeel(*hit, d))
            return background(d, y);
        const cv::Vec3d behind = 0.93 * background(d, y) + cv::Vec3d::all(9);  // a clear wall
        if (!tub_.filled) return behind;
        const double wall = p.cone.wall;
        const auto medium = firstOnCone(eye_ - cv::Vec3d(0, 0, wall), d, inner_);
        if (medium && (*medium)[2] >= 0 && (*medium)[2] + wall <= tub_.surface_mm) return wallColour(*medium);
        // Over the rim of the medium: its upper side, if the ray comes down on it.
        const double t = (tub_.surface_mm - eye_[2]) / d[2];
        const cv::Vec3d top = eye_ + t * d;
        if (d[2] < 0 && t > 0 && std::hypot(top[0], top[1]) < inner_.radiusAt(tub_.surface_mm - wall))
            return 1.5 *
                   texel(1400 + top[0] / kTextureMmPerPx, 550 + top[1] / kTextureMmPerPx);  // lit from above
        return behind;
    }

private:
    /// Whether a ray that has met the straight cone goes on to the table without meeting the rounded body.
    bool passesUnderTheHeel(const cv::Vec3d& hit, const cv::Vec3d& d) const
    {
        const double heel = tub_.heel_mm;
        if (hit[2] >= heel || d[2] >= 0) return false;
        const double to_table = -hit[2] / d[2];
        constexpr int kSteps = 100;
        for (int i = 0; i <= kSteps; ++i) {
            const cv::Vec3d at = hit + i * to_table / kSteps * d;
            const double up = heel - at[2], in = heel - std::sqrt(std::max(0.0, heel * heel - up * up));
            if (std::hypot(at[0], at[1]) <= tub_.pose.cone.radiusAt(at[2]) - in) return false;
        }
        return true;
    }

    cv::Vec3d wallColour(const cv::Vec3d& on_inner) const
    {
        const double angle = std::remainder(std::atan2(on_inner[0], -on_inner[1]) - facing_, 2 * CV_PI) -
                             tub_.turn_deg * kDegree;
        const cv::Point2d at = texturePx(angle * inner_.radiusAt(on_inner[2]), on_inner[2]);
        return texel(at.x, at.y);
    }

    cv::Vec3d texel(double x, double y) const
    {
        const double cx = std::clamp(x, 0.0, tub_.texture.cols - 1.001),
                     cy = std::clamp(y, 0.0, tub_.texture.rows - 1.001);
        const int c = static_cast<int>(cx), r = static_cast<int>(cy);
        const double fc = cx - c, fr = cy - r;
        const auto at = [&](int dr, int dc) { return cv::Vec3d(tub_.texture.at<cv::Vec3b>(r + dr, c + dc)); };
        return (at(0, 0) * (1 - fc) + at(0, 1) * fc) * (1 - fr) + (at(1, 0) * (1 - fc) + at(1, 1) * fc) * fr;
    }

    cv::Vec3d background(const cv::Vec3d& d, double y) const
    {
        const double t = d[2] < 0 ? -eye_[2] / d[2] : 1e9;
        const cv::Vec3d on_table = eye_ + t * d;
        if (t > 1e8 || on_table[1] > 260) return {196 - 0.01 * y, 204 - 0.01 * y, 206 - 0.01 * y};  // room
        const double out = std::hypot(on_table[0], on_table[1]) - tub_.pose.cone.base_radius;
        const double shade = 1 - 0.35 * std::exp(-std::max(0.0, out) / 6);  // where the tub stands
        const double u = on_table[0], v = on_table[1];
        if (tub_.table == Table::wood)
            return shade *
                   (cv::Vec3d(120, 160, 190) * (0.97 + 0.03 * std::sin(0.5 * u + 2 * std::sin(v / 40))));
        if (tub_.table == Table::cloth)
            return shade * (cv::Vec3d(170, 168, 160) * (0.95 + 0.05 * std::sin(u / 3) * std::sin(v / 3)));
        return shade * cv::Vec3d(186, 184, 180);
    }

    const DrawnTub& tub_;
    Cone inner_;
    cv::Matx33d to_tub_;
    cv::Vec3d eye_;
    double facing_;
};

/// The photo, 2 x 2 samples a pixel, with a sensor's noise. CV_8UC3.
inline cv::Mat drawTub(const DrawnTub& tub, double noise = 1.5, std::uint64_t noise_seed = 20260112)
{
    const TubPainter painter(tub);
    cv::Mat picture(tub.size, CV_32FC3);
    for (int y = 0; y < tub.size.height; ++y)
        for (int x = 0; x < tub.size.width; ++x) {
            cv::Vec3d sum(0, 0, 0);
            for (const double dy : {-0.25, 0.25})
                for (const double dx : {-0.25, 0.25}) sum += painter.colourAt(x + dx, y + dy);
            picture.at<cv::Vec3f>(y, x) = tub.light / 4 * sum;
        }
    cv::RNG random(noise_seed);
    cv::Mat grain(tub.size, CV_32FC3), out;
    random.fill(grain, cv::RNG::NORMAL, 0, noise);
    picture += grain;
    picture.convertTo(out, CV_8U);
    return out;
}

/// A label whose code is that wide, 70 mm up the front wall, and says that it is `said_mm` wide.
inline Label labelOn(const DrawnTub& drawn, double side_mm, double said_mm)
{
    const View view(drawn.pose);
    Label label{"T01", said_mm, {}};
    const double half = side_mm / 2, angle = half / drawn.pose.cone.radiusAt(70);
    const WallPoint corners[] = {
        {-angle, 70 + half}, {angle, 70 + half}, {angle, 70 - half}, {-angle, 70 - half}};
    for (size_t i = 0; i < 4; ++i) label.corners[i] = view.photoFromWall(corners[i]);
    return label;
}

}  // namespace slipglass::test
