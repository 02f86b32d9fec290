#pragma once
#include <functional>
#include <opencv2/core/mat.hpp>
#include <optional>
#include <string>
#include <vector>

#include "slipglass/panel/align.h"
#include "slipglass/panel/panel.h"

namespace slipglass {

/// Which side of a tub a photo shows. Photos that match form a side, by chains too; its first photo's panel
/// is its reference panel: what all places on it are told on.
struct OnSide {
    std::string side;         ///< the caller's name for it
    cv::Size reference_size;  ///< of its reference panel
    Drift to_reference;       ///< from this photo's panel to that one
};

/// A photo's white and what the medium's lightness is against it, see Condition.
struct WallLight {
    std::optional<double> wall_lightness, white;
    bool against_label = false;
};

/// What an earlier photo of a tub has to show to a later one.
struct EarlierView {
    OnSide place;
    bool in_mm = false;
    WallLight light;  ///< asked for of photos that begin a side only
    /// Opened when it is wanted: a season's panels together fill a memory. Empty when it cannot be.
    std::function<std::optional<Panel>()> panel;
    double root_share = 0;    ///< of its wall that shows roots; as `light`
    double inner_radius = 0;  ///< of the tub's base, inside, mm or nominal as `in_mm` says
};

/// What all earlier photos of its tub say to a photo.
struct TubHistory {
    OnSide place;                       ///< `side` is empty when the photo begins one
    std::optional<EarlierPanel> past;   ///< each part of the wall as the earliest photo that shows it has it
    cv::Mat of_reference;               ///< CV_8UC1, the part of `past` that is the reference panel's
    WallLight first_light;              ///< of the side's first photo
    double first_root_share = 0;        ///< likewise
    std::optional<bool> against_label;  ///< how the tub's lightness is taken; empty on its first photo
    std::string why_alone;              ///< a note; empty when it is not alone
    std::string fits_other_tub;         ///< another tub, whose wall it shows by its grains; mostly empty
};

/// Finds a photo's place on its tub, and what was there before.
/// @param earlier  the tub's photos before this one that could be measured, in order of date.
TubHistory lookBack(const Panel& today, const std::vector<EarlierView>& earlier);

}  // namespace slipglass
