#pragma once
#include <opencv2/core/mat.hpp>
#include <optional>

#include "slipglass/panel/panel.h"
#include "slipglass/tub/find_tub.h"

namespace slipglass {

/// What the wall says of the medium's state. Empty when too little of the wall is visible.
struct Condition {
    /// L* of the darker third of the medium above the water, percent of the L* of the label's paper, or of
    /// what stands beside the tub where there is no label: the camera's exposure drops out, a changed
    /// background does not.
    std::optional<double> wall_lightness;
    bool against_label = false;  ///< which of the two; figures of both kinds do not compare
    /// Share of the wall, percent, where a pale veil lies over the medium: fog and droplets, and mirrored
    /// windows.
    std::optional<double> condensation_percent;
    /// Share of the wall, percent, that is plainly green.
    std::optional<double> green_percent;
};

/// @param bgr, reduction  the picture the panel came from, for the surroundings.
Condition conditionOf(const Panel& panel, const Tub& tub, const cv::Mat& bgr, double reduction,
                      std::optional<double> water_level_mm);

/// 0 dry .. 1 wet, 0.5 = as on the tub's first photo, when cuttings have just been watered in (common
/// practice): medium a quarter lighter than then counts as dry. Guess, to be replaced by a measurement.
double wetnessAgainst(double wall_lightness, double first_wall_lightness);

}  // namespace slipglass
