#include "by_rules.h"

#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>
#include <vector>

#include "slipglass/panel/colour.h"
#include "slipglass/roots/length.h"
#include "slipglass/roots/ridge.h"

namespace slipglass {

namespace {

cv::Mat disc(double diameter_px)
{
    const int d = std::max(1, static_cast<int>(std::lround(diameter_px)));
    return cv::getStructuringElement(cv::MORPH_ELLIPSE, {d, d});
}

/// Lightness in units of the local spread round the local mean, over a window of about 8 mm: fog, shade and
/// the camera's exposure drop out. CV_32F.
cv::Mat evenLightness(const cv::Mat& lightness, const cv::Mat& visible, double unit_per_px)
{
    const double window = 4 / unit_per_px;
    cv::Mat weight, mean, spread, values;
    visible.convertTo(weight, CV_32F, 1.0 / 255);
    cv::multiply(lightness, weight, values);
    cv::Mat count;
    cv::GaussianBlur(weight, count, {}, window);
    count = cv::max(count, 1e-3);
    cv::GaussianBlur(values, mean, {}, window);
    mean /= count;
    cv::Mat off = (lightness - mean).mul(weight);
    cv::GaussianBlur(off.mul(off), spread, {}, window);
    spread /= count;
    cv::sqrt(spread, spread);
    return off / (spread + 2.0);
}

/// Strongest ridge over the widths a root can have.
RidgeMap crest(const cv::Mat& light, double unit_per_px)
{
    RidgeMap best;
    for (const double half_width_mm : {0.18, 0.3, 0.5}) {
        const RidgeMap ridge = ridgeStrength(light, std::max(0.8, half_width_mm / unit_per_px));
        if (best.strength.empty()) {
            best = ridge;
            continue;
        }
        const cv::Mat stronger = ridge.strength > best.strength;
        ridge.strength.copyTo(best.strength, stronger);
        ridge.angle.copyTo(best.angle, stronger);
    }
    return best;
}

/// How well the ridge directions round a pixel agree, 0..1: along a root they do, among grains they do not.
cv::Mat coherence(const RidgeMap& ridge, double window_px)
{
    cv::Mat c(ridge.angle.size(), CV_32F), s(ridge.angle.size(), CV_32F);
    for (int y = 0; y < c.rows; ++y)
        for (int x = 0; x < c.cols; ++x) {
            const float a = 2 * ridge.angle.at<float>(y, x), w = ridge.strength.at<float>(y, x);
            c.at<float>(y, x) = w * std::cos(a);
            s.at<float>(y, x) = w * std::sin(a);
        }
    cv::Mat total, length;
    cv::GaussianBlur(c, c, {}, window_px);
    cv::GaussianBlur(s, s, {}, window_px);
    cv::GaussianBlur(ridge.strength, total, {}, window_px);
    cv::magnitude(c, s, length);
    return length / (total + 1e-3);
}

/// Keeps what is long and thin; a root crossing a grain, or a net of roots, is thin for its length.
cv::Mat keepLines(const cv::Mat& mask, double unit_per_px, double min_length_mm, double max_plumpness,
                  double max_width_mm)
{
    cv::Mat labels, stats, centres, kept = cv::Mat::zeros(mask.size(), CV_8U);
    const int count = cv::connectedComponentsWithStats(mask, labels, stats, centres, 8);
    for (int i = 1; i < count; ++i) {
        const cv::Rect box(stats.at<int>(i, cv::CC_STAT_LEFT), stats.at<int>(i, cv::CC_STAT_TOP),
                           stats.at<int>(i, cv::CC_STAT_WIDTH), stats.at<int>(i, cv::CC_STAT_HEIGHT));
        const double area = stats.at<int>(i, cv::CC_STAT_AREA);
        if (std::hypot(box.width, box.height) * unit_per_px < min_length_mm) continue;
        const cv::Mat part = labels(box) == i;
        const double length = rootLengthPx(part, skeletonOf(part));
        if (length * unit_per_px < min_length_mm || area > max_plumpness * length * length ||
            area / length * unit_per_px > max_width_mm)
            continue;
        kept(box).setTo(255, part);
    }
    return kept;
}

/// Strong seeds grown along weaker pixels that touch them.
cv::Mat hysteresis(const cv::Mat& weak, const cv::Mat& strong)
{
    cv::Mat labels;
    const int count = cv::connectedComponents(weak, labels, 8);
    std::vector<uchar> touched(static_cast<size_t>(count), 0);
    for (int y = 0; y < labels.rows; ++y)
        for (int x = 0; x < labels.cols; ++x)
            if (strong.at<uchar>(y, x)) touched[static_cast<size_t>(labels.at<int>(y, x))] = 255;
    touched[0] = 0;
    cv::Mat kept(labels.size(), CV_8U);
    for (int y = 0; y < labels.rows; ++y)
        for (int x = 0; x < labels.cols; ++x)
            kept.at<uchar>(y, x) = touched[static_cast<size_t>(labels.at<int>(y, x))];
    return kept;
}

}  // namespace

RootMap rootsByRules(const Panel& panel, const std::optional<EarlierPanel>& past,
                     const RootSettings& settings)
{
    const double mm = panel.unit_per_px;
    std::vector<cv::Mat> lab;
    cv::split(labFromBgr(panel.bgr), lab);
    const cv::Mat light = evenLightness(lab[0], panel.visible, mm);
    RidgeMap ridge = crest(light, mm);
    cv::Mat score = ridge.strength.mul(coherence(ridge, 0.6 / mm));

    // Unit of the score: its own spread where there are no roots, which is most of the wall.
    cv::Mat inside, before_known = cv::Mat::zeros(light.size(), CV_8U);
    cv::erode(panel.visible, inside, disc(1.2 / mm));
    std::vector<float> values;
    for (int y = 0; y < score.rows; y += 3)
        for (int x = 0; x < score.cols; x += 3)
            if (inside.at<uchar>(y, x)) values.push_back(score.at<float>(y, x));
    RootMap result;
    result.mask = cv::Mat::zeros(light.size(), CV_8U);
    result.browned = result.mask.clone();
    if (values.size() < 1000) return result;
    std::nth_element(values.begin(), values.begin() + static_cast<long>(values.size() * 3 / 4), values.end());
    const double unit = std::max(0.02f, values[values.size() * 3 / 4]);

    cv::Mat line = score / unit, new_light = cv::Mat::zeros(light.size(), CV_32F);
    double min_length = settings.min_length_alone_mm, crest_needed = 1.6 * settings.min_crest;
    if (past) {
        std::vector<cv::Mat> before;
        cv::split(labFromBgr(past->bgr), before);
        cv::Mat light_before = evenLightness(before[0], past->visible, mm), bright_before;
        // What may have moved by half a millimetre is not new.
        cv::dilate(light_before, bright_before, disc(0.9 / mm));
        new_light = light - bright_before;
        before_known = past->visible.clone();
        min_length = settings.min_length_mm;
        crest_needed = settings.min_crest;
    }
    const cv::Mat newly = (new_light > 0.25) & before_known, newly_weak = (new_light > 0.0) & before_known;
    const cv::Mat alone = ~before_known;
    cv::Mat strong, weak;
    strong = (line > crest_needed) & (light > 0.6) & (newly | (alone & (line > 2 * crest_needed)));
    weak = (line > 0.45 * crest_needed) & (light > 0.2) & (newly_weak | (alone & (line > crest_needed)));
    strong &= inside;
    weak &= inside;
    cv::Mat mask = hysteresis(weak, strong);
    mask = keepLines(mask, mm, min_length, settings.max_plumpness, settings.max_width_mm);
    // The crest test keeps the middle; the flanks belong to the root as far as they are lighter than half
    // way.
    cv::Mat flanks;
    cv::dilate(mask, flanks, disc(0.5 / mm));
    flanks &= (light > 0.5) & panel.visible;
    if (past) flanks &= (new_light > -0.2) | alone;
    result.mask = mask | flanks;
    result.browned = result.mask & (lab[1] > 6) & (lab[0] < 55);
    return result;
}

}  // namespace slipglass
