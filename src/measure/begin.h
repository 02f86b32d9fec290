#pragma once
#include <optional>
#include <string>
#include <vector>

#include "slipglass/measure.h"
#include "slipglass/observe.h"
#include "slipglass/overview/given.h"
#include "slipglass/store/season_store.h"

namespace slipglass {

/// What the user has typed and what the season file has of earlier runs, checked before the first photo is
/// opened.
struct Beginning {
    std::optional<SeasonStore> store;  ///< empty where there is none yet: nothing is made
    Given before, beside;              ///< as earlier runs were given it, and as it holds now
    std::vector<std::string> as_given_before;
    std::string share;  ///< shareIn the season file
    Settings settings;  ///< less what was taught
    std::optional<Plan> plan;
};
Beginning beginOn(const MeasureOptions& options, SeasonStore::Use use);

}  // namespace slipglass
