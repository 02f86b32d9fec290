#include "slipglass/panel/align.h"

#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>
#include <vector>

#include "between_nodes.h"
#include "grain_patches.h"

namespace slipglass {

namespace {

std::array<double, 6> driftTerms(double u, double v)
{
    return {1, u, v, u * u, u * v, v * v};
}

Drift fitDrift(const std::vector<Patch>& patches, const std::vector<double>& weights, cv::Size size)
{
    cv::Mat a(static_cast<int>(patches.size()) + 3, 6, CV_64F, cv::Scalar(0));
    cv::Mat bx(a.rows, 1, CV_64F, cv::Scalar(0)), by(a.rows, 1, CV_64F, cv::Scalar(0));
    for (int i = 0; i < static_cast<int>(patches.size()); ++i) {
        const Patch& p = patches[static_cast<size_t>(i)];
        const double w = weights[static_cast<size_t>(i)];
        const auto t = driftTerms(p.x / size.width - 0.5, p.y / size.height - 0.5);
        for (int k = 0; k < 6; ++k) a.at<double>(i, k) = w * t[static_cast<size_t>(k)];
        bx.at<double>(i) = w * p.dx;
        by.at<double>(i) = w * p.dy;
    }
    // Curvature only where patches ask for it.
    for (int k = 0; k < 3; ++k) a.at<double>(a.rows - 3 + k, 3 + k) = 0.3;
    Drift drift{size, {}, {}};
    cv::Mat x, y;
    cv::solve(a, bx, x, cv::DECOMP_CHOLESKY | cv::DECOMP_NORMAL);
    cv::solve(a, by, y, cv::DECOMP_CHOLESKY | cv::DECOMP_NORMAL);
    std::copy_n(x.ptr<double>(), 6, drift.x.begin());
    std::copy_n(y.ptr<double>(), 6, drift.y.begin());
    return drift;
}

/// Whole-panel shift by correlation at a quarter of the size: turn within limits, height within a few mm.
cv::Point2d coarseShift(const Panel& today, const Grains& now, const Grains& then, double most_turn_deg,
                        cv::Point2d base_shift)
{
    const double scale = now.scale;
    cv::Mat detail, before;
    now.detail.convertTo(detail, CV_32F);
    then.detail.convertTo(before, CV_32F);
    detail.setTo(0, now.frontal == 0);
    before.setTo(0, then.visible == 0);
    const int turn = static_cast<int>(most_turn_deg * CV_PI / 180 * today.inner.cone.radiusAt(today.top / 2) /
                                      today.unit_per_px * scale);
    const int lift = static_cast<int>(5 / today.unit_per_px * scale);
    cv::Mat padded, map;
    const int pad_x = turn + detail.cols, pad_y = lift + detail.rows;
    cv::copyMakeBorder(before, padded, pad_y, pad_y, pad_x, pad_x, cv::BORDER_CONSTANT, 0);
    const cv::Point origin(pad_x + cvRound(base_shift.x * scale) - turn,
                           pad_y + cvRound(base_shift.y * scale) - lift);
    const cv::Rect window(origin, cv::Size(detail.cols + 2 * turn, detail.rows + 2 * lift));
    cv::matchTemplate(padded(window & cv::Rect({}, padded.size())), detail, map, cv::TM_CCORR);
    cv::Point at;
    cv::minMaxLoc(map, nullptr, nullptr, nullptr, &at);
    return {base_shift.x + (at.x - turn) / scale, base_shift.y + (at.y - lift) / scale};
}

struct Agreement {
    Drift drift;
    double score = 0, agreed = 0;
};

/// Drift that most patches agree on: reweighted least squares, patches far off the rest drop out.
Agreement agreeOn(const std::vector<Patch>& patches, cv::Size size, double tolerance_px)
{
    Agreement result;
    result.drift.size = size;
    if (patches.size() < 12) return result;
    std::vector<double> weights;
    weights.reserve(patches.size());
    for (const Patch& p : patches) weights.push_back(std::max(0.0, p.score));
    for (int pass = 0; pass < 8; ++pass) {
        result.drift = fitDrift(patches, weights, size);
        for (size_t i = 0; i < patches.size(); ++i) {
            const Patch& p = patches[i];
            const cv::Point2d d = result.drift.at(p.x, p.y);
            const double off = std::hypot(p.dx - d.x, p.dy - d.y) / tolerance_px;
            weights[i] = std::max(0.0, p.score) / (1 + off * off);
        }
    }
    std::vector<double> scores;
    for (const Patch& p : patches) {
        const cv::Point2d d = result.drift.at(p.x, p.y);
        if (std::hypot(p.dx - d.x, p.dy - d.y) < 2 * tolerance_px) scores.push_back(p.score);
    }
    result.agreed = static_cast<double>(scores.size()) / static_cast<double>(patches.size());
    if (scores.size() >= 8) {
        std::nth_element(scores.begin(), scores.begin() + static_cast<long>(scores.size() / 2), scores.end());
        result.score = scores[scores.size() / 2];
    }
    return result;
}

/// Maps of a way that is all but a shift.
template <class PlaceAt>
void mapAlong(cv::Size size, const PlaceAt& placeAt, cv::Mat& map_x, cv::Mat& map_y)
{
    constexpr int kApart = 16;
    const auto nodes = [&](int row) {
        std::vector<cv::Point2f> places;
        const int count = nodesFor(size.width, kApart);
        places.reserve(static_cast<size_t>(count));
        for (int i = 0; i < count; ++i) places.emplace_back(placeAt(cv::Point2d(i * kApart, row)));
        return places;
    };
    mapBetween(size, kApart, nodes, map_x, map_y);
}

}  // namespace

cv::Point2d Drift::at(double x_px, double y_px) const
{
    const auto t = driftTerms(x_px / size.width - 0.5, y_px / size.height - 0.5);
    cv::Point2d sum{0, 0};
    for (size_t i = 0; i < t.size(); ++i) {
        sum.x += x[i] * t[i];
        sum.y += y[i] * t[i];
    }
    return sum;
}

cv::Point2d Drift::pixelAt(cv::Point2d place) const
{
    // The drift changes slowly, so that taking it off at the last guess soon settles.
    cv::Point2d pixel(place.x - x[0], place.y - y[0]);
    for (int i = 0; i < 4; ++i) pixel = place - at(pixel.x, pixel.y);
    return pixel;
}

void Drift::maps(cv::Mat& map_x, cv::Mat& map_y) const
{
    mapAlong(
        size, [&](cv::Point2d pixel) { return pixel + at(pixel.x, pixel.y); }, map_x, map_y);
}

void Drift::mapsBack(cv::Size other, cv::Mat& map_x, cv::Mat& map_y) const
{
    mapAlong(
        other, [&](cv::Point2d place) { return pixelAt(place); }, map_x, map_y);
}

Drift chained(const Drift& first, const Drift& then)
{
    // Both are all but shifts, so that a quadratic says what the two do together.
    constexpr int kSteps = 8;
    std::vector<Patch> places;
    for (int row = 0; row <= kSteps; ++row)
        for (int column = 0; column <= kSteps; ++column) {
            const double x = first.size.width * column / double{kSteps},
                         y = first.size.height * row / double{kSteps};
            const cv::Point2d once = first.at(x, y), twice = then.at(x + once.x, y + once.y);
            places.push_back({x, y, once.x + twice.x, once.y + twice.y, 1});
        }
    return fitDrift(places, std::vector<double>(places.size(), 1e3),
                    first.size);  // curvature is no doubt here
}

void mapsThrough(const Drift& one, const Drift& other, cv::Mat& map_x, cv::Mat& map_y)
{
    const auto through = [&](cv::Point2d pixel) { return other.pixelAt(pixel + one.at(pixel.x, pixel.y)); };
    mapAlong(one.size, through, map_x, map_y);
}

cv::Mat Alignment::warped(const cv::Mat& earlier) const
{
    cv::Mat result;
    cv::remap(earlier, result, map_x, map_y, earlier.channels() == 1 ? cv::INTER_NEAREST : cv::INTER_LINEAR,
              cv::BORDER_CONSTANT, 0);
    return result;
}

Alignment alignTo(const Panel& today, const Panel& earlier, double most_turn_deg)
{
    if (today.unit_per_px != earlier.unit_per_px || today.in_mm != earlier.in_mm) return {};
    // Same height, same distance from the middle: where the pixel would lie had nothing moved. Heights that
    // are guessed are counted from the medium's surface, near which a panel ends.
    const bool heights = today.base_known && earlier.base_known;
    const cv::Point2d nothing_moved(earlier.middleColumn() - today.middleColumn(),
                                    heights ? (earlier.top - today.top) / today.unit_per_px : 0);
    const PanelGrains now(today), before(earlier);
    const cv::Point2d shift = coarseShift(today, now.quarter, before.quarter, most_turn_deg, nothing_moved);
    const cv::Size size = today.bgr.size();
    Drift drift{size, {shift.x}, {shift.y}};
    Alignment result;
    // A wide search costs most: some patches tell where to look for all of them.
    constexpr size_t kEnough = 40;
    const auto widely = [&](int apart) {
        return matchPatches(now.quarter, before.quarter, drift, 16, apart);
    };
    std::vector<Patch> patches = widely(2);
    if (patches.size() < kEnough) patches = widely(1);
    Agreement found = agreeOn(patches, size, 4);
    if (found.agreed > 0.25) found = agreeOn(matchPatches(now.half, before.half, found.drift, 6, 1), size, 2);
    result.score = found.score;
    result.agreed = found.agreed;
    result.good = found.score > 0.35 && found.agreed > 0.4;
    result.drift = found.drift;
    const cv::Point2d middle = found.drift.at(size.width / 2.0, size.height / 2.0);
    result.turn = (middle.x - nothing_moved.x) * today.unit_per_px;
    found.drift.maps(result.map_x, result.map_y);
    return result;
}

}  // namespace slipglass
