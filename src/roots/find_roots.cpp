#include "slipglass/roots/find_roots.h"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <cstring>
#include <opencv2/imgproc.hpp>

#include "by_rules.h"
#include "root_net.h"
#include "slipglass/panel/in_mask.h"
#include "slipglass/roots/length.h"
#include "slipglass/roots/pieces.h"

namespace slipglass {

namespace {

/// The surest that the network may be: a probability of 1e-6, or 1 - 1e-6.
constexpr float kSurest = 13.8155F;

double logOdds(double probability)
{
    return std::log(probability / (1 - probability));
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

/// The first column from `column` on that is not 0; beyond the last where there is none.
int nextSet(const cv::Mat& mask, int row, int column)
{
    const uchar* at = mask.ptr(row);
    for (std::uint64_t eight = 0; column + 8 <= mask.cols; column += 8) {
        std::memcpy(&eight, at + column, 8);
        if (eight) break;
    }
    while (column < mask.cols && !at[column]) ++column;
    return column;
}

/// The pieces of a mask that `keeps` takes: it is given the pixels of each.
template <class Keeps>
cv::Mat piecesThat(const cv::Mat& mask, const Keeps& keeps)
{
    // Roots are little of a wall: their pixels are followed, not all of them numbered.
    cv::Mat left, kept = cv::Mat::zeros(mask.size(), CV_8U);
    cv::copyMakeBorder(mask, left, 1, 1, 1, 1, cv::BORDER_CONSTANT, cv::Scalar(0));
    std::vector<cv::Point> piece;
    for (int row = 1; row + 1 < left.rows; ++row)
        for (int column = nextSet(left, row, 1); column < left.cols;
             column = nextSet(left, row, column + 1)) {
            piece.assign(1, {column, row});
            left.at<uchar>(row, column) = 0;
            for (size_t i = 0; i < piece.size(); ++i)
                for (int y = piece[i].y - 1; y <= piece[i].y + 1; ++y)
                    for (int x = piece[i].x - 1; x <= piece[i].x + 1; ++x)
                        if (left.at<uchar>(y, x)) {
                            left.at<uchar>(y, x) = 0;
                            piece.emplace_back(x, y);
                        }
            for (cv::Point& at : piece) at -= cv::Point(1, 1);
            if (!keeps(piece)) continue;
            for (const cv::Point at : piece) kept.at<uchar>(at) = 255;
        }
    return kept;
}

bool isAsLong(double least, const std::vector<cv::Point>& piece, double unit_per_px)
{
    const cv::Rect box = cv::boundingRect(piece);
    return std::max(box.width, box.height) * unit_per_px >= least;
}

/// Where the medium ends at the wall there is an edge, a shadow or a film of water.
class Surface {
public:
    Surface(const cv::Mat& wall, double unit_per_px)
    {
        constexpr double kMostTilt = 10;  // mm from where half of it is seen. Guess; what is lower is a label
        const auto columns = static_cast<size_t>(wall.cols);
        row_.resize(columns, kCovered);
        size_t found = 0;
        for (int y = 0, end = wall.rows; y < end; ++y) {
            const uchar* at = wall.ptr(y);
            for (size_t x = 0; x < columns; ++x)
                if (row_[x] == kCovered && at[x]) {
                    row_[x] = y;
                    ++found;
                }
            if (end == wall.rows && 2 * found >= columns)
                end = std::min(end, y + cvRound(kMostTilt / unit_per_px));
        }
    }

    /// Whether a piece is no more than that: all but a fifth of it. A root that grows down from there is.
    /// @param reach_px  how near that is.
    bool isAllOf(const std::vector<cv::Point>& piece, int reach_px) const
    {
        constexpr double kShare = 0.8;  // chosen with surface_mm
        const auto near = std::count_if(piece.begin(), piece.end(), [&](cv::Point at) {
            const int row = row_[static_cast<size_t>(at.x)];
            return row != kCovered && at.y < row + reach_px;
        });
        return static_cast<double>(near) >= kShare * static_cast<double>(piece.size());
    }

private:
    static constexpr int kCovered = -1;
    std::vector<int> row_;  ///< of each column, the wall's highest
};

}  // namespace

cv::Mat piecesFrom(double least, const cv::Mat& mask, double unit_per_px)
{
    return piecesThat(
        mask, [&](const std::vector<cv::Point>& piece) { return isAsLong(least, piece, unit_per_px); });
}

RootMap rootsFromLogOdds(const Panel& panel, const cv::Mat& log_odds, const cv::Mat& if_root_browned,
                         const RootSettings& settings)
{
    // Rules have said yes or no, and looked at lengths, already.
    const double least = settings.learned ? logOdds(settings.min_probability) : 0;
    RootMap result;
    result.log_odds = log_odds;
    result.if_root_browned = if_root_browned;
    const cv::Mat mask = (log_odds > least) & panel.wall;
    if (settings.learned) {
        const int reach_px = cvRound(settings.surface_mm / panel.unit_per_px);
        std::optional<Surface> surface;  // most walls have no roots to ask about
        result.mask = piecesThat(mask, [&](const std::vector<cv::Point>& piece) {
            if (!isAsLong(settings.least_mm, piece, panel.unit_per_px)) return false;
            if (!surface) surface.emplace(panel.wall, panel.unit_per_px);
            return !surface->isAllOf(piece, reach_px);
        });
    } else {
        result.mask = mask;
    }
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
    const cv::Mat root = cv::max(cv::min(said.root, kSurest), -kSurest);
    return {rootsFromLogOdds(panel, root, said.browned > logOdds(settings.min_probability), settings),
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
