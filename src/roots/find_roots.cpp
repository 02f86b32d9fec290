#include "slipglass/roots/find_roots.h"

#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>

#include "by_rules.h"
#include "root_net.h"
#include "slipglass/panel/in_mask.h"
#include "slipglass/roots/length.h"
#include "slipglass/roots/pieces.h"

namespace slipglass {

namespace {

/// log(p / (1 - p)).
cv::Mat logOddsOf(const cv::Mat& probability)
{
    cv::Mat within, log_odds;
    cv::min(cv::max(probability, 1e-6), 1 - 1e-6, within);
    cv::log(within / (1 - within), log_odds);
    return log_odds;
}

/// Rules say yes or no; how often they are right is a guess.
RootMap withOdds(RootMap roots)
{
    constexpr float kRules = 2;
    roots.log_odds = cv::Mat(roots.mask.size(), CV_32F, cv::Scalar(-kRules));
    roots.log_odds.setTo(kRules, roots.mask);
    roots.if_root_browned = roots.browned;
    return roots;
}

}  // namespace

cv::Mat piecesFrom(double least, const cv::Mat& mask, double unit_per_px)
{
    cv::Mat labels, stats, centres, kept = cv::Mat::zeros(mask.size(), CV_8U);
    const int count = cv::connectedComponentsWithStats(mask, labels, stats, centres, 8);
    for (int i = 1; i < count; ++i) {
        const cv::Rect box(stats.at<int>(i, cv::CC_STAT_LEFT), stats.at<int>(i, cv::CC_STAT_TOP),
                           stats.at<int>(i, cv::CC_STAT_WIDTH), stats.at<int>(i, cv::CC_STAT_HEIGHT));
        if (std::max(box.width, box.height) * unit_per_px >= least) kept(box).setTo(255, labels(box) == i);
    }
    return kept;
}

RootMap rootsFromLogOdds(const Panel& panel, const cv::Mat& log_odds, const cv::Mat& if_root_browned,
                         const RootSettings& settings)
{
    // Rules have said yes or no, and looked at lengths, already.
    const double p = settings.min_probability, least = settings.learned ? std::log(p / (1 - p)) : 0;
    RootMap result;
    result.log_odds = log_odds;
    result.if_root_browned = if_root_browned;
    result.mask = piecesFrom(settings.learned ? settings.least_mm : 0, (log_odds > least) & panel.wall,
                             panel.unit_per_px);
    result.mask |= (log_odds >= kSaidLogOdds) & panel.wall;  // a person's dab is a root, however short
    result.browned = result.mask & if_root_browned;
    return result;
}

PanelReading readPanel(const Panel& panel, const std::optional<EarlierPanel>& past,
                       const RootSettings& settings, const std::optional<RootLayer>& taught)
{
    if (!settings.learned)
        return {withOdds(rootsByRules(panel, past, settings)), waterByNetwork(panel, past)};
    const NetReading said = runNetwork(panel, past, taught);
    return {rootsFromLogOdds(panel, logOddsOf(said.root), said.browned > settings.min_probability, settings),
            said.water};
}

EarlierPanel withRootsHidden(const EarlierPanel& past, const Panel& today, const RootSettings& settings,
                             const std::optional<RootLayer>& taught)
{
    Panel then = today;
    then.bgr = past.bgr;
    then.visible = past.visible & today.visible;
    const cv::Mat roots = findRoots(then, std::nullopt, settings, taught).mask;
    // With a root's soft edge, and what the alignment is off by.
    return {past.bgr, past.visible & ~dilated(roots, 3)};
}

RootMap findRoots(const Panel& panel, const std::optional<EarlierPanel>& past, const RootSettings& settings,
                  const std::optional<RootLayer>& taught)
{
    if (!settings.learned) return withOdds(rootsByRules(panel, past, settings));
    return readPanel(panel, past, settings, taught).roots;
}

RootFigures rootFigures(const Panel& panel, const RootMap& roots)
{
    RootFigures figures;
    const int visible = cv::countNonZero(panel.frontal);
    if (!visible) return figures;
    const cv::Mat mask = roots.mask & panel.frontal;
    const int area = cv::countNonZero(mask);
    figures.coverage_percent = 100.0 * area / visible;
    const cv::Mat skeleton = skeletonOf(mask);
    const double length_px = rootLengthPx(mask, skeleton);
    figures.length = length_px * panel.unit_per_px;
    if (!area) return figures;
    if (length_px > 0) figures.width = area / length_px * panel.unit_per_px;  // as meanWidthPx()
    figures.browned_percent = 100.0 * cv::countNonZero(roots.browned & mask) / area;
    for (int row = mask.rows - 1; row >= 0 && panel.base_known; --row)
        if (cv::countNonZero(mask.row(row)) >= 2) {
            figures.deepest = std::max(0.0, panel.pointAt(0, row).y);
            break;
        }
    return figures;
}

}  // namespace slipglass
