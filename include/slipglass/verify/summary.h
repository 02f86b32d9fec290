#pragma once
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "slipglass/verify/agreement.h"

namespace slipglass {

/// Standing water said against standing water drawn, in photos.
struct Confusion {
    long tp = 0, fp = 0, fn = 0, tn = 0;
    long all() const { return tp + fp + fn + tn; }
};

/// Many photos in one. Shares are over the pixels of all photos together, so a photo counts by its roots;
/// medians and p90 are over photos (quantiles by linear interpolation between order statistics). Empty:
/// nothing to say it from.
struct Summary {
    long photos = 0, compared = 0;
    long rootless = 0;      ///< compared, with no root drawn in the shared wall
    long water_levels = 0;  ///< levels given where water stands
    Confusion standing;

    std::optional<double> measured_share;
    std::optional<double> dice, iou, precision, recall;
    std::optional<double> tolerant_dice, tolerant_iou, tolerant_precision, tolerant_recall;
    std::optional<double> mask_coverage_error_median, mask_coverage_error_p90;  ///< percentage points
    std::optional<double> mask_coverage_relative_error_median;                  ///< where >= 0.5 % is drawn
    std::optional<double> coverage_error_median, coverage_error_p90;  ///< observations.csv, percentage points
    std::optional<double> coverage_interval_hit_share;
    std::optional<double> false_coverage_max;  ///< on rootless photos, in the masks, percentage points
    /// Over photos with any root found: what is missed whole shows in recall.
    std::optional<double> skeleton_length_ratio_median, root_length_ratio_median;
    std::optional<double> wall_iou_median, wall_precision_p10;
    std::optional<double> water_error_median_mm, water_error_p90_mm;  ///< where water stands
    std::optional<double> water_interval_hit_share;
    std::optional<double> standing_precision, standing_recall, standing_f1;
    std::optional<double> scale_error_median;  ///< |found / true - 1|
};

Summary summaryOf(const std::vector<PhotoAgreement>& photos);
/// The same for each tub.
std::map<std::string, Summary> summaryByTub(const std::vector<PhotoAgreement>& photos);

/// Quantile by linear interpolation (Hyndman & Fan 1996, type 7); empty for no values. `share` in 0..1.
std::optional<double> quantile(std::vector<double> values, double share);

}  // namespace slipglass
