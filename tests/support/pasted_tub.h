#pragma once
// Tubs filled with what no tub is filled with: a rendering whose wall is painted over with a texture, round
// the tub and under the rendering's own light, so that all but the medium is as a tub is.
#include <algorithm>
#include <cmath>
#include <functional>
#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>
#include <string>
#include <vector>

#include "sample_pose.h"

namespace slipglass::test {

/// What a tub is filled with, spread flat: grey level or colour by place.
struct Filling {
    std::string name;
    cv::Mat bgr;  ///< CV_8UC3, repeated in mirror image beyond its edges
    double px_per_mm = 5;
};

/// The true wall, CV_8UC1 0/255, of a sample beside its photo.
inline cv::Mat sampleWall(const std::filesystem::path& samples, const std::string& stem)
{
    return cv::imread((samples / "truth" / (stem + ".wall.png")).string(), cv::IMREAD_GRAYSCALE) > 127;
}

/// Light on the wall by place, 1 in the mean over the wall: the photo without its grains. CV_32F.
inline cv::Mat shadingOf(const cv::Mat& bgr, const cv::Mat& wall, double px_per_mm)
{
    cv::Mat grey, weight;
    cv::cvtColor(bgr, grey, cv::COLOR_BGR2GRAY);
    grey.convertTo(grey, CV_32F, 1.0 / 255);
    cv::pow(grey, 2.2, grey);  // near enough to light for a shading
    wall.convertTo(weight, CV_32F, 1.0 / 255);
    grey = grey.mul(weight);
    cv::GaussianBlur(grey, grey, {}, 8 * px_per_mm);
    cv::GaussianBlur(weight, weight, {}, 8 * px_per_mm);
    cv::Mat shading = grey / cv::max(weight, 1e-3);
    return shading / cv::mean(shading, wall)[0];
}

/// The photo with its wall painted over.
/// @param truth  of that photo: its pose, scale and turn. The filling stays where it is on a tub that turns.
inline cv::Mat filledWith(const Filling& filling, const cv::Mat& bgr, const cv::Mat& wall,
                          const nlohmann::json& truth)
{
    const View view(innerWall(poseOfTruth(truth)));
    const Cone cone = innerWall(poseOfTruth(truth)).cone;
    const double turn = truth.value("tub_turn_deg", 0.0) * CV_PI / 180;
    const double middle_radius = cone.radiusAt(60);  // round the tub as if it were a cylinder: no seam shows
    cv::Mat map_x(bgr.size(), CV_32F, cv::Scalar(0)), map_y = map_x.clone(), painted;
    for (int y = 0; y < bgr.rows; ++y)
        for (int x = 0; x < bgr.cols; ++x) {
            if (!wall.at<uchar>(y, x)) continue;
            const auto at = view.wallFromPhoto({static_cast<double>(x), static_cast<double>(y)});
            if (!at) continue;
            map_x.at<float>(y, x) =
                static_cast<float>((150 + (at->angle - turn) * middle_radius) * filling.px_per_mm);
            map_y.at<float>(y, x) = static_cast<float>((200 - at->z) * filling.px_per_mm);
        }
    // Twice too coarse a filling would alias; smooth it to the photo's pixels first.
    cv::Mat smooth = filling.bgr;
    const double shrink = filling.px_per_mm / truth.at("px_per_mm").get<double>();
    if (shrink > 1.2) cv::GaussianBlur(smooth, smooth, {}, 0.5 * shrink);
    cv::remap(smooth, painted, map_x, map_y, cv::INTER_LINEAR, cv::BORDER_REFLECT_101);
    const cv::Mat shading = shadingOf(bgr, wall, truth.at("px_per_mm"));
    cv::Mat out = bgr.clone();
    cv::RNG random(20260112);
    for (int y = 0; y < bgr.rows; ++y)
        for (int x = 0; x < bgr.cols; ++x) {
            if (!wall.at<uchar>(y, x)) continue;
            const double gain = std::pow(shading.at<float>(y, x), 1 / 2.2);
            for (int c = 0; c < 3; ++c)
                out.at<cv::Vec3b>(y, x)[c] =
                    cv::saturate_cast<uchar>(gain * painted.at<cv::Vec3b>(y, x)[c] + random.gaussian(1.5));
        }
    return out;
}

/// A filling drawn point by point. @param at  lightness 0..255 by place in mm.
inline Filling drawnFilling(const std::string& name, const std::function<double(double x, double y)>& at)
{
    Filling filling{name, cv::Mat(1200, 1800, CV_8UC3), 6};
    for (int y = 0; y < filling.bgr.rows; ++y)
        for (int x = 0; x < filling.bgr.cols; ++x)
            filling.bgr.at<cv::Vec3b>(y, x) =
                cv::Vec3b::all(cv::saturate_cast<uchar>(at(x / filling.px_per_mm, y / filling.px_per_mm)));
    return filling;
}

/// Pale pebbles of 3 to 7 mm, lying over each other, lit from above.
inline Filling whitePebbles()
{
    Filling filling{"white pebbles", cv::Mat(1200, 1800, CV_8UC3, cv::Scalar::all(60)), 6};
    cv::RNG random(7);
    for (int i = 0; i < 6000; ++i) {
        const cv::Point at(random.uniform(0, filling.bgr.cols), random.uniform(0, filling.bgr.rows));
        const cv::Size half(random.uniform(9, 21), random.uniform(9, 21));
        const double angle = random.uniform(0.0, 180.0), grey = random.uniform(170.0, 245.0);
        cv::ellipse(filling.bgr, at, half, angle, 0, 360, cv::Scalar::all(0.45 * grey), cv::FILLED,
                    cv::LINE_AA);
        cv::ellipse(filling.bgr, at - cv::Point(0, 2), half - cv::Size(2, 2), angle, 0, 360,
                    cv::Scalar(0.95 * grey, grey, grey), cv::FILLED, cv::LINE_AA);
    }
    return filling;
}

/// Drawn fillings: nothing at all, noise, and regular patterns no medium shows. Stripes are as wide as a
/// root.
inline std::vector<Filling> drawnFillings()
{
    const auto stripe = [](double at, double period, double width) {
        return std::fmod(at, period) < width ? 190.0 : 80.0;
    };
    std::vector<Filling> all;
    all.push_back(drawnFilling("plain grey", [](double, double) { return 110.0; }));
    cv::RNG random(5);
    all.push_back(drawnFilling("random noise", [&](double, double) { return 110 + random.gaussian(40.0); }));
    all.push_back(
        drawnFilling("stripes, vertical, 1 mm in 4", [&](double x, double) { return stripe(x, 4, 1); }));
    all.push_back(
        drawnFilling("stripes, horizontal, 1 mm in 4", [&](double, double y) { return stripe(y, 4, 1); }));
    all.push_back(
        drawnFilling("stripes, vertical, 5 mm in 10", [&](double x, double) { return stripe(x, 10, 5); }));
    all.push_back(drawnFilling("chequerboard, 4 mm", [](double x, double y) {
        return (static_cast<int>(x / 4) + static_cast<int>(y / 4)) % 2 ? 190.0 : 80.0;
    }));
    all.push_back(whitePebbles());
    return all;
}

/// The photographs of a folder, 120 mm of each across, none of them with a root in it.
inline std::vector<Filling> photographedFillings(const std::filesystem::path& folder)
{
    std::vector<std::filesystem::path> files;
    for (const auto& entry : std::filesystem::directory_iterator(folder))
        if (entry.path().extension() == ".jpg") files.push_back(entry.path());
    std::sort(files.begin(), files.end());
    std::vector<Filling> all;
    for (const auto& file : files) {
        Filling filling{file.stem().string(), cv::imread(file.string()), 0};
        filling.px_per_mm = filling.bgr.cols / 120.0;
        all.push_back(filling);
    }
    return all;
}

}  // namespace slipglass::test
