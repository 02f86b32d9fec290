#pragma once
#include <filesystem>
#include <map>
#include <string>
#include <vector>

#include "photo_list.h"
#include "slipglass/corrections/correction.h"
#include "slipglass/layout/file_names.h"

namespace slipglass {

/// Gives each correction to its photo and tub; several of one add up. A correction that belongs to none is a
/// problem.
/// @param folder  they come from, for messages.
std::vector<Problem> giveCorrections(const CorrectionListing& listing, const std::filesystem::path& folder,
                                     std::vector<Item>& items, const SeasonStore& store,
                                     const PhotoLimits& limits);

/// Of all shares' problems, takes away that a correction's photo is not known, where one share knows it.
void dropPlaced(std::vector<Problem>& problems, const CorrectionListing& listing,
                const std::filesystem::path& folder, const SeasonStore& store);

/// What was drawn on each tub in each photo, several together, for pages to show (SeasonReport::drawn): also
/// on photos that are not in the folder any more.
std::map<PhotoAndTub, std::string> drawnOn(const CorrectionListing& listing,
                                           const std::vector<Observation>& observations);

}  // namespace slipglass
