#pragma once
#include <array>
#include <map>
#include <opencv2/core/mat.hpp>
#include <optional>
#include <string>
#include <vector>

#include "slipglass/observation.h"
#include "slipglass/settings.h"

namespace slipglass {

struct VerifySettings {
    /// A root pixel counts as agreed when the other mask has one this near, full-size photo px. Guess: how
    /// far two people's tracings of one edge differ.
    int tolerance_px = 2;

    template <class Self, class Visit>
    static void fields(Self& self, Visit&& visit)
    {
        visit("tolerance_px", self.tolerance_px, Bounds{0, 50});
    }
};

/// Pixels of two masks, compared where both can be seen: `found` by the program, `drawn` as truth.
struct Overlap {
    long both = 0, found = 0, drawn = 0;
    long found_near_drawn = 0, drawn_near_found = 0;  ///< within the tolerance of the other mask

    Overlap& operator+=(const Overlap& other);
};

/// @param found,drawn   CV_8UC1, 0 or 255, one size.
/// @param tolerance_px  >= 0; near means within OpenCV's ellipse of side 2 x tolerance + 1.
Overlap overlapOf(const cv::Mat& found, const cv::Mat& drawn, int tolerance_px);

/// 0..1 each, empty where it is 0/0: with nothing found there is no precision, with nothing drawn no recall,
/// with neither no Dice. Dice (1945) = 2 both / (found + drawn); IoU (Jaccard 1901) = both / either.
struct Shares {
    std::optional<double> dice, iou, precision, recall;
};
Shares sharesOf(const Overlap& overlap);
/// The same forgiving the tolerance: Dice is the harmonic mean of the tolerant precision and recall, IoU is
/// Dice / (2 - Dice).
Shares tolerantSharesOf(const Overlap& overlap);

/// Standing water said against standing water drawn, in photos.
struct Confusion {
    long tp = 0, fp = 0, fn = 0, tn = 0;
    long all() const { return tp + fp + fn + tn; }
};

/// What a person, or a rendering, says of one photo of one tub. Empty: not said, not compared.
struct Truth {
    std::string tub;
    std::optional<double> water_level_mm;  ///< 0 = none
    std::optional<bool> standing_water;
    std::optional<double> px_per_mm;
    std::optional<double>
        panel_coverage_percent;  ///< on the wall within 60 degrees of the line of sight, 0..100
    std::optional<double> panel_root_length_mm;  ///< there, each place counted once
};

/// Masks of one photo, CV_8UC1, 0 or 255. Empty: there is none.
struct Masks {
    cv::Mat roots, wall;
};

/// One photo of one tub, the program against the truth.
struct PhotoAgreement {
    std::string photo;  ///< stem of the truth
    std::string tub;
    std::string outcome;  ///< "compared", or in a word or two why not

    std::optional<Overlap> roots;
    std::optional<double> dice, iou, precision, recall;
    std::optional<double> tolerant_dice, tolerant_iou, tolerant_precision, tolerant_recall;
    std::optional<double> wall_iou, wall_precision;
    std::optional<double> mask_coverage_percent,
        true_mask_coverage_percent;  ///< in the photo, both in the shared wall
    std::optional<double> coverage_percent, coverage_low, coverage_high;  ///< as in observations.csv
    std::optional<double> true_coverage_percent;                          ///< on the panel
    std::optional<double> skeleton_length_ratio;  ///< found / drawn, in the masks; drawn of more than 200 px
    std::optional<double> root_length_ratio;      ///< observations.csv / truth, mm; truth of more than 20 mm
    std::optional<double> water_level_mm, true_water_level_mm;
    std::optional<double> water_low_mm, water_high_mm;
    std::optional<bool> standing_water, true_standing_water;
    std::optional<double> scale_ratio;  ///< found px per mm / true
};

/// Compares one photo. Roots are compared inside the wall that both masks call visible; a truth without a
/// wall leaves that to the program's. Masks given must have one size.
PhotoAgreement agreementOn(const std::string& photo, const Truth& truth, const Masks& drawn,
                           const Observation& seen, const Masks& found, const VerifySettings& settings);

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
