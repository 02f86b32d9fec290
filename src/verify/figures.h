#pragma once
// Every figure of an agreement once, with its name in files and its words in tables.
#include <array>

#include "slipglass/verify/summary.h"

namespace slipglass {

struct SummaryFigure {
    const char* name;     ///< in JSON
    const char* meaning;  ///< in the table
    std::optional<double> Summary::*value;
    int decimals;
};

inline constexpr std::array<SummaryFigure, 27> kSummaryFigures{{
    {"measured_share", "photos compared, of those with truth", &Summary::measured_share, 3},
    {"dice", "roots: Dice", &Summary::dice, 3},
    {"iou", "roots: intersection over union", &Summary::iou, 3},
    {"precision", "roots: precision (found that is root)", &Summary::precision, 3},
    {"recall", "roots: recall (root that is found)", &Summary::recall, 3},
    {"tolerant_dice", "roots, forgiving the edge: Dice", &Summary::tolerant_dice, 3},
    {"tolerant_iou", "roots, forgiving the edge: IoU", &Summary::tolerant_iou, 3},
    {"tolerant_precision", "roots, forgiving the edge: precision", &Summary::tolerant_precision, 3},
    {"tolerant_recall", "roots, forgiving the edge: recall", &Summary::tolerant_recall, 3},
    {"mask_coverage_error_median", "coverage error in the photo, median, points",
     &Summary::mask_coverage_error_median, 2},
    {"mask_coverage_error_p90", "coverage error in the photo, p90, points", &Summary::mask_coverage_error_p90,
     2},
    {"mask_coverage_relative_error_median", "the same as a share of the truth, median",
     &Summary::mask_coverage_relative_error_median, 3},
    {"coverage_error_median", "coverage_percent error, median, points", &Summary::coverage_error_median, 2},
    {"coverage_error_p90", "coverage_percent error, p90, points", &Summary::coverage_error_p90, 2},
    {"coverage_interval_hit_share", "truth within coverage_low..high, share",
     &Summary::coverage_interval_hit_share, 3},
    {"false_coverage_max", "highest coverage on a rootless photo, points", &Summary::false_coverage_max, 2},
    {"skeleton_length_ratio_median", "length in the masks, found / drawn, median",
     &Summary::skeleton_length_ratio_median, 3},
    {"root_length_ratio_median", "root_length_mm, found / true, median", &Summary::root_length_ratio_median,
     3},
    {"wall_iou_median", "wall: intersection over union, median", &Summary::wall_iou_median, 3},
    {"wall_precision_p10", "wall: precision, p10", &Summary::wall_precision_p10, 3},
    {"water_error_median_mm", "water level error where it stands, median, mm",
     &Summary::water_error_median_mm, 2},
    {"water_error_p90_mm", "water level error where it stands, p90, mm", &Summary::water_error_p90_mm, 2},
    {"water_interval_hit_share", "truth within water_low..high_mm, share", &Summary::water_interval_hit_share,
     3},
    {"standing_precision", "standing water: precision", &Summary::standing_precision, 3},
    {"standing_recall", "standing water: recall", &Summary::standing_recall, 3},
    {"standing_f1", "standing water: F1", &Summary::standing_f1, 3},
    {"scale_error_median", "px_per_mm, relative error, median", &Summary::scale_error_median, 3},
}};

struct PhotoFigure {
    const char* name;  ///< in CSV and JSON
    std::optional<double> PhotoAgreement::*value;
    int decimals;
};

inline constexpr std::array<PhotoFigure, 23> kPhotoFigures{{
    {"dice", &PhotoAgreement::dice, 4},
    {"iou", &PhotoAgreement::iou, 4},
    {"precision", &PhotoAgreement::precision, 4},
    {"recall", &PhotoAgreement::recall, 4},
    {"tolerant_dice", &PhotoAgreement::tolerant_dice, 4},
    {"tolerant_iou", &PhotoAgreement::tolerant_iou, 4},
    {"tolerant_precision", &PhotoAgreement::tolerant_precision, 4},
    {"tolerant_recall", &PhotoAgreement::tolerant_recall, 4},
    {"wall_iou", &PhotoAgreement::wall_iou, 4},
    {"wall_precision", &PhotoAgreement::wall_precision, 4},
    {"mask_coverage_percent", &PhotoAgreement::mask_coverage_percent, 3},
    {"true_mask_coverage_percent", &PhotoAgreement::true_mask_coverage_percent, 3},
    {"coverage_percent", &PhotoAgreement::coverage_percent, 3},
    {"coverage_low", &PhotoAgreement::coverage_low, 3},
    {"coverage_high", &PhotoAgreement::coverage_high, 3},
    {"true_coverage_percent", &PhotoAgreement::true_coverage_percent, 3},
    {"skeleton_length_ratio", &PhotoAgreement::skeleton_length_ratio, 4},
    {"root_length_ratio", &PhotoAgreement::root_length_ratio, 4},
    {"water_level_mm", &PhotoAgreement::water_level_mm, 2},
    {"water_low_mm", &PhotoAgreement::water_low_mm, 2},
    {"water_high_mm", &PhotoAgreement::water_high_mm, 2},
    {"true_water_level_mm", &PhotoAgreement::true_water_level_mm, 2},
    {"scale_ratio", &PhotoAgreement::scale_ratio, 4},
}};

}  // namespace slipglass
