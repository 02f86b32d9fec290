#pragma once
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "slipglass/season/plan.h"

namespace slipglass {

/// What is to be compared: a column of the plan and the values it takes, such as medium: peat-perlite,
/// thirds.
struct Factor {
    std::string column;  ///< "variety", "medium" or "treatment"
    std::vector<std::string> levels;
};

/// A batch that is still to be stuck.
struct BatchWish {
    int tubs = 12;
    int cuttings_per_tub = 1;     ///< 1 to 3
    std::vector<Factor> factors;  ///< every tub gets one combination of their levels
    /// Neighbouring places that are alike in light and warmth make a block. At most one of these two; with
    /// neither, a block has as many tubs as there are combinations, so that each is in it once.
    std::optional<int> blocks, per_block;
    std::optional<Date> stuck_on;
    std::string tub_type;  ///< may be empty
    std::uint64_t seed = 1;
};

/// Tubs that got the same combination of levels.
struct TubsAlike {
    std::vector<std::string> levels;  ///< one a factor
    int tubs = 0;
};

struct DrawnPlan {
    /// Own columns `block`, from 1, and `place`, the tub's place in the row, from 1. Tubs are numbered by
    /// place. `position` is where in the tub a cutting goes, when it has company: left, middle, right.
    Plan plan;
    std::vector<int> block_sizes;   ///< tubs, in order of place
    std::vector<TubsAlike> shares;  ///< every combination, in the order of the levels given
};

/// Draws lots for which tub gets what. In each block, and in the whole batch, any two combinations differ by
/// one tub at most; where they cannot all have as many, the lot, and then evenness of each factor by itself,
/// says which get one more. The same wish gives the same plan on every machine: the lots come from the 64-bit
/// Mersenne Twister of the C++ standard, whose numbers it fixes.
/// Throws Error for a number out of range, a factor without levels or with one twice, fewer tubs than
/// combinations, and more blocks than tubs.
DrawnPlan drawPlan(const BatchWish& wish);

/// Tubs that have each level of factor number `factor`, in the order of the levels.
std::vector<int> tubsByLevel(const DrawnPlan& drawn, const std::vector<Factor>& factors, size_t factor);

}  // namespace slipglass
