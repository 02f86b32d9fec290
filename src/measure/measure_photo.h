#pragma once
#include <optional>

#include "earlier_views.h"
#include "photo_list.h"
#include "run.h"

namespace slipglass {

/// A file that cannot be read today takes nothing from the figures it once gave.
/// @param kept  what the season file has of it.
/// @return what to say; empty where it never gave any.
std::optional<Problem> keptInstead(const Problem& problem, const std::optional<StoredPhoto>& kept);

struct Measured {
    bool figures = false;  ///< any could be taken
    std::optional<Problem> kept_instead;
};

/// Measures one photo and keeps what comes of it, in the season file and in pictures. However it ends, other
/// photos do not wait for this one any more.
Measured measurePhoto(const Item& item, EarlierViews& earlier, const Run& run);

}  // namespace slipglass
