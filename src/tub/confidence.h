#pragma once
#include <string>

#include "slipglass/tub/find_tub.h"
#include "tub_map.h"

namespace slipglass {

/// How much a found tub can be believed.
struct Confidence {
    double value = 1;   ///< 0..1
    std::string doubt;  ///< what lowers it most, for people; empty when nothing does
};

/// From the evidence: the weakest part decides, and names the doubt.
/// @param tub  its pose, misfit and surface are looked at.
Confidence confidenceIn(const Tub& tub, const TubMap& map);

}  // namespace slipglass
