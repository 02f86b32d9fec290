#pragma once
#include <array>
#include <optional>
#include <string>

#include "slipglass/observation.h"
#include "slipglass/text.h"

namespace slipglass {

/// A number of an observation, as it is stored and written.
struct Figure {
    const char* name;  ///< the column of observations.csv
    std::optional<double> Observation::*value;
    int decimals;  ///< written: about a tenth of what a photo can tell
};

/// All numbers of an observation, in the order of the columns. A new one needs a new version of the season
/// file and a step to it, see stepFrom in src/store/schema.cpp.
inline constexpr std::array<Figure, 26> kFigures{{
    {"coverage_percent", &Observation::coverage_percent, 2},
    {"coverage_low", &Observation::coverage_low, 2},
    {"coverage_high", &Observation::coverage_high, 2},
    {"root_length_mm", &Observation::root_length_mm, 1},
    {"root_width_mm", &Observation::root_width_mm, 2},
    {"browned_percent", &Observation::browned_percent, 1},
    {"deepest_root_mm", &Observation::deepest_root_mm, 1},
    {"water_level_mm", &Observation::water_level_mm, 1},
    {"water_level_percent", &Observation::water_level_percent, 1},
    {"water_low_mm", &Observation::water_low_mm, 1},
    {"water_high_mm", &Observation::water_high_mm, 1},
    {"wetness", &Observation::wetness, 2},
    {"wall_area_mm2", &Observation::wall_area_mm2, 0},
    {"px_per_mm", &Observation::px_per_mm, 3},
    {"confidence", &Observation::confidence, 2},
    {"condensation_percent", &Observation::condensation_percent, 1},
    {"green_percent", &Observation::green_percent, 1},
    {"wall_lightness", &Observation::wall_lightness, 1},
    {"medium_height_mm", &Observation::medium_height_mm, 1},
    {"sharpness", &Observation::sharpness, 2},
    {"glare_percent", &Observation::glare_percent, 1},
    {"tilt_deg", &Observation::tilt_deg, 1},
    {"photos_read", &Observation::photos_read, 0},
    {"gained_root_mm", &Observation::gained_root_mm, 1},
    {"hidden_root_mm", &Observation::hidden_root_mm, 1},
    {"lost_root_mm", &Observation::lost_root_mm, 1},
}};

/// A number of a part of a wall; as those of the observation.
struct PartFigure {
    const char* name;
    std::optional<double> PartFigures::*value;
};
inline constexpr std::array<PartFigure, 9> kPartFigures{{
    {"coverage_percent", &PartFigures::coverage_percent},
    {"coverage_low", &PartFigures::coverage_low},
    {"coverage_high", &PartFigures::coverage_high},
    {"root_length_mm", &PartFigures::root_length_mm},
    {"root_width_mm", &PartFigures::root_width_mm},
    {"browned_percent", &PartFigures::browned_percent},
    {"deepest_root_mm", &PartFigures::deepest_root_mm},
    {"shared_root_mm", &PartFigures::shared_root_mm},
    {"meets_next_mm", &PartFigures::meets_next_mm},
}};

/// `value` itself, or empty when it is not finite.
std::optional<double> finite(std::optional<double> value);

/// "measured", "caution" or "retake".
const char* stateText(State state);
/// Empty when `text` is none of the three.
std::optional<State> parseState(const std::string& text);

/// "HH:MM:SS"; "" when the time of day is not known.
std::string timeText(const TakenAt& taken);

}  // namespace slipglass
