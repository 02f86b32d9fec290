#pragma once
#include <optional>

#include "slipglass/panel/panel.h"
#include "slipglass/settings.h"

namespace slipglass {

struct WaterSettings {
    /// Level from which water is said to stand, mm. Common practice: less is the last drop of a drained tub.
    double standing_mm = 2.0;
    /// How bright the line of a water surface is, CIE L* above the wall just over and under it, mean round
    /// the wall. Measured: docs/accuracy.md, "water": 5.6 and more with water, 2.5 and less without.
    double line_lightness = 3.6;
    /// Share of the wall's front on which the line shows at one height. A row of pale grains does not get
    /// there.
    double line_share = 0.85;
    /// Half of the 90 % interval of a level, mm: the base's place and the line's own width.
    double level_error_mm = 0.9;

    template <class Self, class Visit>
    static void fields(Self& self, Visit&& visit)
    {
        visit("standing_mm", self.standing_mm, Bounds{0.1, 50});
        visit("line_lightness", self.line_lightness, Bounds{0.5, 50});
        visit("line_share", self.line_share, Bounds{0.3, 1});
        visit("level_error_mm", self.level_error_mm, Bounds{0.1, 20});
    }
};

/// Where free water stands behind the wall. All empty when the foot of the wall cannot be seen.
struct WaterReading {
    std::optional<double> level_mm;  ///< above the inner base; 0 = none to be seen
    std::optional<double> low_mm, high_mm;
};

/// Finds the water surface as the one level line, all round the front, brighter than what is above and below
/// it: a surface touches the wall at one height, and its meniscus catches the light. Damp-to-dry shading,
/// which has no line, is not water.
WaterReading waterLevel(const Panel& panel, const WaterSettings& settings);

}  // namespace slipglass
