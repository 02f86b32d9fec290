#include "slipglass/verify/agreement.h"

#include <cmath>
#include <opencv2/imgproc.hpp>
#include <stdexcept>

#include "slipglass/panel/in_mask.h"
#include "slipglass/roots/length.h"

namespace slipglass {

namespace {

/// Below this a skeleton's length is chance, px of drawn root.
constexpr long kLeastRootPx = 200;
/// Below this a ratio of lengths is chance, mm of true root.
constexpr double kLeastRootMm = 20;

std::optional<double> share(double part, double whole)
{
    if (whole <= 0) return std::nullopt;
    return part / whole;
}

std::optional<double> percentOf(const cv::Mat& part, const cv::Mat& whole)
{
    return share(100.0 * cv::countNonZero(part), cv::countNonZero(whole));
}

std::optional<double> ratio(std::optional<double> found, std::optional<double> truth)
{
    if (!found || !truth) return std::nullopt;
    return share(*found, *truth);
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

/// Harmonic mean; empty when either is unknown.
std::optional<double> harmonic(std::optional<double> a, std::optional<double> b)
{
    if (!a || !b) return std::nullopt;
    return *a + *b > 0 ? 2 * *a * *b / (*a + *b) : 0.0;
}

std::optional<double> difference(std::optional<double> a, std::optional<double> b)
{
    if (!a || !b) return std::nullopt;
    return std::abs(*a - *b);
}

using Photos = std::vector<const PhotoAgreement*>;

/// Values of one figure over photos, those unknown left out.
template <class Figure>
std::vector<double> known(const Photos& photos, Figure figure)
{
    std::vector<double> values;
    for (const PhotoAgreement* photo : photos)
        if (const std::optional<double> value = figure(*photo)) values.push_back(*value);
    return values;
}

std::optional<double> mean(const std::vector<double>& values)
{
    double sum = 0;
    for (const double value : values) sum += value;
    return share(sum, static_cast<double>(values.size()));
}

/// 1 when the truth lies in the interval, 0 when not; empty when either is unknown.
std::optional<double> hit(std::optional<double> truth, std::optional<double> low, std::optional<double> high)
{
    if (!truth || !low || !high) return std::nullopt;
    return *low <= *truth && *truth <= *high ? 1.0 : 0.0;
}

void summariseRoots(Summary& to, const Photos& photos)
{
    Overlap all;
    for (const PhotoAgreement* photo : photos)
        if (photo->roots) all += *photo->roots;
    const Shares strict = sharesOf(all), tolerant = tolerantSharesOf(all);
    to.dice = strict.dice;
    to.iou = strict.iou;
    to.precision = strict.precision;
    to.recall = strict.recall;
    to.tolerant_dice = tolerant.dice;
    to.tolerant_iou = tolerant.iou;
    to.tolerant_precision = tolerant.precision;
    to.tolerant_recall = tolerant.recall;

    using P = PhotoAgreement;
    to.wall_iou_median = quantile(known(photos, [](const P& p) { return p.wall_iou; }), 0.5);
    to.wall_precision_p10 = quantile(known(photos, [](const P& p) { return p.wall_precision; }), 0.1);
    const auto found = [](std::optional<double> length) { return length > 0.0 ? length : std::nullopt; };
    to.skeleton_length_ratio_median =
        quantile(known(photos, [&](const P& p) { return found(p.skeleton_length_ratio); }), 0.5);
    to.root_length_ratio_median =
        quantile(known(photos, [&](const P& p) { return found(p.root_length_ratio); }), 0.5);
}

void summariseCoverage(Summary& to, const Photos& photos)
{
    using P = PhotoAgreement;
    const auto mask_error = [](const P& p) {
        return difference(p.mask_coverage_percent, p.true_mask_coverage_percent);
    };
    const auto errors = known(photos, mask_error);
    to.mask_coverage_error_median = quantile(errors, 0.5);
    to.mask_coverage_error_p90 = quantile(errors, 0.9);
    to.mask_coverage_relative_error_median =
        quantile(known(photos,
                       [&](const P& p) -> std::optional<double> {
                           if (!(p.true_mask_coverage_percent >= 0.5)) return {};
                           return ratio(mask_error(p), p.true_mask_coverage_percent);
                       }),
                 0.5);
    const auto csv =
        known(photos, [](const P& p) { return difference(p.coverage_percent, p.true_coverage_percent); });
    to.coverage_error_median = quantile(csv, 0.5);
    to.coverage_error_p90 = quantile(csv, 0.9);
    to.coverage_interval_hit_share = mean(known(
        photos, [](const P& p) { return hit(p.true_coverage_percent, p.coverage_low, p.coverage_high); }));

    const auto false_coverage = known(photos, [](const P& p) -> std::optional<double> {
        if (!p.roots || p.roots->drawn > 0) return {};
        return p.mask_coverage_percent;
    });
    to.rootless = static_cast<long>(false_coverage.size());
    to.false_coverage_max = quantile(false_coverage, 1.0);
}

void summariseWater(Summary& to, const Photos& photos)
{
    using P = PhotoAgreement;
    for (const P* photo : photos) {
        if (!photo->standing_water || !photo->true_standing_water) continue;
        const bool said = *photo->standing_water, stands = *photo->true_standing_water;
        ++(said ? (stands ? to.standing.tp : to.standing.fp) : (stands ? to.standing.fn : to.standing.tn));
    }
    const Confusion& c = to.standing;
    to.standing_precision = share(static_cast<double>(c.tp), static_cast<double>(c.tp + c.fp));
    to.standing_recall = share(static_cast<double>(c.tp), static_cast<double>(c.tp + c.fn));
    to.standing_f1 = share(2.0 * c.tp, 2.0 * c.tp + c.fp + c.fn);

    const auto errors = known(photos, [](const P& p) -> std::optional<double> {
        if (!p.true_standing_water.value_or(false)) return {};
        return difference(p.water_level_mm, p.true_water_level_mm);
    });
    to.water_levels = static_cast<long>(errors.size());
    to.water_error_median_mm = quantile(errors, 0.5);
    to.water_error_p90_mm = quantile(errors, 0.9);
    to.water_interval_hit_share = mean(known(
        photos, [](const P& p) { return hit(p.true_water_level_mm, p.water_low_mm, p.water_high_mm); }));
    to.scale_error_median =
        quantile(known(photos, [](const P& p) { return difference(p.scale_ratio, 1.0); }), 0.5);
}

}  // namespace

Overlap& Overlap::operator+=(const Overlap& other)
{
    both += other.both;
    found += other.found;
    drawn += other.drawn;
    found_near_drawn += other.found_near_drawn;
    drawn_near_found += other.drawn_near_found;
    return *this;
}

Overlap overlapOf(const cv::Mat& found, const cv::Mat& drawn, int tolerance_px)
{
    if (found.size() != drawn.size()) throw std::invalid_argument("masks differ in size");
    Overlap overlap;
    overlap.both = cv::countNonZero(found & drawn);
    overlap.found = cv::countNonZero(found);
    overlap.drawn = cv::countNonZero(drawn);
    overlap.found_near_drawn = cv::countNonZero(found & dilated(drawn, tolerance_px));
    overlap.drawn_near_found = cv::countNonZero(drawn & dilated(found, tolerance_px));
    return overlap;
}

Shares sharesOf(const Overlap& o)
{
    const auto both = static_cast<double>(o.both), found = static_cast<double>(o.found),
               drawn = static_cast<double>(o.drawn);
    return {share(2 * both, found + drawn), share(both, found + drawn - both), share(both, found),
            share(both, drawn)};
}

Shares tolerantSharesOf(const Overlap& o)
{
    Shares shares;
    shares.precision = share(static_cast<double>(o.found_near_drawn), static_cast<double>(o.found));
    shares.recall = share(static_cast<double>(o.drawn_near_found), static_cast<double>(o.drawn));
    // One side empty: all of the other is wrong, as it is without tolerance.
    if (o.found + o.drawn > 0)
        shares.dice = harmonic(shares.precision.value_or(0), shares.recall.value_or(0));
    if (shares.dice) shares.iou = *shares.dice / (2 - *shares.dice);
    return shares;
}

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

Summary summaryOf(const std::vector<PhotoAgreement>& photos)
{
    Summary summary;
    Photos compared;
    for (const PhotoAgreement& photo : photos)
        if (photo.outcome == "compared") compared.push_back(&photo);
    summary.photos = static_cast<long>(photos.size());
    summary.compared = static_cast<long>(compared.size());
    summary.measured_share = share(static_cast<double>(compared.size()), static_cast<double>(photos.size()));
    summariseRoots(summary, compared);
    summariseCoverage(summary, compared);
    summariseWater(summary, compared);
    return summary;
}

std::map<std::string, Summary> summaryByTub(const std::vector<PhotoAgreement>& photos)
{
    std::map<std::string, std::vector<PhotoAgreement>> tubs;
    for (const PhotoAgreement& photo : photos) tubs[photo.tub].push_back(photo);
    std::map<std::string, Summary> summaries;
    for (const auto& [tub, of_tub] : tubs) summaries[tub] = summaryOf(of_tub);
    return summaries;
}

std::optional<double> quantile(std::vector<double> values, double at)
{
    if (values.empty()) return std::nullopt;
    std::sort(values.begin(), values.end());
    const double place = at * static_cast<double>(values.size() - 1);
    const auto below = static_cast<size_t>(place);
    const size_t above = std::min(below + 1, values.size() - 1);
    return std::lerp(values[below], values[above], place - static_cast<double>(below));
}

}  // namespace slipglass
