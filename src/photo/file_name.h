#pragma once
#include <optional>
#include <string>
#include <vector>

#include "slipglass/date.h"

namespace slipglass {

/// What a photo's file name says.
struct NameFacts {
    std::optional<std::string> tub;  ///< from "<tub>_<YYYY-MM-DD>[_anything]"
    std::optional<std::string>
        typed;  ///< the YYYY-MM-DD of that form, or at the very start, as it stands there
    std::vector<TakenAt> phone_dates;  ///< other dates in it, as phones and apps write them, left to right
};

/// `stem`: the file's name without its extension.
NameFacts readName(const std::string& stem);

/// Whether a folder's name is a date and nothing else ("2026-01-12", "20260112", "2026-01", "12.01.2026").
bool isMerelyDate(const std::string& folder);

}  // namespace slipglass
