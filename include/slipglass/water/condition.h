#pragma once
#include <opencv2/core/mat.hpp>
#include <optional>

#include "slipglass/panel/align.h"
#include "slipglass/panel/panel.h"
#include "slipglass/tub/find_tub.h"

namespace slipglass {

/// What the wall says of the medium's state. Empty when too little of the wall is visible.
struct Condition {
    /// L* of the darker third of the medium above the water, percent of the L* of the label's paper, or of
    /// what stands beside the tub where there is no label: the camera's exposure drops out, a changed
    /// background does not.
    std::optional<double> wall_lightness;
    bool against_label = false;   ///< which of the two; figures of both kinds do not compare
    std::optional<double> white;  ///< L* of that paper or surroundings
    /// How light the very grains of the first panel are now, times their L* then; the camera's exposure is
    /// still in it. Empty without a first panel.
    std::optional<double> same_grains;
    /// Share of the wall, percent, where a pale veil lies over the medium: fog and droplets, told from what is
    /// above and below it on the same wall, so that a wall fogged all over reads low. Mirrored windows are
    /// not counted: they add light and flatten nothing.
    std::optional<double> condensation_percent;
    /// Share of the wall, percent, that is plainly green once the picture's cast is taken off: against the
    /// label's paper, else against the same grains of the first panel.
    std::optional<double> green_percent;
};

/// @param bgr, reduction  the picture the panel came from, for the surroundings.
/// @param first  the tub's first panel as today's sees it, if it shows the same side.
Condition conditionOf(const Panel& panel, const Tub& tub, const cv::Mat& bgr, double reduction,
                      std::optional<double> water_level_mm, const std::optional<EarlierPanel>& first);

/// wall_lightness by the same grains: the first photo's, times how much lighter those grains have become
/// against the white beside them. Empty when one of the two photos lacks something.
std::optional<double> lightnessByGrains(const Condition& now, std::optional<double> first_wall_lightness,
                                        std::optional<double> first_white);

/// 0 dry .. 1 wet, 0.5 = as on the tub's first photo, when cuttings have just been watered in (common
/// practice): medium a quarter lighter than then counts as dry. Guess, to be replaced by a measurement.
double wetnessAgainst(double wall_lightness, double first_wall_lightness);

}  // namespace slipglass
