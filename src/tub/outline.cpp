#include "outline.h"

#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>

#include "medium_look.h"
#include "steps.h"

namespace slipglass {

namespace {

struct RowRun {
    int y, left, right;
};

/// In each row, the run of medium that covers the axis column, or lies nearest to it.
std::vector<RowRun> runsAcross(const cv::Mat& block, int axis)
{
    std::vector<RowRun> runs;
    for (int y = 0; y < block.rows; ++y) {
        const uchar* row = block.ptr(y);
        if (!row[axis]) continue;
        int left = axis, right = axis;
        // Small holes (glare, a label) do not end a run.
        for (int x = axis, gap = 0; x >= 0 && gap < block.cols / 12; --x)
            if (row[x])
                left = x, gap = 0;
            else
                ++gap;
        for (int x = axis, gap = 0; x < block.cols && gap < block.cols / 12; ++x)
            if (row[x])
                right = x, gap = 0;
            else
                ++gap;
        runs.push_back({y, left, right});
    }
    return runs;
}

/// The line through two of the points that most points lie within `tolerance` px of, its slope within limits.
std::optional<SideLine> agreedLine(const std::vector<cv::Point2d>& points, double low, double high,
                                   double tolerance, double* agreed)
{
    SideLine best;
    int best_count = 0;
    const size_t stride = std::max<size_t>(1, points.size() / 60);
    for (size_t i = 0; i < points.size(); i += stride)
        for (size_t j = i + 10 * stride; j < points.size(); j += stride) {
            const double slope = (points[j].x - points[i].x) / (points[j].y - points[i].y);
            if (slope < low || slope > high) continue;
            const SideLine line{points[i].x, slope, points[i].y};
            const auto near = [&](const cv::Point2d& p) {
                return std::abs(p.x - line.xAt(p.y)) <= tolerance;
            };
            const int count = static_cast<int>(std::count_if(points.begin(), points.end(), near));
            if (count > best_count) best_count = count, best = line;
        }
    *agreed = points.empty() ? 0 : static_cast<double>(best_count) / points.size();
    if (!best_count) return std::nullopt;
    return best;
}

double sampled(const cv::Mat& band, int row, double x)
{
    const double clamped = std::clamp(x, 0.0, band.cols - 1.001);
    const int column = static_cast<int>(clamped);
    const double part = clamped - column;
    const float* p = band.ptr<float>(row);
    return p[column] * (1 - part) + p[column + 1] * part;
}

/// Contrast at each pixel of a band less the mean contrast 4 to 16 px further out, where a side's
/// surroundings are calm. Left as it is where the band ends: no side is looked for there.
cv::Mat againstOutside(const SideBand& band)
{
    const int outward = band.is_left ? -1 : 1;
    cv::Mat result = band.contrast.clone();
    const cv::Rect inner(16, 0, band.contrast.cols - 32, band.contrast.rows);
    if (inner.width <= 0) return result;
    cv::Mat outside = cv::Mat::zeros(inner.size(), CV_32F);
    for (int d = 4; d <= 16; d += 2) outside += band.contrast(inner + cv::Point(outward * d, 0));
    result(inner) -= outside / 7;
    return result;
}

/// Evidence for the line that leaves the band's middle by `at_top` and `at_bottom` px.
double evidenceFor(const cv::Mat& against_outside, int half, double at_top, double at_bottom)
{
    double sum = 0;
    int rows = 0;
    for (int row = 0; row < against_outside.rows; row += 4, ++rows)
        sum +=
            sampled(against_outside, row, half + at_top + (at_bottom - at_top) * row / against_outside.rows);
    return rows ? sum / rows : 0;
}

}  // namespace

std::optional<Outline> coarseOutline(const cv::Mat& medium_probability)
{
    cv::Mat smooth, block;
    cv::GaussianBlur(medium_probability, smooth, {}, 1.5);
    block = smooth > 0.5;
    // The stem and bright rims are thinner than any tub.
    cv::morphologyEx(block, block, cv::MORPH_OPEN, cv::getStructuringElement(cv::MORPH_ELLIPSE, {21, 21}));
    block = largestPart(block);
    if (block.empty()) return std::nullopt;

    // Clutter on one side pulls the centre of area; the middle of the lower rows is steadier.
    const cv::Rect box = cv::boundingRect(block);
    const int head = box.y, foot = box.y + box.height - 1;
    std::vector<int> columns;
    for (int y = foot - (foot - head) / 3; y <= foot; ++y)
        for (int x = 0; x < block.cols; ++x)
            if (block.at<uchar>(y, x)) columns.push_back(x);
    std::nth_element(columns.begin(), columns.begin() + static_cast<long>(columns.size() / 2), columns.end());
    const int axis = columns[columns.size() / 2];

    const std::vector<RowRun> runs = runsAcross(block, axis);
    if (runs.size() < 40) return std::nullopt;
    const int bottom = runs.back().y;
    const double height = bottom - runs.front().y;
    std::vector<cv::Point2d> left, right;
    for (const RowRun& run : runs) {
        if (run.y > bottom - 0.15 * height || run.y < bottom - 0.8 * height) continue;
        left.emplace_back(run.left, run.y);
        right.emplace_back(run.right, run.y);
    }
    Outline outline;
    const auto at_edge = [&](const RowRun& run) { return run.left <= 1 || run.right >= block.cols - 2; };
    outline.cut_off =
        std::count_if(runs.begin(), runs.end(), at_edge) > 0.3 * static_cast<double>(runs.size()) ||
        bottom >= block.rows - 3;
    double left_agreed = 0, right_agreed = 0;
    const auto left_line = agreedLine(left, -0.1, 0.45, 2.5, &left_agreed);
    const auto right_line = agreedLine(right, -0.45, 0.1, 2.5, &right_agreed);
    if (!left_line || !right_line || left_agreed < 0.25 || right_agreed < 0.25) return std::nullopt;
    outline.left = *left_line;
    outline.right = *right_line;
    outline.bottom = bottom;
    // Going up, the medium ends where less than half of the width between the sides shows it.
    outline.top = runs.front().y;
    for (int y = static_cast<int>(bottom - 0.3 * height); y >= 0; --y) {
        const int from = std::clamp(static_cast<int>(outline.left.xAt(y)), 0, block.cols - 1);
        const int to = std::clamp(static_cast<int>(outline.right.xAt(y)), from + 1, block.cols);
        if (cv::mean(smooth(cv::Rect(from, y, to - from, 1)))[0] >= 0.55) continue;
        outline.top = y + 1;
        break;
    }
    if (outline.width() < 40 || outline.right.slope > outline.left.slope) return std::nullopt;
    return outline;
}

Outline scaledOutline(const Outline& outline, double factor)
{
    // Pixel centres: position p of the small picture is (p + 0.5) * factor - 0.5 of the large one.
    const auto grown = [&](double p) { return (p + 0.5) * factor - 0.5; };
    Outline result = outline;
    for (SideLine* line : {&result.left, &result.right})
        *line = {grown(line->at), line->slope, grown(line->y0)};
    result.top = grown(outline.top);
    result.bottom = grown(outline.bottom);
    return result;
}

SideBand bandAlong(const cv::Mat& lab, const SideLine& line, double top, double bottom, int half,
                   bool is_left)
{
    SideBand band{{}, line, std::ceil(top), half, is_left};
    const int rows = std::max(1, static_cast<int>(bottom - band.top));
    cv::Mat map_x(rows, 2 * half + 1, CV_32F), map_y(rows, 2 * half + 1, CV_32F);
    for (int i = 0; i < rows; ++i)
        for (int j = 0; j <= 2 * half; ++j) {
            map_x.at<float>(i, j) = static_cast<float>(line.xAt(band.top + i) + j - half);
            map_y.at<float>(i, j) = static_cast<float>(band.top + i);
        }
    cv::Mat straight, dx;
    cv::remap(lab, straight, map_x, map_y, cv::INTER_LINEAR, cv::BORDER_REPLICATE);
    cv::GaussianBlur(straight, straight, {}, 1.0, 10.0);
    cv::Sobel(straight, dx, CV_32F, 1, 0, 1, 0.5);
    std::vector<cv::Mat> planes;
    cv::split(dx, planes);
    cv::sqrt(planes[0].mul(planes[0]) + planes[1].mul(planes[1]) + planes[2].mul(planes[2]), band.contrast);
    band.contrast = cv::min(band.contrast, 1.0);
    return band;
}

std::vector<Side> bestSides(const SideBand& band, double reach, size_t most)
{
    struct Ends {
        double top, bottom, evidence;
    };
    const auto better = [](const Ends& a, const Ends& b) { return a.evidence > b.evidence; };
    const cv::Mat standing_out = againstOutside(band);
    std::vector<Ends> tried;
    const std::vector<double> steps = stepsAcross(reach, 3);
    for (const double t : steps)
        for (const double b : steps) tried.push_back({t, b, evidenceFor(standing_out, band.half, t, b)});
    std::stable_sort(tried.begin(), tried.end(), better);

    std::vector<Ends> kept;
    for (const Ends& e : tried) {
        if (kept.size() == most) break;
        const auto alike = [&](const Ends& k) {
            return std::abs(k.top - e.top) + std::abs(k.bottom - e.bottom) < 16;
        };
        if (std::none_of(kept.begin(), kept.end(), alike)) kept.push_back(e);
    }
    std::vector<Side> sides;
    for (Ends& best : kept) {
        for (const double step : {1.5, 0.75, 0.35}) {
            const Ends centre = best;
            for (int i = -2; i <= 2; ++i)
                for (int j = -2; j <= 2; ++j) {
                    const double t = centre.top + i * step, b = centre.bottom + j * step;
                    const double evidence = evidenceFor(standing_out, band.half, t, b);
                    if (evidence > best.evidence) best = {t, b, evidence};
                }
        }
        sides.push_back({{band.line.xAt(band.top) + best.top,
                          band.line.slope + (best.bottom - best.top) / band.contrast.rows, band.top},
                         best.evidence});
    }
    return sides;
}

std::pair<Side, Side> matchedSides(const std::vector<Side>& left, const std::vector<Side>& right)
{
    std::pair<Side, Side> best;
    double best_score = -1e9;
    for (const Side& l : left)
        for (const Side& r : right) {
            const double lean = (l.line.slope + r.line.slope) / 2, taper = (l.line.slope - r.line.slope) / 2;
            const double score =
                l.evidence + r.evidence - std::pow(lean / 0.2, 2) - std::pow((taper - 0.1) / 0.2, 2);
            if (score > best_score) best_score = score, best = {l, r};
        }
    return best;
}

std::vector<cv::Point2d> sidePoints(const SideBand& band, const SideLine& line, double reach)
{
    std::vector<cv::Point2d> points;
    const std::vector<double> steps = stepsAcross(reach, 0.25);
    for (int row = 0; row < band.contrast.rows; row += 6) {
        const double y = band.top + row, middle = line.xAt(y) - band.line.xAt(y) + band.half;
        double weight = 0, at = 0;
        for (const double d : steps) {
            const double value = std::pow(sampled(band.contrast, row, middle + d), 2);
            weight += value;
            at += value * d;
        }
        if (weight > 1e-3) points.emplace_back(line.xAt(y) + at / weight, y);
    }
    return points;
}

}  // namespace slipglass
