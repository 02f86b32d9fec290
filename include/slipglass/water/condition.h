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
    /// How light the very grains of the reference panel are now, times their L* then; the camera's exposure
    /// is still in it. Empty without a reference panel.
    std::optional<double> same_grains;
    /// Share of the wall, percent, under `veil`: fog and droplets. By this photo alone; see condensationOf.
    std::optional<double> condensation_percent;
    cv::Mat veil;       ///< as veilByColumns gives it
    cv::Mat lightness;  ///< CV_32F, CIE L* of the panel
    /// Share of the wall, percent, that is plainly green once the picture's cast is taken off: against the
    /// label's paper, else against the same grains of the reference panel.
    std::optional<double> green_percent;
};

/// @param bgr, reduction  the picture the panel came from, for the surroundings.
/// @param reference  the side's reference panel as today's sees it; empty where today's shows none of it.
Condition conditionOf(const Panel& panel, const Tub& tub, const cv::Mat& bgr, double reduction,
                      std::optional<double> water_level, const std::optional<EarlierPanel>& reference);

/// wall_lightness by the same grains: the first photo's, times how much lighter those grains have become
/// against the white beside them. Empty when one of the two photos lacks something.
std::optional<double> lightnessByGrains(const Condition& now, std::optional<double> first_wall_lightness,
                                        std::optional<double> first_white);

}  // namespace slipglass
