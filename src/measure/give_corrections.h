#pragma once
#include <filesystem>
#include <vector>

#include "photo_list.h"
#include "slipglass/corrections/correction.h"

namespace slipglass {

/// Gives each correction to its photo and tub; several of one add up. A correction that belongs to none is a
/// problem.
/// @param folder  they come from, for messages.
std::vector<Problem> giveCorrections(const CorrectionListing& listing, const std::filesystem::path& folder,
                                     std::vector<Item>& items, const SeasonStore& store);

}  // namespace slipglass
