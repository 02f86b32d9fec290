#pragma once
#include <optional>
#include <string>
#include <vector>

#include "slipglass/observe.h"
#include "slipglass/store/season_store.h"

namespace slipglass {

/// All that the season file has of one tub's wall, in order of date.
struct Wall {
    std::string key;  ///< changes with anything it is made of
    cv::Size first_size;
    std::vector<WallView> views;
    std::vector<Observation> seen;
    std::vector<int>
        long_sides;  ///< of the pictures the views came from, px: the size their masks are drawn at
};

/// Empty when there is no view of the tub, or none that can be read.
std::optional<Wall> wallOf(const std::string& tub, const SeasonStore& store, const std::string& figures_key);

/// A view as the season file keeps it.
KeptView keptView(const std::string& photo, const std::string& tub, const WallView& view,
                  const Picture& picture, const SeasonStore& store);

/// What reading a wall's photos together changes in one observation.
void setReading(Observation& seen, const WallView& view, const WallReading& reading);

/// The wall's history as the season file keeps it: a 16-bit PNG on the tub's first panel (0 = no root, n =
/// root first seen on the n-th photo listed in its meta), with the dates and photos.
KeptHistory keptHistory(const Wall& wall, const WallHistory& history);

}  // namespace slipglass
