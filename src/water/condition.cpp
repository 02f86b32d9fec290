#include "slipglass/water/condition.h"

#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>
#include <vector>

#include "slipglass/panel/colour.h"

namespace slipglass {

namespace {

std::optional<double> quantile(std::vector<float> values, double share)
{
    if (values.size() < 200) return std::nullopt;
    const auto at = values.begin() + static_cast<long>(share * static_cast<double>(values.size() - 1));
    std::nth_element(values.begin(), at, values.end());
    return *at;
}

std::vector<float> valuesIn(const cv::Mat& plane, const cv::Mat& mask, int stride)
{
    std::vector<float> values;
    for (int y = 0; y < plane.rows; y += stride)
        for (int x = 0; x < plane.cols; x += stride)
            if (mask.at<uchar>(y, x)) values.push_back(plane.at<float>(y, x));
    return values;
}

/// L* of the label's paper, from the white modules of its code.
std::optional<double> paperWhite(const Label& label, const cv::Mat& bgr, double reduction)
{
    std::vector<cv::Point> corners;
    for (const cv::Point2d& c : label.corners)
        corners.emplace_back(cvRound(c.x / reduction), cvRound(c.y / reduction));
    const cv::Rect box = cv::boundingRect(corners) & cv::Rect({}, bgr.size());
    if (box.empty()) return std::nullopt;
    cv::Mat code = cv::Mat::zeros(bgr.size(), CV_8U), lightness;
    cv::fillConvexPoly(code, corners, 255);
    cv::extractChannel(labFromBgr(bgr(box)), lightness, 0);
    return quantile(valuesIn(lightness, code(box), 1), 0.85);
}

/// L* beside the tub, 4 to 20 mm outside its sides, over the filled height.
std::optional<double> surroundings(const Tub& tub, const cv::Mat& bgr, double reduction)
{
    const View view(tub.pose);
    const double grazing = view.grazingAngle(), px = view.pxPerUnit(tub.surfaceMean() / 2);
    std::vector<cv::Vec3b> colours;
    for (const double side : {-1.0, 1.0})
        for (double z = 0.1 * tub.surfaceMean(); z < tub.surfaceMean(); z += 1)
            for (double out = 4; out < 20; out += 1) {
                const PhotoPoint edge = view.photoFromWall({side * grazing, z});
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

}  // namespace

Condition conditionOf(const Panel& panel, const Tub& tub, const cv::Mat& bgr, double reduction,
                      std::optional<double> water_level_mm)
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
    const auto paper = tub.label ? paperWhite(*tub.label, bgr, reduction) : std::nullopt;
    const auto white = paper ? paper : surroundings(tub, bgr, reduction);
    condition.against_label = paper.has_value();
    if (dark && white && *white > 5) condition.wall_lightness = 100 * *dark / *white;

    const int visible = cv::countNonZero(panel.frontal);
    if (visible < 2000 || !dark) return condition;
    const cv::Mat green = (lab[1] < -7) & (lab[2] > 4) & panel.frontal;
    condition.green_percent = 100.0 * cv::countNonZero(green) / visible;

    // A veil lifts the darkest grains of a neighbourhood and flattens their contrast.
    cv::Mat darkest, spread;
    const double patch = 3 / panel.mm_per_px;
    cv::erode(lab[0], darkest,
              cv::getStructuringElement(cv::MORPH_RECT, {static_cast<int>(patch), static_cast<int>(patch)}));
    darkest = smoothedWidely(darkest, patch);
    const cv::Mat off = lab[0] - smoothedWidely(lab[0], patch);
    spread = smoothedWidely(off.mul(off), patch);
    cv::sqrt(spread, spread);
    const auto usual_dark = quantile(valuesIn(darkest, panel.frontal, 3), 0.3),
               usual_spread = quantile(valuesIn(spread, panel.frontal, 3), 0.6);
    if (usual_dark && usual_spread) {
        const cv::Mat veil = (darkest > *usual_dark + 8) & (spread < 0.6 * *usual_spread) & panel.frontal;
        condition.condensation_percent = 100.0 * cv::countNonZero(veil) / visible;
    }
    return condition;
}

double wetnessAgainst(double wall_lightness, double first_wall_lightness)
{
    return std::clamp(0.5 - 2 * (wall_lightness / first_wall_lightness - 1), 0.0, 1.0);
}

}  // namespace slipglass
