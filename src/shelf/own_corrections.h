#pragma once
#include <string>
#include <vector>

#include "season_folder.h"
#include "slipglass/corrections/correction.h"
#include "slipglass/overview/given.h"

namespace slipglass {

/// Corrections that were given from another folder, put into the season's own, so that they go on to hold
/// when one is added.
void bringCorrections(const SeasonFolder& folder, const Given& given);

/// The season's own corrections of a tub in a photo, in order of time.
/// @param only_tub  the photo shows no other.
std::vector<CorrectionFile> correctionsOf(const SeasonFolder& folder, const PhotoAndTub& place,
                                          bool only_tub);

/// From then on it holds no more; its text stays beside the others, under another ending.
void takeBack(const SeasonFolder& folder, const CorrectionFile& file);

/// A correction that says another photo and tub, and all else as before.
/// @param tub  empty: as before.
std::string correctionOf(const std::string& text, const std::string& photo, const std::string& tub);

/// Has the season's own corrections follow a photo that shows one tub alone and got another name.
/// @param tub  empty: as before.
/// @return  whether there are any.
bool followName(const SeasonFolder& folder, const PhotoAndTub& before, const std::string& now,
                const std::string& tub);

}  // namespace slipglass
