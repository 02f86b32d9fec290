#pragma once
#include <optional>
#include <string>
#include <vector>

#include "photo_list.h"

namespace slipglass {

/// What looking at photos depends on, and stays the same during a run.
struct Looking {
    const Settings& settings;
    const std::optional<Plan>& plan;

    /// The tub's type by the plan.
    std::optional<TubType> typeOf(const std::string& tub) const;
};

/// What looking at a photo's tubs gave, or why it could not be looked at.
struct Looks {
    Picture picture;
    std::vector<Look> looks;  ///< one a tub, in order
    std::optional<Problem> problem;
};

/// Decodes a photo and looks at its tubs. Touches nothing but the photo: what goes wrong here is the photo's
/// fault, or ours.
/// @param histories  one a tub, in order.
Looks looksAt(const Item& item, const std::vector<std::string>& tubs,
              const std::vector<TubHistory>& histories, const Looking& looking);

/// What the store knows of a tub from its first photo; nothing to compare with when `item` is that photo.
TubHistory historyFor(const std::string& tub, const Item& item, const SeasonStore& store);

}  // namespace slipglass
