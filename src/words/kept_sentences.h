#pragma once
// Private to words.
#include <optional>
#include <string>

#include "slipglass/said.h"

namespace slipglass {

/// The sentence of ours that an English text of the season file is, with what stands in its places; empty
/// where it is none.
std::optional<Said> keptSentence(const std::string& english);

}  // namespace slipglass
