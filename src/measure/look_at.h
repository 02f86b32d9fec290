#pragma once
#include <functional>
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

/// What looking at a photo's tubs gave.
struct Looks {
    Picture picture;
    std::vector<Look> looks;  ///< one a tub, in order
};

/// What earlier photos say to one whose wall is found.
using LookingBack = std::function<TubHistory(const Look&, const Picture&)>;

/// The wall of a tub that a photo is known to show, unrolled; empty where it cannot be measured or opened.
std::optional<Panel> panelOf(const Item& item, const std::string& tub, const Looking& looking);

/// Decodes a photo and looks at its tubs. Touches nothing but the photo; throws what tryPhoto takes.
/// @param back  asked once for each tub that can be measured, in order.
Looks looksAt(const Item& item, const LookingBack& back, const Looking& looking);

}  // namespace slipglass
