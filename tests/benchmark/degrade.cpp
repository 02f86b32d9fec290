#include "degrade.h"

#include <array>
#include <cmath>
#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>

namespace slipglass::benchmark {

namespace {

/// Light itself, 0..1: lenses and exposure act on it, not on the file's numbers. IEC 61966-2-1. CV_32FC3.
cv::Mat lightOf(const cv::Mat& bgr)
{
    cv::Mat table(1, 256, CV_32F), light;
    for (int i = 0; i < 256; ++i) {
        const double v = i / 255.0;
        table.at<float>(i) =
            static_cast<float>(v <= 0.04045 ? v / 12.92 : std::pow((v + 0.055) / 1.055, 2.4));
    }
    cv::LUT(bgr, table, light);
    return light;
}

/// The file's numbers for light, what is too much cut off. CV_8UC3.
cv::Mat picturedAs(const cv::Mat& light)
{
    constexpr int kSteps = 1 << 14;
    static const std::vector<uchar> table = [] {
        std::vector<uchar> t(kSteps + 1);
        for (int i = 0; i <= kSteps; ++i) {
            const double v = static_cast<double>(i) / kSteps;
            t[static_cast<size_t>(i)] = cv::saturate_cast<uchar>(
                255 * (v <= 0.0031308 ? 12.92 * v : 1.055 * std::pow(v, 1 / 2.4) - 0.055));
        }
        return t;
    }();
    cv::Mat bgr(light.size(), CV_8UC3);
    for (int y = 0; y < light.rows; ++y) {
        const auto* in = light.ptr<float>(y);
        uchar* out = bgr.ptr(y);
        for (int i = 0; i < 3 * light.cols; ++i)
            out[i] = table[static_cast<size_t>(std::lround(std::clamp(in[i], 0.0F, 1.0F) * kSteps))];
    }
    return bgr;
}

/// A sensor's noise, always the same.
cv::Mat withNoise(const cv::Mat& bgr, double sigma_levels)
{
    cv::Mat noise(bgr.size(), CV_16SC3), out;
    cv::RNG(20260112).fill(noise, cv::RNG::NORMAL, 0, sigma_levels);
    cv::add(bgr, noise, out, {}, CV_8U);
    return out;
}

/// What a phone adds after its lens: blurring a photo also took away the noise it had. Guess.
constexpr double kSensorNoise = 2;

Scene withLight(const Scene& scene, const cv::Mat& light)
{
    Scene out = scene;
    out.bgr = withNoise(picturedAs(light), kSensorNoise);
    return out;
}

cv::Mat filtered(const cv::Mat& light, cv::Mat kernel)
{
    kernel /= cv::sum(kernel)[0];
    cv::Mat out;
    cv::filter2D(light, out, -1, kernel, {-1, -1}, 0, cv::BORDER_REPLICATE);
    return out;
}

/// Out of focus: every point becomes a disc.
Scene defocused(const Scene& scene, double diameter_mm)
{
    const double radius = diameter_mm / 2 * scene.px_per_mm;
    const int reach = static_cast<int>(std::ceil(radius));
    cv::Mat disc(2 * reach + 1, 2 * reach + 1, CV_32F);
    for (int y = -reach; y <= reach; ++y)
        for (int x = -reach; x <= reach; ++x)  // the edge's pixels by their share
            disc.at<float>(y + reach, x + reach) =
                static_cast<float>(std::clamp(radius + 0.5 - std::hypot(x, y), 0.0, 1.0));
    return withLight(scene, filtered(lightOf(scene.bgr), disc));
}

/// The hand moved while the shutter was open, 30 degrees off the horizontal.
Scene shaken(const Scene& scene, double length_mm)
{
    const double length = length_mm * scene.px_per_mm;
    const int reach = static_cast<int>(std::ceil(length / 2)) + 1;
    cv::Mat path = cv::Mat::zeros(2 * reach + 1, 2 * reach + 1, CV_32F);
    constexpr int kSteps = 400;
    for (int i = 0; i <= kSteps; ++i) {
        const double t = length * (static_cast<double>(i) / kSteps - 0.5);
        const double x = reach + t * std::cos(CV_PI / 6), y = reach + t * std::sin(CV_PI / 6);
        path.at<float>(static_cast<int>(std::lround(y)), static_cast<int>(std::lround(x))) += 1;
    }
    return withLight(scene, filtered(lightOf(scene.bgr), path));
}

Scene exposed(const Scene& scene, double stops)
{
    return withLight(scene, lightOf(scene.bgr) * std::exp2(stops));
}

/// Red over blue as many times as it was.
Scene tinted(const Scene& scene, double red_over_blue)
{
    cv::Mat light = lightOf(scene.bgr);
    const double gain = std::sqrt(red_over_blue);
    cv::multiply(light, cv::Scalar(1 / gain, 1, gain), light);
    return withLight(scene, light);
}

Scene noisy(const Scene& scene, double sigma_levels)
{
    Scene out = scene;
    out.bgr = withNoise(scene.bgr, sigma_levels);
    return out;
}

Scene squeezed(const Scene& scene, double jpeg_quality)
{
    std::vector<uchar> bytes;
    cv::imencode(".jpg", scene.bgr, bytes, {cv::IMWRITE_JPEG_QUALITY, static_cast<int>(jpeg_quality)});
    Scene out = scene;
    out.bgr = cv::imdecode(bytes, cv::IMREAD_COLOR);
    return out;
}

/// To be drawn anew: a copy of a cv::Mat shares its pixels, and OpenCV would draw over the original's.
Scene withoutPictures(Scene scene)
{
    scene.bgr = scene.roots = scene.wall = cv::Mat();
    return scene;
}

Scene fromFurther(const Scene& scene, double px_per_mm)
{
    const double factor = px_per_mm / scene.px_per_mm;
    Scene out = withoutPictures(scene);
    cv::resize(scene.bgr, out.bgr, {}, factor, factor, cv::INTER_AREA);
    cv::resize(scene.roots, out.roots, out.bgr.size(), 0, 0, cv::INTER_AREA);
    cv::resize(scene.wall, out.wall, out.bgr.size(), 0, 0, cv::INTER_AREA);
    out.roots = out.roots > 127;  // from half covered, as in the truth
    out.wall = out.wall > 127;
    out.px_per_mm = px_per_mm;
    out.focal_px *= factor;
    return out;
}

/// The picture a camera turned about its lens would have taken; what it did not see repeats the edge.
Scene turned(const Scene& scene, const cv::Matx33d& rotation)
{
    const double cx = (scene.bgr.cols - 1) / 2.0, cy = (scene.bgr.rows - 1) / 2.0;
    const cv::Matx33d camera(scene.focal_px, 0, cx, 0, scene.focal_px, cy, 0, 0, 1);
    const cv::Matx33d way = camera * rotation * camera.inv();
    Scene out = withoutPictures(scene);
    cv::warpPerspective(scene.bgr, out.bgr, way, scene.bgr.size(), cv::INTER_CUBIC, cv::BORDER_REPLICATE);
    cv::warpPerspective(scene.roots, out.roots, way, scene.bgr.size(), cv::INTER_NEAREST);
    cv::warpPerspective(scene.wall, out.wall, way, scene.bgr.size(), cv::INTER_NEAREST);
    return out;
}

enum class Axis { side, up, sight };
cv::Matx33d rotationBy(Axis axis, double degrees)
{
    const double c = std::cos(degrees * CV_PI / 180), s = std::sin(degrees * CV_PI / 180);
    switch (axis) {
        case Axis::side:
            return {1, 0, 0, 0, c, -s, 0, s, c};
        case Axis::up:
            return {c, 0, s, 0, 1, 0, -s, 0, c};
        case Axis::sight:
            break;
    }
    return {c, -s, 0, s, c, 0, 0, 0, 1};
}

Scene rolled(const Scene& scene, double degrees)
{
    return turned(scene, rotationBy(Axis::sight, degrees));
}

Scene aimedHigher(const Scene& scene, double degrees)
{
    return turned(scene, rotationBy(Axis::side, -degrees));
}

/// Turned away until that share of the wall is outside the picture.
Scene cutOff(const Scene& scene, Axis axis, double way, double percent)
{
    const int whole = cv::countNonZero(scene.wall);
    double low = 0, high = 40;
    for (int i = 0; i < 12; ++i) {
        const double middle = (low + high) / 2;
        const cv::Mat wall = turned(scene, rotationBy(axis, way * middle)).wall;
        // What is left has changed its size a little; that counts as nothing here.
        (cv::countNonZero(wall) < (1 - percent / 100) * whole ? high : low) = middle;
    }
    return turned(scene, rotationBy(axis, way * high));
}

/// An upright strip of the wall, somewhat left of its middle, 0..1 with soft edges. CV_32FC3.
cv::Mat pane(const Scene& scene, double percent)
{
    const cv::Rect box = cv::boundingRect(scene.wall);
    const double width = percent / 100 * box.width;
    const double left = std::clamp(box.x + 0.4 * box.width - width / 2, box.x + 0.02 * box.width, 1e9);
    cv::Mat strip = cv::Mat::zeros(scene.bgr.size(), CV_32F), three;
    strip(cv::Rect(static_cast<int>(left), box.y, static_cast<int>(width), box.height) &
          cv::Rect({}, strip.size()))
        .setTo(1);
    cv::GaussianBlur(strip, strip, {}, 1.0 * scene.px_per_mm);
    cv::merge(std::vector<cv::Mat>{strip, strip, strip}, three);
    return three;
}

/// A window mirrored so brightly that nothing shows through.
Scene glaring(const Scene& scene, double percent)
{
    return withLight(scene, lightOf(scene.bgr) + 1.5 * pane(scene, percent));
}

/// A dimmer one over 30 % of the wall, that lets the medium show through; its light in percent of white.
Scene shining(const Scene& scene, double percent_of_white)
{
    return withLight(scene, lightOf(scene.bgr) + percent_of_white / 100 * pane(scene, 30));
}

/// Fog on the wall: that share of the light comes from it, the rest through it, a little spread.
Scene fogged(const Scene& scene, double percent)
{
    const double share = percent / 100;
    cv::Mat veil, three, spread, light = lightOf(scene.bgr);
    scene.wall.convertTo(veil, CV_32F, share / 255);
    cv::GaussianBlur(veil, veil, {}, 1.5 * scene.px_per_mm);
    cv::merge(std::vector<cv::Mat>{veil, veil, veil}, three);
    cv::GaussianBlur(light, spread, {}, 0.15 * scene.px_per_mm);
    const cv::Mat fog(light.size(), CV_32FC3, cv::Scalar::all(0.35));
    return withLight(scene, light + three.mul(fog - 0.5 * light - 0.5 * spread));
}

}  // namespace

std::vector<Degradation> degradations()
{
    std::vector<Degradation> all{{"none", "as it is", 0, false, [](const Scene& s) { return s; }}};
    const auto add = [&](const std::string& kind, const std::string& unit, bool alike,
                         const std::vector<double>& amounts, auto&& spoil) {
        for (const double amount : amounts)
            all.push_back({kind, unit, amount, alike, [=](const Scene& s) { return spoil(s, amount); }});
    };
    add("defocus", "mm, diameter of the disc at the wall", true, {0.4, 0.8, 1.2, 1.6, 2.4, 3.2}, defocused);
    add("motion", "mm at the wall", true, {0.5, 1, 2, 3}, shaken);
    add("too dark", "stops", true, {-1, -2, -3, -4, -5}, exposed);
    add("too light", "stops", true, {0.5, 1, 1.5, 2, 3}, exposed);
    add("noise", "levels of 255", false, {6, 12, 24}, noisy);
    add("JPEG", "quality", false, {40, 15, 7}, squeezed);
    add("white balance", "red over blue, times", false, {1.6, 2.5, 0.6}, tinted);
    add("scale", "px per mm", false, {4, 3, 2.5, 2, 1.5}, fromFurther);
    add("roll", "degrees", false, {5, 10, 15, 20}, rolled);
    add("aim", "degrees too high", false, {-5, 5}, aimedHigher);
    const auto side = [](const Scene& s, double percent) { return cutOff(s, Axis::up, 1, percent); };
    const auto foot = [](const Scene& s, double percent) { return cutOff(s, Axis::side, -1, percent); };
    add("cut off at a side", "% of the wall", false, {3, 10, 20}, side);
    add("cut off below", "% of the wall", false, {3, 10, 20}, foot);
    add("glare", "% of the wall's width", false, {5, 10, 20, 40, 60}, glaring);
    add("sheen", "% of white, on 30 % of the wall", false, {5, 15, 40}, shining);
    add("fog", "% of the light", true, {30, 50, 70}, fogged);
    return all;
}

}  // namespace slipglass::benchmark
