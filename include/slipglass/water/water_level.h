#pragma once
#include <cmath>
#include <optional>
#include <string>

#include "slipglass/panel/panel.h"
#include "slipglass/panel/water_evidence.h"
#include "slipglass/settings.h"

namespace slipglass {

/// Standing water is level. How far its surface slants against the wall's own heights says how far the pose,
/// the table or the tub are off: up per length to the right, and per length towards the camera.
struct Tilt {
    double right = 0, near = 0;

    /// Height over the middle of the front at an angle round a wall of this radius.
    double riseAt(double angle, double radius) const
    {
        return radius * (right * std::sin(angle) + near * (std::cos(angle) - 1));
    }
};

struct WaterSettings {
    double water_support = 2.2;
    double dry_support = 0.12;
    double interval_support = 0.75;
    double level_error_mm = 0.3;
    double widest_mm = 8;
    double least_foot = 0.35;
    double least_confidence = 0.6;

    template <class Self, class Visit>
    static void fields(Self& self, Visit&& visit)
    {
        visit("water_support", self.water_support, Bounds{0, 100},
              "How much more must speak for water of 2 mm or more than for less or none before it is said to "
              "be there, log-odds of an average column of the wall. As much as a film of 2.5 mm has: "
              "docs/measured/water.md.");
        visit("dry_support", self.dry_support, Bounds{0, 100},
              "How much less before it is said not to; in between nothing is said. Less than this comes and "
              "goes with a "
              "tenth of a mm of the tub's place. Measured: docs/measured/water.md.");
        visit("interval_support", self.interval_support, Bounds{0, 100},
              "Heights for which so much less speaks than for the best one belong to the 90 % interval. "
              "Measured as `dry_support`.");
        visit("level_error_mm", self.level_error_mm, Bounds{0.1, 20},
              "Added to the interval on either side, besides a pixel of the photo, mm: the base's place. "
              "Measured as `dry_support`.");
        visit("widest_mm", self.widest_mm, Bounds{0.1, 100},
              "Widest interval with which a level is given, mm. Guess.");
        visit("least_foot", self.least_foot, Bounds{0, 1},
              "Share of the front in which the tub's foot must be in sight. Guess.");
        visit("least_confidence", self.least_confidence, Bounds{0, 1},
              "Confidence in the tub's place below which water is not known. Guess, as "
              "`quality.caution_confidence`.");
    }
};

/// Where free water stands behind the wall, above the inner base in the panel's units. All empty where
/// nothing can be known: the foot of the wall is not in sight, or the tub's place is in doubt. An interval
/// without a level: too little speaks for water or against it, or its surface may stand where it cannot be
/// seen. `note` says which.
struct WaterReading {
    std::optional<double> level;      ///< where the surface crosses the middle of the front; 0 = none
    std::optional<double> low, high;  ///< 90 % interval
    Tilt tilt{};                      ///< of the surface against the panel
    std::string note{};               ///< for people; empty when all is plain
};

/// Fits the level plane for which the network's evidence speaks most, below it and on its line, over all of
/// the wall that is seen well enough.
/// @param evidence    of this panel (readPanel).
/// @param confidence  in the tub's place, 0..1.
WaterReading waterLevel(const Panel& panel, const WaterEvidence& evidence, double confidence,
                        const WaterSettings& settings);

}  // namespace slipglass
