#include "level_profile.h"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <opencv2/imgproc.hpp>

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
double between(const cv::Mat& plane, int column, double row)
{
    const double at = std::clamp(row, 0.0, plane.rows - 1.0);
    const int low = std::min(static_cast<int>(at), plane.rows - 2);
    const double up = at - low;
    return (1 - up) * plane.at<float>(low, column) + up * plane.at<float>(low + 1, column);
}

/// What each column says of a surface through a place of it, tabulated: every level is tried at 119 tilts.
class Said {
public:
    /// @param most_aside  how many rows a tilted plane may lie above or below its level.
    Said(const Columns& columns, double most_aside) : beyond_(static_cast<int>(std::ceil(most_aside)) + 1)
    {
        const double reach = kReachMm / columns.cell;
        const int count = static_cast<int>(columns.x.size());
        support_.create(count, kFine * (columns.below.rows + 2 * beyond_), CV_32F);
        dry_deep_.create(support_.size(), CV_32F);
        for (int k = 0; k < count; ++k)
            for (int i = 0; i < support_.cols; ++i) {
                const double row = static_cast<double>(i) / kFine - beyond_;
                const double deep = row > reach ? between(columns.dry, k, row - reach) : 0;
                support_.at<float>(k, i) =
                    static_cast<float>(between(columns.below, k, row) + between(columns.line, k, row - 0.5) -
                                       (1 - kDeepShare) * deep);
                dry_deep_.at<float>(k, i) = static_cast<float>(deep);
            }
    }
    static constexpr int kFine = 8;  ///< places a row of cells
    double placeOf(double row) const { return (row + beyond_) * kFine; }
    /// Sums over the columns, each at a place of its own.
    double support(const std::vector<float>& places) const { return sum(support_, places); }
    double dryDeep(const std::vector<float>& places) const { return sum(dry_deep_, places); }

private:
    static double sum(const cv::Mat& table, const std::vector<float>& places)
    {
        float sum = 0;
        for (size_t k = 0; k < places.size(); ++k) {
            const int low = static_cast<int>(places[k]);
            const float* near = table.ptr<float>(static_cast<int>(k)) + low;
            sum += near[0] + (places[k] - static_cast<float>(low)) * (near[1] - near[0]);
        }
        return sum;
    }

    int beyond_;
    cv::Mat support_, dry_deep_;  // CV_32F, a row each column of the wall
};

LevelSupport bestPlane(const Columns& columns, const Said& said, double level, double radius)
{
    LevelSupport best{level, {}, -1e9, -1e9};
    const auto from = static_cast<float>(said.placeOf((level - columns.lowest) / columns.cell));
    std::vector<float> right, near, places(columns.x.size());
    for (const double x : columns.x) {
        right.push_back(static_cast<float>(Said::kFine * radius * std::sin(x / radius) / columns.cell));
        near.push_back(static_cast<float>(Said::kFine * radius * (std::cos(x / radius) - 1) / columns.cell));
    }
    const auto tiltBy = [&](const Tilt& tilt) {
        const auto aside = static_cast<float>(tilt.right), towards = static_cast<float>(tilt.near);
        for (size_t k = 0; k < places.size(); ++k) places[k] = from + aside * right[k] + towards * near[k];
    };
    for (int i = -kNearSteps; i <= kNearSteps; ++i)
        for (int j = -kRightSteps; j <= kRightSteps; ++j) {
            const Tilt tilt{j * kRightStep, i * kNearStep};
            tiltBy(tilt);
            const double unusual =
                std::pow(tilt.right / kUsualRight, 2) + std::pow(tilt.near / kUsualNear, 2);
            const double support = said.support(places) / columns.weight - unusual / 2 / kIndependent;
            if (support > best.support) best = {level, tilt, support, support};
        }
    tiltBy(best.tilt);
    best.from_near -= kDeepShare * said.dryDeep(places) / columns.weight;
    return best;
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
    const int steps = static_cast<int>((top - kBaseMm) / kStepMm);
    constexpr double kMostTilt = kRightSteps * kRightStep + 2 * kNearSteps * kNearStep;
    const Said said(columns, kMostTilt * panel.inner.cone.radiusAt(top) / columns.cell);
    for (int i = 0; i <= steps; ++i) {
        const double level = kBaseMm + i * kStepMm;
        profile.heights.push_back(bestPlane(columns, said, level, panel.inner.cone.radiusAt(level)));
    }
    return profile;
}

}  // namespace slipglass
