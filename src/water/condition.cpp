#include "slipglass/water/condition.h"

#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>
#include <vector>

#include "slipglass/panel/colour.h"
#include "slipglass/panel/in_mask.h"
#include "slipglass/water/fog.h"
#include "wall_light.h"

namespace slipglass {

namespace {

/// Of the wall in sight, for figures of it: 2000 px.
constexpr int kLeastPlaces = 2000 / (kPlacePx * kPlacePx);

/// L* a* b* of the label's paper, from the white modules of its code.
std::optional<cv::Vec3d> paperColour(const Label& label, const cv::Mat& bgr, double reduction)
{
    std::vector<cv::Point> corners;
    for (const PhotoPoint& c : label.corners) {
        const PicturePoint p = pictureFromPhoto(c, reduction);
        corners.emplace_back(cvRound(p.x_px), cvRound(p.y_px));
    }
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
        for (int i = 0; i < heights; ++i) {
            const PhotoPoint edge = view.photoFromWall({side * grazing, from + i});
            for (int out = 4; out < 20; ++out) {
                const PicturePoint beside =
                    pictureFromPhoto({edge.x_px + side * out * px, edge.y_px}, reduction);
                const int x = cvRound(beside.x_px), y = cvRound(beside.y_px);
                if (x < 0 || y < 0 || x >= bgr.cols || y >= bgr.rows) continue;
                colours.push_back(bgr.at<cv::Vec3b>(y, x));
            }
        }
    if (colours.empty()) return std::nullopt;
    const cv::Mat lightness = lightnessFromBgr(cv::Mat(colours));
    return quantile({lightness.begin<float>(), lightness.end<float>()}, 0.5);
}

/// Median over the wall of a figure of each place.
template <class Of>
std::optional<double> medianOver(const cv::Mat& mask, const Of& of)
{
    std::vector<float> values;
    for (int y = 0; y < mask.rows; ++y)
        for (int x = 0; x < mask.cols; ++x)
            if (mask.at<uchar>(y, x)) values.push_back(static_cast<float>(of(y, x)));
    return quantile(std::move(values), 0.5);
}

/// The same grains now over then. In L*, which goes with the cube root of luminance; the ratio is taken of
/// luminance, where exposure is a factor.
std::optional<double> sameGrains(const cv::Mat& now, const cv::Mat& then, const cv::Mat& both)
{
    const cv::Mat light = luminanceOf(now), before = luminanceOf(then);
    const auto ratio = medianOver(both, [&](int y, int x) {
        return (light.at<float>(y, x) + 1e-3F) / (before.at<float>(y, x) + 1e-3F);
    });
    if (!ratio) return std::nullopt;
    return std::cbrt(*ratio);
}

/// The picture's cast on the wall, a* and b*: as the paper shows it, scaled to the wall's own lightness, else
/// what has come since the reference panel.
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

}  // namespace

Condition conditionOf(const Panel& panel, const Tub& tub, const cv::Mat& bgr, double reduction,
                      std::optional<double> water_level, const std::optional<EarlierPanel>& reference)
{
    Condition condition;
    condition.lightness = lightnessFromBgr(panel.bgr);
    std::vector<cv::Mat> now;
    cv::split(labFromBgr(middles(panel.bgr)), now);
    const cv::Mat above_water = middles(aboveWater(panel, water_level)), frontal = middles(panel.frontal);
    const auto dark = quantile(valuesIn(now[0], above_water, 1), 0.3);
    const auto paper = tub.label ? paperColour(*tub.label, bgr, reduction) : std::nullopt;
    condition.white = paper ? std::optional<double>((*paper)[0]) : surroundings(tub, bgr, reduction);
    condition.against_label = paper.has_value();
    if (dark && condition.white && *condition.white > 5)
        condition.wall_lightness = 100 * *dark / *condition.white;

    std::optional<std::vector<cv::Mat>> then;
    cv::Mat both = above_water;
    if (reference) {
        both = above_water & middles(reference->visible);
        cv::split(labFromBgr(middles(reference->bgr)), then.emplace());
        condition.same_grains =
            sameGrains(grainWise(condition.lightness, panel.unit_per_px),
                       grainWise(lightnessFromBgr(reference->bgr), panel.unit_per_px), both);
    }

    const int visible = cv::countNonZero(frontal);
    if (visible < kLeastPlaces || !dark) return condition;
    const double median = quantile(valuesIn(now[0], frontal, 1), 0.5).value_or(0);
    const cv::Vec2d cast = castOf(paper, median, now, then, both);
    const cv::Mat green = (now[1] < cast[0] - 7) & (now[2] > cast[1] + 4) & frontal;
    condition.green_percent = 100.0 * cv::countNonZero(green) / visible;
    condition.veil = veilByColumns(condition.lightness, panel);
    if (!condition.veil.empty())
        condition.condensation_percent = 100.0 * cv::countNonZero(condition.veil) / visible;
    return condition;
}

std::optional<double> lightnessByGrains(const Condition& now, std::optional<double> first_wall_lightness,
                                        std::optional<double> first_white)
{
    if (!now.same_grains || !now.white || !first_wall_lightness || !first_white) return std::nullopt;
    const double exposure = std::cbrt((luminance(*now.white) + 1e-3) / (luminance(*first_white) + 1e-3));
    return *first_wall_lightness * *now.same_grains / exposure;
}

}  // namespace slipglass
