#pragma once
#include "slipglass/observation.h"
#include "slipglass/season/tub_parts.h"
#include "slipglass/wall/parts.h"
#include "slipglass/wall/wall_history.h"

namespace slipglass {

/// The figures of a root map, into an observation whose state is known. Lengths only where the panel is in
/// mm.
/// @param photos_read  photos of this wall that had a say, this one included.
void setRoots(Observation& seen, const Panel& panel, const RootMap& roots, int photos_read);

/// What reading a wall's photos together changes in one observation.
void setReading(Observation& seen, const WallView& view, const WallReading& reading);

/// The figures of each cutting's part of the wall, into an observation whose state is known; none where the
/// photo does not tell the parts apart.
/// @param reference_size  of the reference panel of the side that the tub's first photo shows.
void setParts(Observation& seen, const WallView& view, const WallReading& reading, cv::Size reference_size,
              const TubParts& tub, const PartSettings& settings);

}  // namespace slipglass
