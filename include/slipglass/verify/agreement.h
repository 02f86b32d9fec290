#pragma once
#include <opencv2/core/mat.hpp>
#include <optional>
#include <string>

#include "slipglass/observation.h"
#include "slipglass/settings.h"
#include "slipglass/verify/overlap.h"

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

}  // namespace slipglass
