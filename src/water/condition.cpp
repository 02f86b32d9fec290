#include "slipglass/water/condition.h"

#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>
#include <vector>

#include "slipglass/panel/colour.h"
#include "slipglass/panel/in_mask.h"

namespace slipglass {

namespace {

std::optional<double> quantile(std::vector<float> values, double share)
{
    if (values.size() < 200) return std::nullopt;
    const auto at = values.begin() + static_cast<long>(share * static_cast<double>(values.size() - 1));
    std::nth_element(values.begin(), at, values.end());
    return *at;
}

/// L* a* b* of the label's paper, from the white modules of its code.
std::optional<cv::Vec3d> paperColour(const Label& label, const cv::Mat& bgr, double reduction)
{
    std::vector<cv::Point> corners;
    for (const cv::Point2d& c : label.corners)
        corners.emplace_back(cvRound(c.x / reduction), cvRound(c.y / reduction));
    const cv::Rect box = cv::boundingRect(corners) & cv::Rect({}, bgr.size());
    if (box.empty()) return std::nullopt;
    cv::Mat code = cv::Mat::zeros(bgr.size(), CV_8U), lightness;
    cv::fillConvexPoly(code, corners, 255);
    const cv::Mat lab = labFromBgr(bgr(box));
    cv::extractChannel(lab, lightness, 0);
    const auto white = quantile(valuesIn(lightness, code(box), 1), 0.85);
    if (!white) return std::nullopt;
    const cv::Scalar mean = cv::mean(lab, (lightness > 0.9 * *white) & code(box));
    return cv::Vec3d(*white, mean[1], mean[2]);
}

/// L* beside the tub, 4 to 20 mm outside its sides, over the filled height.
std::optional<double> surroundings(const Tub& tub, const cv::Mat& bgr, double reduction)
{
    const View view(tub.pose);
    const double grazing = view.grazingAngle(), px = view.pxPerUnit(tub.surfaceMean() / 2);
    std::vector<cv::Vec3b> colours;
    const double from = 0.1 * tub.surfaceMean();
    const int heights = static_cast<int>(std::ceil(tub.surfaceMean() - from));
    for (const double side : {-1.0, 1.0})
        for (int i = 0; i < heights; ++i)
            for (int out = 4; out < 20; ++out) {
                const PhotoPoint edge = view.photoFromWall({side * grazing, from + i});
                const int x = cvRound((edge.x_px + side * out * px) / reduction),
                          y = cvRound(edge.y_px / reduction);
                if (x < 0 || y < 0 || x >= bgr.cols || y >= bgr.rows) continue;
                colours.push_back(bgr.at<cv::Vec3b>(y, x));
            }
    if (colours.empty()) return std::nullopt;
    cv::Mat lightness;
    cv::extractChannel(labFromBgr(cv::Mat(colours)), lightness, 0);
    return quantile({lightness.begin<float>(), lightness.end<float>()}, 0.5);
}

/// Smoothed over so wide a window that every fourth row and column tells the same.
cv::Mat smoothedWidely(const cv::Mat& plane, double sigma)
{
    constexpr double kShrink = 4;
    cv::Mat small, out;
    cv::resize(plane, small, {}, 1 / kShrink, 1 / kShrink, cv::INTER_AREA);
    cv::GaussianBlur(small, small, {}, sigma / kShrink);
    cv::resize(small, out, plane.size(), 0, 0, cv::INTER_LINEAR);
    return out;
}

/// Median over the wall of a figure of each pixel.
template <class Of>
std::optional<double> medianOver(const cv::Mat& mask, const Of& of)
{
    std::vector<float> values;
    for (int y = 0; y < mask.rows; y += 3)
        for (int x = 0; x < mask.cols; x += 3)
            if (mask.at<uchar>(y, x)) values.push_back(static_cast<float>(of(y, x)));
    return quantile(std::move(values), 0.5);
}

/// As large as a grain: panels fit to a pixel or two only.
cv::Mat grainWise(const cv::Mat& plane, double mm_per_px)
{
    cv::Mat smooth;
    cv::GaussianBlur(plane, smooth, {}, 0.45 / mm_per_px);
    return smooth;
}

/// The same grains now over then. In L*, which goes with the cube root of luminance; the ratio is taken of
/// luminance, where exposure is a factor.
std::optional<double> sameGrains(const cv::Mat& now, const cv::Mat& then, const cv::Mat& both)
{
    return medianOver(both, [&](int y, int x) {
        return std::cbrt((luminance(now.at<float>(y, x)) + 1e-3) / (luminance(then.at<float>(y, x)) + 1e-3));
    });
}

/// The picture's cast on the wall, a* and b*: as the paper shows it, scaled to the wall's own lightness, else
/// what has come since the first panel.
cv::Vec2d castOf(const std::optional<cv::Vec3d>& paper, double wall_median, const std::vector<cv::Mat>& now,
                 const std::optional<std::vector<cv::Mat>>& then, const cv::Mat& both)
{
    if (paper && (*paper)[0] > 5) {
        const double scale = std::min(1.0, wall_median / (*paper)[0]);
        return {scale * (*paper)[1], scale * (*paper)[2]};
    }
    cv::Vec2d cast(0, 0);
    if (!then) return cast;
    for (const int k : {1, 2})
        cast[k - 1] = medianOver(both, [&](int y, int x) {
                          return now[static_cast<size_t>(k)].at<float>(y, x) -
                                 (*then)[static_cast<size_t>(k)].at<float>(y, x);
                      }).value_or(0);
    return cast;
}

/// Spread of luminance round each place, over grains. In luminance, not L*: a mirrored window adds its light
/// to that of every grain alike and leaves the spread as it is, where fog scatters the grains' own light and
/// flattens it.
cv::Mat spreadOfLight(const cv::Mat& lightness, double mm_per_px)
{
    cv::Mat light(lightness.size(), CV_32F), spread;
    for (int y = 0; y < light.rows; ++y)
        for (int x = 0; x < light.cols; ++x)
            light.at<float>(y, x) = static_cast<float>(luminance(lightness.at<float>(y, x)));
    const cv::Mat off = light - smoothedWidely(light, 3 / mm_per_px);
    spread = smoothedWidely(off.mul(off), 3 / mm_per_px);
    cv::sqrt(spread, spread);
    return spread;
}

/// For each column of the panel, a quantile over the columns within 6 mm of it; nothing where too little of
/// them is to be seen.
std::vector<std::optional<double>> columnQuantiles(const cv::Mat& plane, const cv::Mat& mask,
                                                   double mm_per_px, double share)
{
    const int reach = static_cast<int>(6 / mm_per_px);
    std::vector<std::optional<double>> usual(static_cast<size_t>(plane.cols));
    constexpr int kStep = 8;
    for (int from = 0; from < plane.cols; from += kStep) {
        const cv::Range columns(std::max(0, from - reach), std::min(plane.cols, from + kStep + reach));
        const auto value = quantile(valuesIn(plane.colRange(columns), mask.colRange(columns), 3), share);
        for (int x = from; x < std::min(plane.cols, from + kStep); ++x) usual[static_cast<size_t>(x)] = value;
    }
    return usual;
}

/// Where a pale veil lies: it lifts the darkest pores of a neighbourhood and flattens what is around them. A
/// grain is lighter than its pores too, so a neighbourhood is larger than any grain (perlite: up to 5 mm).
/// Each place is judged by the rest of its own column, which is seen at the same slant under the same light:
/// towards the sides the plastic mirrors more and shade lies, which is no fog. What is far brighter than fog
/// is a mirrored lamp.
std::optional<double> veiledShare(const cv::Mat& lightness, const Panel& panel, int visible)
{
    cv::Mat darkest;
    const int reach = static_cast<int>(6 / panel.mm_per_px);
    cv::Mat inside = lightness.clone();
    inside.setTo(200, panel.visible == 0);  // label and glare are nobody's pores
    cv::erode(inside, darkest, cv::getStructuringElement(cv::MORPH_RECT, {reach, reach}));
    darkest = cv::min(darkest, 100.0);
    darkest = smoothedWidely(darkest, 3 / panel.mm_per_px);
    const cv::Mat spread = spreadOfLight(lightness, panel.mm_per_px);
    const auto usual_dark = columnQuantiles(darkest, panel.frontal, panel.mm_per_px, 0.3),
               usual_spread = columnQuantiles(spread, panel.frontal, panel.mm_per_px, 0.6);
    int veiled = 0, judged = 0;
    for (int y = 0; y < darkest.rows; ++y)
        for (int x = 0; x < darkest.cols; ++x) {
            const auto &dark = usual_dark[static_cast<size_t>(x)],
                       &flat = usual_spread[static_cast<size_t>(x)];
            if (!panel.frontal.at<uchar>(y, x) || !dark || !flat) continue;
            ++judged;
            const double lifted = darkest.at<float>(y, x) - *dark;
            veiled += lifted > 8 && lifted < 45 && spread.at<float>(y, x) < 0.6 * *flat;
        }
    if (judged == 0) return std::nullopt;
    return 100.0 * veiled / visible;
}

}  // namespace

Condition conditionOf(const Panel& panel, const Tub& tub, const cv::Mat& bgr, double reduction,
                      std::optional<double> water_level_mm, const std::optional<EarlierPanel>& first)
{
    Condition condition;
    std::vector<cv::Mat> lab;
    cv::split(labFromBgr(panel.bgr), lab);
    cv::Mat above_water = panel.frontal.clone();
    if (water_level_mm && *water_level_mm > 0) {
        const int row = std::clamp(static_cast<int>(panel.rowAt(*water_level_mm + 8)), 0, above_water.rows);
        above_water.rowRange(row, above_water.rows).setTo(0);  // the damp fringe over the water too
    }
    const auto dark = quantile(valuesIn(lab[0], above_water, 3), 0.3);
    const auto paper = tub.label ? paperColour(*tub.label, bgr, reduction) : std::nullopt;
    condition.white = paper ? std::optional<double>((*paper)[0]) : surroundings(tub, bgr, reduction);
    condition.against_label = paper.has_value();
    if (dark && condition.white && *condition.white > 5)
        condition.wall_lightness = 100 * *dark / *condition.white;

    std::optional<std::vector<cv::Mat>> then;
    cv::Mat both = above_water;
    if (first) {
        both = above_water & first->visible;
        cv::split(labFromBgr(first->bgr), then.emplace());
        condition.same_grains =
            sameGrains(grainWise(lab[0], panel.mm_per_px), grainWise((*then)[0], panel.mm_per_px), both);
    }

    const int visible = cv::countNonZero(panel.frontal);
    if (visible < 2000 || !dark) return condition;
    const double median = quantile(valuesIn(lab[0], panel.frontal, 3), 0.5).value_or(0);
    const cv::Vec2d cast = castOf(paper, median, lab, then, both);
    const cv::Mat green = (lab[1] < cast[0] - 7) & (lab[2] > cast[1] + 4) & panel.frontal;
    condition.green_percent = 100.0 * cv::countNonZero(green) / visible;
    condition.condensation_percent = veiledShare(lab[0], panel, visible);
    return condition;
}

std::optional<double> lightnessByGrains(const Condition& now, std::optional<double> first_wall_lightness,
                                        std::optional<double> first_white)
{
    if (!now.same_grains || !now.white || !first_wall_lightness || !first_white) return std::nullopt;
    const double exposure = std::cbrt((luminance(*now.white) + 1e-3) / (luminance(*first_white) + 1e-3));
    return *first_wall_lightness * *now.same_grains / exposure;
}

double wetnessAgainst(double wall_lightness, double first_wall_lightness)
{
    return std::clamp(0.5 - 2 * (wall_lightness / first_wall_lightness - 1), 0.0, 1.0);
}

}  // namespace slipglass
