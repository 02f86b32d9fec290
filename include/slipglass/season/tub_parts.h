#pragma once
#include <optional>
#include <string>
#include <vector>

#include "slipglass/observation.h"
#include "slipglass/season/plan.h"

namespace slipglass {

/// How the cuttings of one tub share its wall.
struct TubParts {
    struct Part {
        std::string place;  ///< "left", "middle" or "right"
        double across;      ///< see AcrossWall
        std::string cutting;
        std::optional<Date> ended_on = std::nullopt;  ///< the day the cutting left the tub; see Series
    };
    /// From left to right; empty when the tub holds one cutting, or its cuttings cannot be told apart.
    std::vector<Part> parts;
    std::string shared;  ///< why they cannot be told apart; else empty
};

/// Each cutting has its own part where the `position` of every cutting of the tub is left, middle (or centre,
/// center) or right, in any case, and no two are the same.
TubParts partsOfTub(const Plan& plan, const std::string& tub);

/// Changes when the parts of a wall do; "" where there are none.
std::string partsText(const TubParts& parts);

/// What the photo says of one cutting of a tub: the roots on its part of the wall; water and medium are the
/// tub's. Where the photo does not tell the parts apart, nothing is known of its roots, and a note says so.
/// @param cutting  one of `parts`.
Observation seenOfCutting(Observation seen, const TubParts& parts, const std::string& cutting);

/// The part's own figures; null when the photo does not tell these parts apart.
const PartFigures* partOf(const Observation& seen, const TubParts& parts, const std::string& place);

/// One line for each tub of the plan whose cuttings were given positions that do not tell them apart.
std::vector<std::string> positionWarnings(const Plan& plan);

}  // namespace slipglass
