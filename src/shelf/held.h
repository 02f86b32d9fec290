#pragma once
#include <optional>
#include <string>

#include "season_folder.h"
#include "slipglass/overview/given.h"

namespace slipglass {

/// The text of a file that holds now: the season's own, else as the season was given it from elsewhere.
/// @param file   plan, care log or settings, in the season's folder.
/// @param given  the same, as the last run was given it.
/// @param waits  the season's own was written, and no run has read it yet.
std::string heldText(const std::filesystem::path& file, const std::optional<Given::File>& given, bool waits);

}  // namespace slipglass
