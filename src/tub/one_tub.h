#pragma once
#include <opencv2/core/types.hpp>
#include <optional>

#include "slipglass/tub/find_tub.h"
#include "tub_map.h"

namespace slipglass {

/// Where the tub is, roughly, full-size photo px.
struct Block {
    double left = 0, right = 0, top = 0, bottom = 0;
};

/// The map of one tub alone, and where that one is.
struct OneTub {
    TubMap map;
    Block block;
};

/// The labelled tub of a photo, else the largest. In a row of tubs the network may show the neighbours too. A
/// small one is looked at again by itself. Empty when no tub of medium can be seen.
std::optional<OneTub> oneTub(const TubQuery& query);

}  // namespace slipglass
