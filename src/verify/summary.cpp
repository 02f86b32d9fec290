#include "slipglass/verify/summary.h"

#include <algorithm>
#include <cmath>

#include "share.h"

namespace slipglass {

namespace {

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
