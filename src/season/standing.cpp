#include "slipglass/season/standing.h"

namespace slipglass {

std::optional<bool> stands(const WaterHeights& water, double standing_mm)
{
    const bool told = water.level && (*water.level > 0 || standing_mm >= kLeastWaterMm);
    if (told) return *water.level >= standing_mm;
    if (water.low && *water.low >= standing_mm) return true;
    if (water.high && *water.high < standing_mm) return false;
    return std::nullopt;
}

void setStanding(std::vector<Observation>& observations, const StandingSettings& settings)
{
    for (Observation& seen : observations) seen.standing_water = stands(seen.water, settings.standing_mm);
}

}  // namespace slipglass
