#include "slipglass/water/fog.h"

#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>

#include "slipglass/panel/colour.h"
#include "slipglass/panel/in_mask.h"
#include "wall_light.h"

namespace slipglass {

namespace {

/// Spread of luminance round each place, over grains. In luminance, not L*: a mirrored window adds its light
/// to that of every grain alike and leaves the spread as it is, where fog scatters the grains' own light and
/// flattens it.
cv::Mat spreadOfLight(const cv::Mat& light, double window_places)
{
    const cv::Mat off = light - smoothedWidely(light, window_places);
    cv::Mat spread = smoothedWidely(off.mul(off), window_places);
    cv::sqrt(spread, spread);
    return spread;
}

/// For each column of places, a quantile over the columns within 6 mm of it; nothing where too little of
/// them is to be seen.
std::vector<std::optional<double>> columnQuantiles(const cv::Mat& places, const cv::Mat& mask, int reach,
                                                   double share)
{
    std::vector<std::optional<double>> usual(static_cast<size_t>(places.cols));
    constexpr int kStep = 4;  // of columns that are told together
    for (int from = 0; from < places.cols; from += kStep) {
        const cv::Range columns(std::max(0, from - reach), std::min(places.cols, from + kStep + reach));
        const auto value = quantile(valuesIn(places.colRange(columns), mask.colRange(columns), 2), share);
        for (int x = from; x < std::min(places.cols, from + kStep); ++x)
            usual[static_cast<size_t>(x)] = value;
    }
    return usual;
}

/// The darkest pixel of each place.
cv::Mat darkestOf(const cv::Mat& plane)
{
    cv::Mat out(plane.rows / kPlacePx, plane.cols / kPlacePx, CV_32F);
    std::vector<float> columns(static_cast<size_t>(plane.cols));
    for (int y = 0; y < out.rows; ++y) {
        const float *a = plane.ptr<float>(kPlacePx * y), *b = plane.ptr<float>(kPlacePx * y + 1),
                    *c = plane.ptr<float>(kPlacePx * y + 2);
        for (size_t x = 0; x < columns.size(); ++x) columns[x] = std::min(a[x], std::min(b[x], c[x]));
        const float* from = columns.data();
        for (int x = 0; x < out.cols; ++x, from += kPlacePx)
            out.at<float>(y, x) = std::min(from[0], std::min(from[1], from[2]));
    }
    return out;
}

}  // namespace

/// A veil lifts the darkest pores of a neighbourhood and flattens what is around them. A grain is lighter
/// than its pores too, so a neighbourhood is larger than any grain (perlite: up to 5 mm). Each place is
/// judged by the rest of its own column, which is seen at the same slant under the same light: towards the
/// sides the plastic mirrors more and shade lies, which is no fog. What is far brighter than fog is a
/// mirrored lamp.
cv::Mat veilByColumns(const cv::Mat& lightness, const Panel& panel)
{
    const double px = kPlacePx * panel.unit_per_px, window = 3 / px;
    const int reach = static_cast<int>(6 / px);
    cv::Mat inside = lightness.clone();
    inside.setTo(200, panel.visible == 0);  // label and glare are nobody's pores
    cv::Mat darkest = darkestOf(inside);
    cv::erode(darkest, darkest, cv::getStructuringElement(cv::MORPH_RECT, {reach, reach}));
    darkest = smoothedWidely(cv::min(darkest, 100.0), window);
    const cv::Mat spread = spreadOfLight(luminanceOf(middles(lightness)), window);
    const cv::Mat frontal = middles(panel.frontal);
    const auto usual_dark = columnQuantiles(darkest, frontal, reach, 0.3),
               usual_spread = columnQuantiles(spread, frontal, reach, 0.6);
    cv::Mat veil = cv::Mat::zeros(darkest.size(), CV_8U);
    bool judged = false;
    for (int y = 0; y < darkest.rows; ++y)
        for (int x = 0; x < darkest.cols; ++x) {
            const auto &dark = usual_dark[static_cast<size_t>(x)],
                       &flat = usual_spread[static_cast<size_t>(x)];
            if (!frontal.at<uchar>(y, x) || !dark || !flat) continue;
            judged = true;
            const double lifted = darkest.at<float>(y, x) - *dark;
            if (lifted > 8 && lifted < 45 && spread.at<float>(y, x) < 0.6 * *flat) veil.at<uchar>(y, x) = 255;
        }
    return judged ? veil : cv::Mat();
}

namespace {

/// Side of a place, mm: some grains wide, so that their spread is known, and much less than a wall.
constexpr double kPlaceMm = 8;
/// Sums over a place.
struct Sums {
    int points = 0;
    double light = 0, off = 0, off_squared = 0;
};

std::optional<GrainLight> grainLight(const Sums& sums, double place_px)
{
    if (2 * sums.points < std::pow(place_px / kPlacePx, 2)) return std::nullopt;
    const double n = sums.points, mean_off = sums.off / n;
    const double spread = std::sqrt(std::max(0.0, sums.off_squared / n - mean_off * mean_off));
    return GrainLight{sums.light / n, spread};
}

}  // namespace

WallFog fogOnReference(const cv::Mat& lightness, const Panel& panel, const cv::Mat& veil,
                       const cv::Mat& roots, std::optional<double> water_level, std::optional<double> white,
                       const Drift& to_reference, cv::Size reference)
{
    const int place_px = static_cast<int>(kPlaceMm / panel.unit_per_px);
    WallFog fog{reference.width / place_px + 1, {}};
    const int rows = reference.height / place_px + 1;
    fog.places.resize(static_cast<size_t>(fog.columns) * static_cast<size_t>(rows));
    const cv::Mat light = grainWise(luminanceOf(lightness), panel.unit_per_px);
    const cv::Mat off = light - smoothedWidely(light, 3 / (kPlacePx * panel.unit_per_px));
    const cv::Mat frontal = middles(panel.frontal);
    const cv::Mat near_root = dilated(roots, 4);  // and what it shades
    const cv::Mat medium = middles(aboveWater(panel, water_level) & ~near_root);

    std::vector<Sums> sums(fog.places.size());
    for (int y = 0; y < light.rows; ++y)
        for (int x = 0; x < light.cols; ++x) {
            if (!frontal.at<uchar>(y, x)) continue;
            const double px = middleOf(x), py = middleOf(y);
            const cv::Point2d moved = to_reference.at(px, py);
            const int column = std::clamp(static_cast<int>((px + moved.x) / place_px), 0, fog.columns - 1),
                      row = std::clamp(static_cast<int>((py + moved.y) / place_px), 0, rows - 1);
            const size_t at = fog.at(column, row);
            ++fog.places[at].seen;
            fog.places[at].veiled += !veil.empty() && veil.at<uchar>(y, x);
            if (!medium.at<uchar>(y, x)) continue;
            const double here = off.at<float>(y, x);
            ++sums[at].points;
            sums[at].light += light.at<float>(y, x);
            sums[at].off += here;
            sums[at].off_squared += here * here;
        }
    if (!white || *white <= 5) return fog;  // too dark to compare anything with
    const double all = luminance(*white);
    for (size_t i = 0; i < sums.size(); ++i)
        if (auto grains = grainLight(sums[i], place_px))
            fog.places[i].grains = GrainLight{grains->mean / all, grains->spread / all};
    return fog;
}

namespace {

/// A place's grains now, over what they are when the wall is clear.
struct OverClear {
    double contrast, spread;
};

/// The other photos' grains at a place stand for a clear wall: the clearer of two, the second clearest of
/// four or five. The very clearest would be the one on which the rim of a window crosses the place.
std::optional<OverClear> overClear(const std::vector<WallFog>& photos, size_t now, size_t place)
{
    const auto grainsOn = [&](size_t photo) -> std::optional<GrainLight> {
        const auto& places = photos[photo].places;
        if (photos[photo].columns != photos[now].columns || place >= places.size()) return std::nullopt;
        const auto& grains = places[place].grains;
        return grains && grains->mean > 0 && grains->spread > 0 ? grains : std::nullopt;
    };
    const auto today = grainsOn(now);
    if (!today) return std::nullopt;
    std::vector<GrainLight> others;
    for (size_t i = 0; i < photos.size(); ++i)
        if (const auto grains = grainsOn(i); grains && i != now) others.push_back(*grains);
    if (others.empty()) return std::nullopt;
    std::sort(others.begin(), others.end(),
              [](const GrainLight& a, const GrainLight& b) { return a.contrast() < b.contrast(); });
    const GrainLight& clear =
        others[static_cast<size_t>(std::lround(0.75 * static_cast<double>(others.size() - 1)))];
    return OverClear{today->contrast() / clear.contrast(), today->spread / clear.spread};
}

/// Fog is wider than a place: the median over it and its neighbours, which also tell for a place half under
/// the label or in water.
std::optional<OverClear> smoothed(const std::vector<std::optional<OverClear>>& places, const WallFog& fog,
                                  int column, int row)
{
    std::vector<float> contrast, spread;
    const int rows = fog.rows();
    for (int y = std::max(0, row - 1); y < std::min(rows, row + 2); ++y)
        for (int x = std::max(0, column - 1); x < std::min(fog.columns, column + 2); ++x)
            if (const auto& place = places[fog.at(x, y)]) {
                contrast.push_back(static_cast<float>(place->contrast));
                spread.push_back(static_cast<float>(place->spread));
            }
    if (contrast.empty()) return std::nullopt;
    return OverClear{*medianOf(contrast), *medianOf(spread)};
}

std::optional<double> condensationOn(const std::vector<WallFog>& photos, size_t now)
{
    const WallFog& fog = photos[now];
    std::vector<std::optional<OverClear>> places;
    for (size_t i = 0; i < fog.places.size(); ++i) places.push_back(overClear(photos, now, i));
    double seen = 0, fogged = 0;
    for (int row = 0; row < fog.rows(); ++row)
        for (int column = 0; column < fog.columns; ++column) {
            const FogPlace& place = fog.places[fog.at(column, row)];
            const auto over = smoothed(places, fog, column, row);
            const bool lost = over && over->contrast < 0.5 && over->spread < 0.65;
            seen += place.seen;
            fogged += lost ? place.seen : place.veiled;
        }
    if (seen == 0) return std::nullopt;
    return 100 * fogged / seen;
}

}  // namespace

std::vector<std::optional<double>> condensationOf(const std::vector<WallFog>& photos)
{
    std::vector<std::optional<double>> shares;
    for (size_t i = 0; i < photos.size(); ++i) shares.push_back(condensationOn(photos, i));
    return shares;
}

}  // namespace slipglass
