#include "slipglass/corrections/on_panel.h"

#include <algorithm>
#include <cmath>
#include <opencv2/core.hpp>

namespace slipglass {

namespace {

double distanceToSegment(PhotoPoint p, PhotoPoint a, PhotoPoint b)
{
    const double dx = b.x_px - a.x_px, dy = b.y_px - a.y_px, length2 = dx * dx + dy * dy;
    double t = length2 > 0 ? ((p.x_px - a.x_px) * dx + (p.y_px - a.y_px) * dy) / length2 : 0;
    t = std::clamp(t, 0.0, 1.0);
    return std::hypot(p.x_px - a.x_px - t * dx, p.y_px - a.y_px - t * dy);
}

/// Panel pixels among which a segment's neighbourhood lies: the way from photo to panel bends little over so
/// short a way, so its box is that of points all round it. Off the tub: all of the panel.
cv::Rect panelBox(const Panel& panel, PhotoPoint a, PhotoPoint b, double radius)
{
    const cv::Rect all({}, panel.bgr.size());
    const double left = std::min(a.x_px, b.x_px) - radius, right = std::max(a.x_px, b.x_px) + radius;
    const double top = std::min(a.y_px, b.y_px) - radius, bottom = std::max(a.y_px, b.y_px) + radius;
    double first_column = panel.bgr.cols, last_column = 0, first_row = panel.bgr.rows, last_row = 0;
    constexpr int kSteps = 8;
    for (int i = 0; i <= kSteps; ++i)
        for (int j = 0; j <= kSteps; ++j) {
            if (i % kSteps && j % kSteps) continue;
            const auto at = panelFromPhoto(
                panel, {left + (right - left) * i / kSteps, top + (bottom - top) * j / kSteps});
            if (!at) return all;
            first_column = std::min(first_column, panel.columnAt(at->x));
            last_column = std::max(last_column, panel.columnAt(at->x));
            first_row = std::min(first_row, panel.rowAt(at->y));
            last_row = std::max(last_row, panel.rowAt(at->y));
        }
    // Far off the panel a number does not fit an int.
    const auto whole = [](double v) { return static_cast<int>(std::clamp(v, -1e6, 1e6)); };
    const int margin = 3 + whole(0.05 * (last_column - first_column + last_row - first_row));
    return cv::Rect(cv::Point(whole(first_column) - margin, whole(first_row) - margin),
                    cv::Point(whole(last_column) + margin, whole(last_row) + margin)) &
           all;
}

void paintSegment(cv::Mat& mask, const Panel& panel, const View& view, PhotoPoint a, PhotoPoint b,
                  double radius)
{
    const cv::Rect box = panelBox(panel, a, b, radius);
    for (int r = box.y; r < box.br().y; ++r) {
        const PanelPoint first = panel.pointAt(box.x, r);
        const double around = panel.inner.cone.radiusAt(first.y);
        const auto ring =
            view.photoFromRing({first.x / around, first.y}, panel.unit_per_px / around, box.width);
        uchar* out = mask.ptr(r) + box.x;
        for (int c = 0; c < box.width; ++c)
            if (distanceToSegment(ring[static_cast<size_t>(c)], a, b) <= radius) out[c] = 255;
    }
}

}  // namespace

cv::Mat strokeOnPanel(const Panel& panel, const Stroke& stroke, double width_share)
{
    cv::Mat mask = cv::Mat::zeros(panel.bgr.size(), CV_8U);
    const View view(panel.inner);
    // Half the diagonal of a panel pixel: a hair line still passes within it of some pixel's middle.
    const double least = 0.71 * panel.unit_per_px * panel.px_per_unit;
    const double radius = std::max(least, width_share * stroke.width_px / 2);
    const std::vector<PhotoPoint>& points = stroke.points;
    if (points.size() == 1) paintSegment(mask, panel, view, points[0], points[0], radius);
    for (size_t i = 1; i < points.size(); ++i)
        paintSegment(mask, panel, view, points[i - 1], points[i], radius);
    return mask;
}

PaintedPanel paintedOnPanel(const Panel& panel, const std::vector<Stroke>& strokes)
{
    PaintedPanel painted{cv::Mat::zeros(panel.bgr.size(), CV_8U), cv::Mat::zeros(panel.bgr.size(), CV_8U)};
    for (const Stroke& stroke : strokes) {
        const cv::Mat under = strokeOnPanel(panel, stroke) & panel.wall;
        (stroke.root ? painted.root : painted.not_root).setTo(255, under);
        (stroke.root ? painted.not_root : painted.root).setTo(0, under);
    }
    return painted;
}

std::optional<double> levelOnPanel(const Panel& panel, const std::vector<PhotoPoint>& line)
{
    if (line.empty()) return 0.0;
    std::vector<double> heights;
    for (const PhotoPoint& p : line) {
        const auto at = panelFromPhoto(panel, p);
        if (at && at->y < panel.top) heights.push_back(at->y);
    }
    if (heights.empty()) return std::nullopt;
    std::sort(heights.begin(), heights.end());
    const size_t n = heights.size();
    return std::max(0.0, (heights[(n - 1) / 2] + heights[n / 2]) / 2);
}

}  // namespace slipglass
