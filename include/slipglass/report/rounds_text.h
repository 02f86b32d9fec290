#pragma once
#include <string>
#include <vector>

#include "slipglass/overview/rounds.h"

namespace slipglass {

/// For a terminal: a line for each tub that needs something, then one that names those that need nothing. At
/// most 80 columns each; long ids are shortened in their middle, control characters replaced.
std::vector<std::string> roundsLines(const Rounds& rounds);

/// The same, with evidence and advice, as JSON.
std::string roundsJson(const Rounds& rounds);

}  // namespace slipglass
