#pragma once
#include <filesystem>

#include "photo_list.h"

namespace slipglass {

void writeTubList(const std::filesystem::path& file, const TubList& list);
/// Throws Error.
TubList readTubList(const std::filesystem::path& file);

}  // namespace slipglass
