#pragma once
#include <filesystem>
#include <vector>

#include "photo_list.h"
#include "slipglass/corrections/correction.h"

namespace slipglass {

/// Gives each correction in a folder to its photo and tub. A correction that belongs to none, or that another
/// one is at odds with, is a problem.
std::vector<Problem> giveCorrections(const std::filesystem::path& folder, std::vector<Item>& items,
                                     const SeasonStore& store);

}  // namespace slipglass
