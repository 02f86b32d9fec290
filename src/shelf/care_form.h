#pragma once
#include <nlohmann/json_fwd.hpp>
#include <string>

#include "slipglass/season/care.h"

namespace slipglass {

/// As a page has it: the columns of care.csv by their names; amounts that are not known are null.
nlohmann::json eventJson(const CareEvent& event);

/// From such a page. Throws Error as careFrom does.
CareEvent eventIn(const nlohmann::json& body, Date today);

/// What was written down for the last days, the latest first, so that it can be taken back.
/// @param text  of care.csv; of one that cannot be read nothing, since the run says what is wrong with it.
nlohmann::json lately(const std::string& text, Date today);

}  // namespace slipglass
