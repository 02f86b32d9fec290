#pragma once
#include <vector>

#include "slipglass/observation.h"

namespace slipglass {

/// Sets `wetness` on all observations of a season, from `wall_lightness` of all photos of each tub.
///
/// The scale of a tub is one and the same for all its photos, in the logarithm of lightness. It reaches from
/// dry (0) to wet (1) over the range that wetting makes at least, more where the tub itself has shown more.
/// It lies so that the tub's first photo, when cuttings have just been watered in (common practice), is at
/// 0.5, unless its driest or wettest photo would then lie outside: that one is at the end then, and the scale
/// moves along with it. A later photo that is drier or wetter than all before can so move earlier ones.
///
/// Empty where lightness is not known, where fog hides the medium, and on a tub's only photo: there is
/// nothing to compare it with.
void setWetness(std::vector<Observation>& observations);

}  // namespace slipglass
