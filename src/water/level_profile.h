#pragma once
#include <optional>
#include <vector>

#include "slipglass/panel/panel.h"
#include "slipglass/panel/water_evidence.h"
#include "slipglass/water/water_level.h"

namespace slipglass {

/// What speaks for water up to a height against none at all: log-odds, summed up a column of cells and
/// averaged over the columns of the wall. Columns of cells err together, so it is not the log-odds of the
/// level itself.
struct LevelSupport {
    double level = 0;  ///< of a plane where it crosses the middle of the front, in the panel's units
    Tilt tilt;         ///< of the plane that most speaks for
    double support = 0;
    double from_near = 0;  ///< the same without what seems dry deep down, where the network cannot tell
};

struct LevelProfile {
    double foot_seen = 0;  ///< share of the front's columns in which the foot is in sight
    /// None, then all heights up to the medium's surface.
    std::vector<LevelSupport> heights;
};

/// Looks at every height. No heights where nothing of the wall can be seen.
LevelProfile levelProfile(const Panel& panel, const WaterEvidence& evidence);

/// What the profile of a panel says of its water (waterLevel's second half).
WaterReading readingOf(const LevelProfile& profile, const Panel& panel, const WaterSettings& settings);

}  // namespace slipglass
