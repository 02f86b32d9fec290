#pragma once
#include <opencv2/core/mat.hpp>
#include <optional>
#include <vector>

#include "slipglass/panel/align.h"
#include "slipglass/panel/panel.h"

namespace slipglass {

/// Where a pale veil lies over the medium, told from what is above and below it on the same wall: a wall
/// fogged from top to bottom shows none. Mirrored windows are none: they add light and flatten nothing.
///
/// @param lightness  CV_32F, CIE L* of the panel.
/// @return  CV_8UC1, 255 = veil, one value for each 3 x 3 px of the panel; empty where too little of the wall
/// is visible to tell.
cv::Mat veilByColumns(const cv::Mat& lightness, const Panel& panel);

/// Light of the grains at one place, as shares of the luminance of the white beside the wall.
struct GrainLight {
    double mean = 0;
    double spread = 0;  ///< of grains against what is around them; light that is added leaves it as it is

    /// Falls where light is added or scattered; the camera's exposure, and mostly wetness, drop out.
    double contrast() const { return spread / mean; }
};

/// What one photo shows at one place of its side's reference panel.
struct FogPlace {
    int seen = 0;                      ///< wall on which figures are taken, in points looked at
    int veiled = 0;                    ///< of these, under a veil by veilByColumns
    std::optional<GrainLight> grains;  ///< empty where too little medium shows above the water, free of roots
};

/// One photo's places, row by row.
struct WallFog {
    int columns = 0;
    std::vector<FogPlace> places;

    int rows() const { return columns > 0 ? static_cast<int>(places.size()) / columns : 0; }
    size_t at(int column, int row) const
    {
        return static_cast<size_t>(row) * static_cast<size_t>(columns) + static_cast<size_t>(column);
    }
};

/// What a photo tells of fog to the other photos of the wall.
///
/// @param lightness  CV_32F, CIE L* of the panel.
/// @param veil   as veilByColumns gives it.
/// @param roots  CV_8UC1, 255 = root.
/// @param white  L* of what is white beside the wall; empty where it is not of the kind of the other photos'.
/// @param reference  size of its side's reference panel, which `to_reference` leads to.
WallFog fogOnReference(const cv::Mat& lightness, const Panel& panel, const cv::Mat& veil,
                       const cv::Mat& roots, std::optional<double> water_level, std::optional<double> white,
                       const Drift& to_reference, cv::Size reference);

/// Share of the wall under fog on each of its photos, percent. A place is fogged where its own column tells
/// so, or where its grains have lost half of the contrast and a third of the light they show on other photos
/// of the tub: medium that dries or is wetted keeps its contrast, a mirrored window leaves the grains' light.
/// Empty where nothing was to be seen.
std::vector<std::optional<double>> condensationOf(const std::vector<WallFog>& photos);

}  // namespace slipglass
