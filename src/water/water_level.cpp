#include "slipglass/water/water_level.h"

#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>
#include <vector>

#include "slipglass/panel/colour.h"

namespace slipglass {

namespace {

constexpr double kClip = 6;  // L*: a grain or a root across the line must not outvote the rest

/// How much a level line stands out at one row of the panel.
struct RowLine {
    double lightness = 0;  ///< mean over the front, clipped
    double share = 0;      ///< of the front where it stands out at all
    bool known = false;
};

std::vector<RowLine> levelLines(const Panel& panel)
{
    std::vector<cv::Mat> lab;
    cv::split(labFromBgr(panel.bgr), lab);
    cv::Mat smooth, line;
    cv::GaussianBlur(lab[0], smooth, {}, 0.9 / panel.mm_per_px, 0.12 / panel.mm_per_px);
    // Row itself against the rows 0.6 mm above and below.
    const int reach = std::max(1, static_cast<int>(std::lround(0.6 / panel.mm_per_px)));
    cv::Mat kernel(2 * reach + 1, 1, CV_32F, cv::Scalar(0));
    kernel.at<float>(0) = kernel.at<float>(2 * reach) = -0.5F;
    kernel.at<float>(reach) = 1;
    cv::filter2D(smooth, line, CV_32F, kernel, {-1, -1}, 0, cv::BORDER_REPLICATE);

    std::vector<RowLine> rows(static_cast<size_t>(panel.bgr.rows));
    int widest = 0;
    for (int r = 0; r < panel.frontal.rows; ++r)
        widest = std::max(widest, cv::countNonZero(panel.frontal.row(r)));
    for (int r = 0; r < panel.bgr.rows; ++r) {
        double sum = 0;
        int seen = 0, out = 0;
        for (int c = 0; c < panel.bgr.cols; ++c) {
            if (!panel.frontal.at<uchar>(r, c)) continue;
            const double value = line.at<float>(r, c);
            sum += std::clamp(value, -kClip, kClip);
            out += value > 1.5;
            ++seen;
        }
        if (seen < 0.4 * widest || seen < 20) continue;
        rows[static_cast<size_t>(r)] = {sum / seen, static_cast<double>(out) / seen, true};
    }
    return rows;
}

}  // namespace

WaterReading waterLevel(const Panel& panel, const WaterSettings& settings)
{
    const std::vector<RowLine> rows = levelLines(panel);
    const auto lineAt = [&](int row) {
        return row < 0 || row >= static_cast<int>(rows.size()) ? RowLine{} : rows[static_cast<size_t>(row)];
    };
    WaterReading reading;
    const int lowest_row = static_cast<int>(panel.rowAt(2.0));
    if (!lineAt(lowest_row).known) return reading;  // cut off or covered: nothing can be said

    // The tub's own rounded heel mirrors light in a line too, about 2 mm up: water is looked for above it.
    const int heel_top = static_cast<int>(panel.rowAt(2.9)), heel_bottom = static_cast<int>(panel.rowAt(0.8));
    int heel = heel_bottom;
    for (int r = heel_top; r <= heel_bottom; ++r)
        if (lineAt(r).lightness > lineAt(heel).lightness) heel = r;
    const int from = heel - static_cast<int>(0.9 / panel.mm_per_px);
    const int to = static_cast<int>(panel.rowAt(0.9 * panel.top_mm));
    int best = -1;
    for (int r = from; r >= to; --r) {
        const RowLine here = lineAt(r);
        if (here.lightness < settings.line_lightness || here.share < settings.line_share) continue;
        if (here.lightness < lineAt(r - 1).lightness || here.lightness < lineAt(r + 1).lightness) continue;
        if (best < 0 || here.lightness > lineAt(best).lightness) best = r;
    }
    if (best < 0) {
        reading.level_mm = reading.low_mm = 0.0;
        reading.high_mm = panel.pointAt(0, from).y_mm;
        return reading;
    }
    // Middle of the line: where it is as bright as the wall on both sides says, to a fraction of a row.
    double weight = 0, at = 0;
    for (int r = best - 2; r <= best + 2; ++r) {
        const double w = std::max(0.0, lineAt(r).lightness);
        weight += w;
        at += w * r;
    }
    const double level = panel.pointAt(0, at / weight).y_mm;
    reading.level_mm = level;
    reading.low_mm = std::max(0.0, level - settings.level_error_mm);
    reading.high_mm = level + settings.level_error_mm;
    return reading;
}

}  // namespace slipglass
