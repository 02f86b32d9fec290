#pragma once
#include <filesystem>
#include <optional>

#include "slipglass/error.h"

namespace slipglass {

/// Why this slipglass cannot read a season file that is whole: another version wrote it, or another program.
/// Empty where it can, or will say so when it opens it.
std::optional<Error> whyUnreadable(const std::filesystem::path& season_db);

}  // namespace slipglass
