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

/// From what a page sent. Throws Error, for people, when it says nothing that can be written down.
CareEvent careFrom(const std::string& tub, const std::string& what, const std::string& amount_ml,
                   const std::string& note, const std::string& cutting, Date date);

}  // namespace slipglass
