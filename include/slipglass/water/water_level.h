#pragma once
#include <optional>
#include <string>

#include "slipglass/panel/align.h"
#include "slipglass/panel/panel.h"
#include "slipglass/settings.h"

namespace slipglass {

/// A line that may be water's: level but for what the pose, the table or the wall's own bend are off.
struct Tilt {
    double slope = 0;   ///< mm up per mm round the wall
    double bow_mm = 0;  ///< how much higher it lies at both ends of the front than in the middle
};

struct WaterSettings {
    /// Level from which water is said to stand, mm. Common practice: less is the last drop of a drained tub.
    double standing_mm = 2.0;
    /// How bright the line of a water surface is, CIE L* above the wall just over and under it, mean round
    /// the wall. Measured: docs/accuracy.md, "water". A third of it will do where the pores below are filled.
    double line_lightness = 3.6;
    /// Share of the wall's front on which the line shows at one height. A row of pale grains does not get
    /// there. Half of it will do where the pores below are filled.
    double line_share = 0.85;
    /// Share of the wall's front, strip by strip, that must be darker below than above at one height where
    /// there is no clear line. Guess, tried on invented panels.
    double step_share = 0.75;
    /// How much of the darkening over 4 mm must be there within the nearest mm: all of it at a water
    /// surface, half or less where damp medium fades. Guess, tried on invented panels.
    double step_sharpness = 0.7;
    /// Least darkening, log of luminance, at which the level is said to be unknown where there is neither a
    /// line nor a first photo to compare with. Guess.
    double step_alone = 0.25;
    /// Half of the 90 % interval of a level, mm: the base's place and the line's own width. Measured:
    /// docs/accuracy.md, "water".
    double level_error_mm = 0.9;
    /// How many times wider the interval is without a bright line. Measured on samples with the line painted
    /// over: docs/accuracy.md, "water".
    double no_line_widens = 1.5;

    template <class Self, class Visit>
    static void fields(Self& self, Visit&& visit)
    {
        visit("standing_mm", self.standing_mm, Bounds{0.1, 50});
        visit("line_lightness", self.line_lightness, Bounds{0.5, 50});
        visit("line_share", self.line_share, Bounds{0.3, 1});
        visit("step_share", self.step_share, Bounds{0.3, 1});
        visit("step_sharpness", self.step_sharpness, Bounds{0, 1});
        visit("step_alone", self.step_alone, Bounds{0.05, 2});
        visit("level_error_mm", self.level_error_mm, Bounds{0.1, 20});
        visit("no_line_widens", self.no_line_widens, Bounds{1, 10});
    }
};

/// Where free water stands behind the wall, mm above the inner base. All empty when the foot of the wall
/// cannot be seen. An interval without a level: the surface may stand where it cannot be seen, `note` says
/// where.
struct WaterReading {
    std::optional<double> level_mm;         ///< where the surface crosses the middle of the front; 0 = none
    std::optional<double> low_mm, high_mm;  ///< 90 % interval
    Tilt tilt{};                            ///< of the surface's line on the panel
    std::string note{};                     ///< for people; empty when all is plain
};

/// Finds the water surface. It touches the wall at one height all round, where its meniscus catches the light
/// in a bright line, and fills the pores below, which makes the medium there darker and calmer, at once and
/// not little by little.
/// A clear line is water unless the medium is seen to look alike above and below it (a ridge of the tub, a
/// strip of glare). A weak, broken or missing line needs the filled pores to be seen at one height by most of
/// the front. Where the tub's first panel shows the same grains, they must have darkened since; where it does
/// not, filled pores without a line are no level, only an interval and a note. Not water: damp fading to dry,
/// a layer of another medium, a shadow, a row of pale grains, a root.
/// @param first  the tub's first panel as today's sees it, if it shows the same side.
WaterReading waterLevel(const Panel& panel, const std::optional<EarlierPanel>& first,
                        const WaterSettings& settings);

}  // namespace slipglass
