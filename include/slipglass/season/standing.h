#pragma once
#include <vector>

#include "slipglass/observation.h"
#include "slipglass/settings.h"

namespace slipglass {

struct StandingSettings {
    double standing_mm = 2.0;

    template <class Self, class Visit>
    static void fields(Self& self, Visit&& visit)
    {
        visit("standing_mm", self.standing_mm, Bounds{0.1, 50},
              "Level from which water is said to stand, mm. Common practice: less is the last drop of a "
              "drained tub.");
    }
};

/// Whether water stands at `standing_mm` or higher; empty when what was read leaves it open. Of levels below
/// kLeastWaterMm only the interval tells.
std::optional<bool> stands(const WaterHeights& water, double standing_mm);

/// Sets Observation::standing_water of each.
void setStanding(std::vector<Observation>& observations, const StandingSettings& settings);

}  // namespace slipglass
