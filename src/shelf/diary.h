#pragma once
#include <optional>
#include <string>
#include <vector>

#include "slipglass/season/care.h"

namespace slipglass {

/// care.csv with a row more; columns that it lacks are added, and what it holds stays.
/// @param text  of the file; empty: none yet.
/// Throws Error as parseCare does.
std::string withRow(const std::string& text, const CareEvent& event);

/// The same without the last row that says just this; empty when none does.
std::optional<std::string> withoutRow(const std::string& text, const CareEvent& event);

/// What a page sent, as it was typed.
struct CareTyped {
    std::string tub{}, what{}, amount_ml{}, weight_g{}, note{}, cutting{};
    std::string date{};  ///< empty: today
};
/// Throws Error, for people, when it says nothing that can be written down, or of a day to come.
CareEvent careFrom(const CareTyped& typed, Date today);

}  // namespace slipglass
