#include "level_profile.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>
#include <opencv2/core/hal/intrin.hpp>
#include <opencv2/imgproc.hpp>
#include <utility>

namespace slipglass {

namespace {

/// Beyond it the plastic mirrors more than it shows.
constexpr double kSeenDeg = 70;
/// A column whose lowest visible place is higher shows no foot: there floor and heel begin.
constexpr double kFootMm = 3;
/// Below it shows the base, not what stands on it.
constexpr double kBaseMm = 0.5;
/// What one cell may say, log-odds: the network is often surer than it is right.
constexpr double kMostBelow = 3, kMostLine = 2.2;
/// The line is thinner than a cell: on it the network says 0.2 to 0.5.
constexpr double kLineFrom = -1.5;
/// What the network takes for dry further down than this counts little: it judges by the surface, which it
/// hardly sees from there, and may take a wet wall for a dry one. Measured on drawn walls of 3 to 90 mm of
/// water; on renderings (to 26 mm) 3 to 15 mm do alike.
constexpr double kReachMm = 5, kDeepShare = 0.1;
constexpr double kStepMm = 0.15;
/// Levels tried side by side: so many that the wall widens by a fifth of a mm.
constexpr int kSideBySide = 16;
/// Tilts tried, mm per mm: of a pose, a table or a phone that are off by a degree or two, now and then more.
constexpr double kRightStep = 0.01, kNearStep = 0.02;
constexpr int kRightSteps = 8, kNearSteps = 3;  // either way
constexpr double kUsualRight = 0.02, kUsualNear = 0.03;
/// How many columns of the wall tell something of their own: support is a mean of them. Guess.
constexpr double kIndependent = 10;
/// Cells side by side that are looked at as one.
constexpr int kTogether = 4;

/// Columns of the wall, some cells wide; rows of cells counted from the foot up.
struct Columns {
    std::vector<double> x;  ///< round the wall
    cv::Mat below;          ///< CV_32F, a column each: log-odds of all cells under a row's lower edge
    cv::Mat dry;            ///< the same of those cells alone that are rather dry
    cv::Mat line;           ///< CV_32F, the same size less a row
    double lowest = 0, cell = 1;
    double weight = 0;  ///< of the row near the foot of which most is seen
    double foot_seen = 0;
};

/// How much of the picture a place takes up, by the slant at which it is seen; 0 where that is too steep.
double facing(const Panel& panel, const View& view, double column, double y)
{
    const double angle = panel.pointAt(column, 0).x / panel.inner.cone.radiusAt(y);
    const double cosine = view.viewCosine({angle, y});
    return cosine < std::cos(kSeenDeg * CV_PI / 180) ? 0 : cosine;
}

/// How much each cell counts: the part of it that is seen, foreshortened as in the photo.
cv::Mat weightsOf(const Panel& panel, cv::Size cells)
{
    cv::Mat padded, weights;
    const int px = WaterEvidence::kPx;
    cv::copyMakeBorder(panel.visible, padded, 0, px * cells.height - panel.visible.rows, 0,
                       px * cells.width - panel.visible.cols, cv::BORDER_CONSTANT, 0);
    cv::resize(padded, weights, cells, 0, 0, cv::INTER_AREA);
    weights.convertTo(weights, CV_32F, 1.0 / 255);
    const View view(panel.inner);
    for (int r = 0; r < cells.height; ++r)
        for (int c = 0; c < cells.width; ++c) {
            auto& weight = weights.at<float>(r, c);
            const double y = panel.pointAt(0, (r + 0.5) * px - 0.5).y;
            if (weight > 0) weight *= static_cast<float>(facing(panel, view, (c + 0.5) * px - 0.5, y));
        }
    return weights;
}

/// The heel is no wall, but water shows behind it: there a column counts as much as right above.
/// @param foot_row, heel_row  of the lowest cells, and of those in which a column that shows its foot begins.
/// @return  share of the columns that face the camera at the foot and show it.
double reachTheFoot(cv::Mat& weights, int foot_row, int heel_row, const Panel& panel)
{
    const View view(panel.inner);
    double shown = 0, all = 0;
    for (int c = 0; c < weights.cols; ++c) {
        const double whole = facing(panel, view, (c + 0.5) * WaterEvidence::kPx - 0.5, kFootMm / 2);
        all += whole;
        double here = 0;
        cv::Point at;
        cv::minMaxLoc(weights.col(c).rowRange(heel_row, foot_row + 1), nullptr, &here, nullptr, &at);
        if (here < 0.5 * whole || whole == 0) continue;
        weights.col(c).rowRange(heel_row + at.y + 1, foot_row + 1).setTo(here);
        shown += whole;
    }
    return all > 0 ? shown / all : 0;
}

cv::Mat logOddsOf(const cv::Mat& probability, double least, double most)
{
    cv::Mat p, log_odds;
    const auto within = [](double logit) { return 1 / (1 + std::exp(-logit)); };
    cv::min(cv::max(probability, within(least)), within(most), p);
    cv::log(p / (1 - p), log_odds);
    return log_odds;
}

/// Sum over the cells of a row that are looked at as one.
double togetherIn(const cv::Mat& cells, int row, int column)
{
    const float* first = cells.ptr<float>(row) + column * kTogether;
    return std::accumulate(first, first + kTogether, 0.0);
}

Columns columnsOf(const Panel& panel, const WaterEvidence& evidence)
{
    const int px = WaterEvidence::kPx;
    Columns columns;
    columns.cell = px * panel.unit_per_px;
    cv::Mat weights = weightsOf(panel, evidence.below.size());
    const auto rowOf = [&](double y) { return static_cast<int>(std::floor(panel.rowAt(y) / px)); };
    const int foot_row = std::min(rowOf(kBaseMm), weights.rows - 1);
    const int heel_row = std::max(0, rowOf(kFootMm));
    columns.foot_seen = reachTheFoot(weights, foot_row, heel_row, panel);
    columns.lowest = panel.pointAt(0, (foot_row + 1) * px - 0.5).y;
    const cv::Mat below = logOddsOf(evidence.below, -kMostBelow, kMostBelow).mul(weights);
    const cv::Mat line = (logOddsOf(evidence.line, kLineFrom, kMostLine) - kLineFrom).mul(weights);

    const int count = weights.cols / kTogether;
    columns.below = cv::Mat::zeros(foot_row + 2, count, CV_32F);
    columns.dry = columns.below.clone();
    columns.line = cv::Mat::zeros(foot_row + 1, count, CV_32F);
    for (int i = 0; i <= foot_row; ++i) {
        const int r = foot_row - i;
        double weight = 0;
        for (int k = 0; k < count; ++k) {
            const auto here = static_cast<float>(togetherIn(below, r, k));
            columns.below.at<float>(i + 1, k) = columns.below.at<float>(i, k) + here;
            columns.dry.at<float>(i + 1, k) = columns.dry.at<float>(i, k) + std::min(0.0F, here);
            columns.line.at<float>(i, k) = static_cast<float>(togetherIn(line, r, k));
            weight += togetherIn(weights, r, k);
        }
        if (r >= heel_row) columns.weight = std::max(columns.weight, weight);
    }
    for (int k = 0; k < count; ++k) columns.x.push_back(panel.pointAt((k + 0.5) * kTogether * px - 0.5, 0).x);
    return columns;
}

/// Between the rows of a column; the ends held constant.
/// @param column  its values, from the foot up.
double between(const cv::Mat& column, double row)
{
    const double at = std::clamp(row, 0.0, column.cols - 1.0);
    const int low = std::min(static_cast<int>(at), column.cols - 2);
    const float* near = column.ptr<float>() + low;
    return near[0] + (at - low) * (near[1] - near[0]);
}

/// Of some levels, a step apart.
using SideBySide = std::array<float, kSideBySide>;

/// What each column says of a surface through a place of it, tabulated: every level is tried at 119 tilts.
/// Places are counted in kFine to a step of levels, so that those of some levels one above the other, at one
/// tilt, lie evenly in the table and can be added up side by side.
class Said {
public:
    static constexpr int kFine = 3;

    /// @param most_aside  how far a tilted plane may lie above or below its level, mm.
    /// @param most_above  how many steps above the lowest are asked for.
    Said(const Columns& columns, double most_aside, int most_above)
        : beyond_(static_cast<int>(std::ceil(most_aside / kStepMm)) + 1)
    {
        const double reach = kReachMm / columns.cell;
        const int count = static_cast<int>(columns.x.size()), steps = most_above + 2 * beyond_ + 1;
        const cv::Mat below = columns.below.t(), dry = columns.dry.t(), line = columns.line.t();
        for (int phase = 0; phase < kFine; ++phase) {
            cv::Mat& support = support_.at(static_cast<size_t>(phase));
            cv::Mat& dry_deep = dry_deep_.at(static_cast<size_t>(phase));
            support.create(count, steps, CV_32F);
            dry_deep.create(count, steps, CV_32F);
            for (int k = 0; k < count; ++k) {
                const cv::Mat below_k = below.row(k), dry_k = dry.row(k), line_k = line.row(k);
                for (int i = 0; i < steps; ++i) {
                    const double above = (i - beyond_ + static_cast<double>(phase) / kFine) * kStepMm;
                    const double row = above / columns.cell;
                    const double deep = row > reach ? between(dry_k, row - reach) : 0;
                    support.at<float>(k, i) = static_cast<float>(
                        between(below_k, row) + between(line_k, row - 0.5) - (1 - kDeepShare) * deep);
                    dry_deep.at<float>(k, i) = static_cast<float>(deep);
                }
            }
        }
    }
    /// Of a height above the lowest row, mm.
    double placeOf(double above) const { return (above / kStepMm + beyond_) * kFine; }
    /// Sums over the columns, each at a place of its own, for levels from that on, a step apart.
    SideBySide support(const std::vector<float>& places) const
    {
        constexpr int kLanes = 4;
        std::array<cv::v_float32x4, kSideBySide / kLanes> added;
        added.fill(cv::v_setzero_f32());
        for (size_t k = 0; k < places.size(); ++k) {
            const auto [low, up] = partsOf(places[k]);
            const float *here = from(support_, k, low), *next = from(support_, k, low + 1);
            for (size_t i = 0; i < added.size(); ++i, here += kLanes, next += kLanes) {
                const cv::v_float32x4 value = cv::v_load(here);
                added[i] += value + cv::v_setall_f32(up) * (cv::v_load(next) - value);
            }
        }
        SideBySide sums;
        for (size_t i = 0; i < added.size(); ++i) cv::v_store(&sums[i * kLanes], added[i]);
        return sums;
    }
    /// Of one of those levels alone.
    float dryDeep(const std::vector<float>& places, size_t level) const
    {
        float sum = 0;
        for (size_t k = 0; k < places.size(); ++k) {
            const auto [low, up] = partsOf(places[k]);
            const float here = from(dry_deep_, k, low)[level], next = from(dry_deep_, k, low + 1)[level];
            sum += here + up * (next - here);
        }
        return sum;
    }

private:
    using Tables = std::array<cv::Mat, kFine>;  // CV_32F, a row each column of the wall

    static const float* from(const Tables& tables, size_t column, int place)
    {
        return tables.at(static_cast<size_t>(place % kFine)).ptr<float>(static_cast<int>(column)) +
               place / kFine;
    }
    /// A place as the one below it, and how far up to the next.
    static std::pair<int, float> partsOf(float place)
    {
        const int low = static_cast<int>(place);
        return {low, place - static_cast<float>(low)};
    }

    int beyond_;
    Tables support_, dry_deep_;
};

/// The planes that fit best at some levels, a step apart, between which the wall hardly widens.
/// @param radius  of the wall there.
void addBestPlanes(std::vector<LevelSupport>& heights, const Columns& columns, const Said& said, double first,
                   int count, double radius)
{
    const auto from = static_cast<float>(said.placeOf(first - columns.lowest));
    const double place = said.placeOf(1) - said.placeOf(0);  // a mm
    std::vector<float> right, near, places(columns.x.size());
    for (const double x : columns.x) {
        right.push_back(static_cast<float>(place * radius * std::sin(x / radius)));
        near.push_back(static_cast<float>(place * radius * (std::cos(x / radius) - 1)));
    }
    const auto tiltBy = [&](const Tilt& tilt) {
        const auto aside = static_cast<float>(tilt.right), towards = static_cast<float>(tilt.near);
        for (size_t k = 0; k < places.size(); ++k) places[k] = from + aside * right[k] + towards * near[k];
    };
    std::vector<LevelSupport> best;
    best.reserve(static_cast<size_t>(count));
    for (int i = 0; i < count; ++i) best.push_back({first + i * kStepMm, {}, -1e9, -1e9});
    for (int i = -kNearSteps; i <= kNearSteps; ++i)
        for (int j = -kRightSteps; j <= kRightSteps; ++j) {
            const Tilt tilt{j * kRightStep, i * kNearStep};
            tiltBy(tilt);
            const SideBySide sums = said.support(places);
            const double unusual =
                std::pow(tilt.right / kUsualRight, 2) + std::pow(tilt.near / kUsualNear, 2);
            for (size_t k = 0; k < best.size(); ++k) {
                const double support = sums[k] / columns.weight - unusual / 2 / kIndependent;
                if (support > best[k].support) best[k] = {best[k].level, tilt, support, support};
            }
        }
    for (size_t k = 0; k < best.size(); ++k) {
        tiltBy(best[k].tilt);
        best[k].from_near -= kDeepShare * said.dryDeep(places, k) / columns.weight;
        heights.push_back(best[k]);
    }
}

}  // namespace

LevelProfile levelProfile(const Panel& panel, const WaterEvidence& evidence)
{
    LevelProfile profile;
    const Columns columns = columnsOf(panel, evidence);
    if (columns.weight <= 0) return profile;
    profile.foot_seen = columns.foot_seen;
    cv::Mat seen;
    cv::reduce(panel.visible, seen, 1, cv::REDUCE_MAX);
    int highest = 0;
    while (!seen.at<uchar>(highest)) ++highest;
    const double top = panel.pointAt(0, highest).y;
    profile.heights.push_back({});  // no water
    const int levels = std::max(0, static_cast<int>((top - kBaseMm) / kStepMm) + 1);
    constexpr double kMostTilt = kRightSteps * kRightStep + 2 * kNearSteps * kNearStep;
    const Cone& wall = panel.inner.cone;
    const Said said(columns, kMostTilt * wall.radiusAt(top),
                    static_cast<int>(std::ceil((top - columns.lowest) / kStepMm)) + kSideBySide);
    for (int i = 0; i < levels; i += kSideBySide) {
        const int count = std::min(kSideBySide, levels - i);
        const double first = kBaseMm + i * kStepMm;
        addBestPlanes(profile.heights, columns, said, first, count,
                      wall.radiusAt(first + (count - 1) * kStepMm / 2));
    }
    return profile;
}

}  // namespace slipglass
