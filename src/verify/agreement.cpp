#include "slipglass/verify/agreement.h"

#include <opencv2/core.hpp>
#include <stdexcept>

#include "share.h"
#include "slipglass/roots/length.h"

namespace slipglass {

namespace {

/// Below this a skeleton's length is chance, px of drawn root.
constexpr long kLeastRootPx = 200;
/// Below this a ratio of lengths is chance, mm of true root.
constexpr double kLeastRootMm = 20;

std::optional<double> percentOf(const cv::Mat& part, const cv::Mat& whole)
{
    return share(100.0 * cv::countNonZero(part), cv::countNonZero(whole));
}

/// Ratio of centre-line lengths, on both sides by the same published estimator.
std::optional<double> skeletonRatio(const cv::Mat& found, const cv::Mat& drawn)
{
    if (cv::countNonZero(drawn) <= kLeastRootPx) return std::nullopt;
    return share(rootLengthPx(found, skeletonOf(found)), rootLengthPx(drawn, skeletonOf(drawn)));
}

void takeShares(PhotoAgreement& to, const Overlap& overlap)
{
    const Shares strict = sharesOf(overlap);
    to.dice = strict.dice;
    to.iou = strict.iou;
    to.precision = strict.precision;
    to.recall = strict.recall;
    const Shares tolerant = tolerantSharesOf(overlap);
    to.tolerant_dice = tolerant.dice;
    to.tolerant_iou = tolerant.iou;
    to.tolerant_precision = tolerant.precision;
    to.tolerant_recall = tolerant.recall;
}

void requireOneSize(const Masks& drawn, const Masks& found)
{
    for (const cv::Mat* mask : {&drawn.wall, &found.roots, &found.wall})
        if (!mask->empty() && mask->size() != drawn.roots.size())
            throw std::invalid_argument("masks differ in size");
}

void compareMasks(PhotoAgreement& to, const Masks& drawn, const Masks& found, const VerifySettings& settings)
{
    requireOneSize(drawn, found);
    // A matrix of its own: assigning to a cv::Mat that shares found.wall's pixels would change those too.
    const cv::Mat wall = drawn.wall.empty() ? found.wall : cv::Mat(found.wall & drawn.wall);
    if (!drawn.wall.empty()) {
        to.wall_iou = share(cv::countNonZero(wall), cv::countNonZero(found.wall | drawn.wall));
        to.wall_precision = share(cv::countNonZero(wall), cv::countNonZero(found.wall));
    }
    if (cv::countNonZero(wall) == 0) {
        to.outcome = "wrong place";
        return;
    }
    const cv::Mat found_roots = found.roots & wall, drawn_roots = drawn.roots & wall;
    to.roots = overlapOf(found_roots, drawn_roots, settings.tolerance_px);
    takeShares(to, *to.roots);
    to.mask_coverage_percent = percentOf(found_roots, wall);
    to.true_mask_coverage_percent = percentOf(drawn_roots, wall);
    to.skeleton_length_ratio = skeletonRatio(found_roots, drawn_roots);
}

void compareFigures(PhotoAgreement& to, const Truth& truth, const Observation& seen)
{
    to.coverage_percent = seen.coverage_percent;
    to.coverage_low = seen.coverage_low;
    to.coverage_high = seen.coverage_high;
    to.true_coverage_percent = truth.panel_coverage_percent;
    if (truth.panel_root_length_mm.value_or(0) > kLeastRootMm)
        to.root_length_ratio = ratio(seen.root_length_mm, truth.panel_root_length_mm);
    to.water_level_mm = seen.water_level_mm;
    to.water_low_mm = seen.water_low_mm;
    to.water_high_mm = seen.water_high_mm;
    to.true_water_level_mm = truth.water_level_mm;
    to.standing_water = seen.standing_water;
    to.true_standing_water = truth.standing_water;
    to.scale_ratio = ratio(seen.px_per_mm, truth.px_per_mm);
}

}  // namespace

PhotoAgreement agreementOn(const std::string& photo, const Truth& truth, const Masks& drawn,
                           const Observation& seen, const Masks& found, const VerifySettings& settings)
{
    PhotoAgreement agreement;
    agreement.photo = photo;
    agreement.tub = truth.tub.empty() ? seen.tub : truth.tub;
    agreement.outcome = "compared";
    if (!drawn.roots.empty()) compareMasks(agreement, drawn, found, settings);
    compareFigures(agreement, truth, seen);
    return agreement;
}

}  // namespace slipglass
