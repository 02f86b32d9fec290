#pragma once
#include <vector>

#include "slipglass/observation.h"

namespace slipglass {

/// Where one photo shows the medium's surface elsewhere than those taken before and after it, which agree:
/// State::caution for it, with the wider interval of coverage that belongs to it, a note, and a row of
/// problems. Medium that was added or has settled stays where it is.
void doubtOddHeights(std::vector<Observation>& observations, std::vector<Problem>& problems);

}  // namespace slipglass
