#include "slipglass/panel/quality.h"

#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>

#include "slipglass/panel/colour.h"
#include "slipglass/panel/in_mask.h"

namespace slipglass {

namespace {

/// Mean squared slope of a picture smoothed to a scale, and how far it leans to one direction, both free of
/// the picture's size.
struct Slopes {
    double mean = 0;   ///< over all directions
    double least = 0;  ///< along the direction in which there is least
};
/// @param shown  CV_32FC1, 1 where the picture counts, else 0.
Slopes slopesAt(const cv::Mat& grey, const cv::Mat& shown, double sigma)
{
    cv::Mat smooth, x, y;
    cv::GaussianBlur(grey, smooth, {}, sigma);
    cv::Sobel(smooth, x, CV_32F, 1, 0, 3, sigma / 8);
    cv::Sobel(smooth, y, CV_32F, 0, 1, 3, sigma / 8);
    x = x.mul(shown);
    y = y.mul(shown);
    const double count = std::max(1.0, cv::sum(shown)[0]), xx = x.dot(x) / count, yy = y.dot(y) / count,
                 xy = x.dot(y) / count;
    const double mean = (xx + yy) / 2;
    return {mean, std::max(0.0, mean - std::hypot((xx - yy) / 2, xy))};
}

constexpr double kSharpnessPx = 4.5;  // a mm, or more: a root of half a mm is some px wide. Guess.

/// In the photo itself, since a panel is already resampled: detail of a root's width, along the direction in
/// which there is least of it, against detail of a grain's, in mm, so that the picture's size drops out. A
/// shaken hand blurs one direction only: measured over all directions alike, 3 mm of motion looked as good
/// as 1.1 mm out of focus and was three times worse. Finer detail would tell blur from sharp better, but
/// noise looks like it.
double sharpnessOf(const Panel& panel, const cv::Mat& bgr, double reduction)
{
    // A finer picture tells no more: it is reduced, as long as a root stays some px wide.
    const double px_full = panel.px_per_unit / reduction;
    const int fewer = std::max(1, static_cast<int>(px_full / kSharpnessPx));
    const cv::Size size(bgr.cols / fewer, bgr.rows / fewer);
    if (size.empty()) return 0;
    const cv::Mat shown = photoMask(panel, panel.frontal, size, reduction * fewer);
    const double px = px_full / fewer, sigma_fine = std::max(0.5, 0.18 * px),
                 sigma_coarse = std::max(1.0, 0.72 * px);
    const int margin = cvCeil(4 * sigma_coarse) + 1;
    const cv::Rect wall = cv::boundingRect(shown);
    const cv::Rect part =
        cv::Rect(wall.x - margin, wall.y - margin, wall.width + 2 * margin, wall.height + 2 * margin) &
        cv::Rect({}, size);
    cv::Mat grey;
    cv::cvtColor(bgr(cv::Rect(part.tl() * fewer, part.size() * fewer)), grey, cv::COLOR_BGR2GRAY);
    if (fewer > 1) cv::resize(grey, grey, part.size(), 0, 0, cv::INTER_AREA);
    grey.convertTo(grey, CV_32F);
    cv::Mat counts;
    shown(part).convertTo(counts, CV_32F, 1.0 / 255);
    const double fine = slopesAt(grey, counts, sigma_fine).least;
    const double coarse = slopesAt(grey, counts, sigma_coarse).mean;
    return std::clamp(std::sqrt(fine / (coarse + 1e-6)), 0.0, 1.0);
}

/// The wall as it faces the camera, whether or not the picture holds it.
void takeFrame(Quality& quality, const Panel& panel, const cv::Mat& bgr, double reduction)
{
    constexpr int kAcross = 40, kUp = 40;  // places in equal steps from side to side, from foot to surface
    constexpr double kLacking = 0.25;      // share of a side from which it is said to be cut
    const View view(panel.inner);
    const double width = bgr.cols * reduction, height = bgr.rows * reduction,
                 widest = std::sin(view.grazingAngle()), surface = panel.top - 4;
    cv::Mat outside(kUp + 1, kAcross + 1, CV_64F), counted = cv::Mat::ones(kUp + 1, kAcross + 1, CV_64F);
    for (int i = 0; i <= kUp; ++i)
        for (int k = 0; k <= kAcross; ++k) {
            const double across = widest * (2.0 * k / kAcross - 1);
            const PhotoPoint p = view.photoFromWall({std::asin(across), surface * (1 - 1.0 * i / kUp)});
            const bool below = p.y_px > height - 2;
            outside.at<double>(i, k) = below || p.y_px < 1 || p.x_px < 1 || p.x_px > width - 2;
            if (below && !panel.base_known) counted.at<double>(i, k) = 0;
        }
    quality.base_known = panel.base_known;
    quality.in_frame = 1 - outside.dot(counted) / std::max(1.0, cv::sum(counted)[0]);
    // Each by its middle: what is cut off at a side takes the ends of foot and top with it.
    const cv::Range across(kAcross / 5, kAcross - kAcross / 5), up(kUp / 5, kUp - kUp / 5);
    const auto cut = [&](const cv::Mat& side, const cv::Mat& of, const char* name) {
        if (side.dot(of) > kLacking * cv::sum(of)[0]) quality.cut.emplace_back(name);
    };
    cut(outside(up, {0, 1}), counted(up, {0, 1}), "left side");
    cut(outside(up, {kAcross, kAcross + 1}), counted(up, {kAcross, kAcross + 1}), "right side");
    if (panel.base_known)
        cut(outside({kUp, kUp + 1}, across), counted({kUp, kUp + 1}, across), "foot");
    else
        quality.cut.emplace_back("foot");
    cut(outside({0, 1}, across), counted({0, 1}, across), "top");
}

/// L* from which a sensor has nothing left to tell a root from a pale grain by: all three channels within
/// 4 of 255.
constexpr float kBurntLightness = 98.4F;

void takeExposure(Quality& quality, const Panel& panel)
{
    std::vector<cv::Vec3b> colours;  // of every third row and column
    for (int y = 0; y < panel.frontal.rows; y += 3)
        for (int x = 0; x < panel.frontal.cols; x += 3)
            if (panel.frontal.at<uchar>(y, x)) colours.push_back(panel.bgr.at<cv::Vec3b>(y, x));
    if (colours.empty()) return;
    const cv::Mat plane = lightnessFromBgr(cv::Mat(colours));
    const std::vector<float> lightness(plane.begin<float>(), plane.end<float>());
    const auto burnt =
        std::count_if(lightness.begin(), lightness.end(), [](float l) { return l > kBurntLightness; });
    quality.burnt_percent = 100.0 * static_cast<double>(burnt) / static_cast<double>(lightness.size());
    quality.lightness = *medianOf(lightness);
}

std::string inBrackets(const std::string& what, double value, const std::string& unit)
{
    return " (" + what + std::to_string(std::lround(value)) + unit + ")";
}

}  // namespace

Quality qualityOf(const Panel& panel, const Tub& tub, const cv::Mat& bgr, double reduction)
{
    Quality quality;
    const int wall = cv::countNonZero(panel.wall);
    if (wall) quality.glare_percent = 100.0 * (wall - cv::countNonZero(panel.visible)) / wall;
    quality.sharpness = sharpnessOf(panel, bgr, reduction);
    takeFrame(quality, panel, bgr, reduction);
    takeExposure(quality, panel);
    if (panel.in_mm) quality.px_per_mm = panel.px_per_unit;
    if (tub.pose.cone.height > 0) quality.filled = tub.surfaceMean() / tub.pose.cone.height;
    quality.tilt_deg = tub.pose.roll * 180 / CV_PI;
    quality.confidence = tub.confidence;
    quality.doubt = tub.doubt;
    return quality;
}

std::vector<Doubt> doubtsOf(const Quality& q, const QualitySettings& s)
{
    std::vector<Doubt> doubts;
    const auto weigh = [&](bool retake, bool caution, const std::string& grave, const std::string& light,
                           const std::string& remedy) {
        if (retake)
            doubts.push_back({State::retake, grave, remedy});
        else if (caution)
            doubts.push_back({State::caution, light, remedy});
    };
    weigh(q.px_per_mm && *q.px_per_mm < s.retake_px_per_mm, q.px_per_mm && *q.px_per_mm < s.caution_px_per_mm,
          "the tub is too small in the picture", "the tub is small in the picture",
          "Go closer, so that the tub fills two thirds of the picture");
    weigh(q.sharpness < s.retake_sharpness, q.sharpness < s.caution_sharpness, "the picture is blurred",
          "the picture is a little blurred", "Tap on the medium to focus, hold the phone still, add light");
    std::string cut;
    for (const std::string& part : q.cut) cut += (cut.empty() ? ": its " : ", its ") + part;
    if (q.base_known) cut += inBrackets("", 100 * q.in_frame, " % of its front is seen");
    weigh(q.in_frame < s.least_in_frame, q.in_frame < s.caution_in_frame || !q.base_known,
          "most of the tub is outside the picture" + cut, "part of the tub is outside the picture" + cut,
          "Take the whole tub, from rim to table");
    weigh(false, q.filled > s.caution_filled, "",
          "medium seems to reach the rim: perhaps part of a tub was taken for the whole",
          "Photograph the whole tub without glare, against a plain background, and check its tub_type in the "
          "plan");
    const std::string dark = inBrackets("median L* of the wall ", q.lightness, "");
    weigh(q.lightness < s.retake_lightness, q.lightness < s.caution_lightness,
          "the picture is too dark" + dark, "the picture is dark" + dark,
          "Add light, or tap on the medium so that the phone exposes for it");
    const std::string burnt = inBrackets("", q.burnt_percent, " % of the wall");
    weigh(q.burnt_percent > s.retake_burnt_percent, q.burnt_percent > s.caution_burnt_percent,
          "the picture is burnt out" + burnt, "the picture is burnt out in part" + burnt,
          "Tap on the medium so that the phone exposes for it, no flash");
    weigh(q.glare_percent > s.retake_glare_percent, q.glare_percent > s.caution_glare_percent,
          "glare hides most of the wall", "glare hides part of the wall",
          "Turn the tub or yourself away from the window, no flash");
    weigh(false, std::abs(q.tilt_deg) > s.caution_tilt_deg, "", "the picture is tilted",
          "Hold the phone upright");
    weigh(false, q.confidence < s.caution_confidence, "", q.doubt,
          "Photograph the tub against a plain background");
    std::stable_sort(doubts.begin(), doubts.end(),
                     [](const Doubt& a, const Doubt& b) { return a.state > b.state; });
    return doubts;
}

}  // namespace slipglass
