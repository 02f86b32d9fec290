#pragma once
#include <filesystem>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "slipglass/layout/file_names.h"

namespace slipglass {

/// The pictures there are of one photo of a tub; names below the output folder, empty when not there.
struct PhotoPictures {
    std::string overlay, photo, small, found, wall;
    int width = 0, height = 0;  ///< full-size px; 0 when not known
    std::string stem;           ///< what a correction of it is to be called, without ".json"
};

/// What a colour of a growth map means.
struct GrowthColour {
    std::string date;                      ///< ISO
    std::string colour;                    ///< "#rrggbb"; "" where no roots are seen
    bool roots_seen = true;                ///< by that date; false below the detection limit
    std::optional<double> first_seen_mm2;  ///< root area first seen on that date
};

/// Pictures in an output folder, which the pages show.
struct PicturesThere {
    std::map<PhotoAndTub, PhotoPictures> photos;
    std::map<std::string, std::vector<GrowthColour>> growth;  ///< by tub; those with a map only
    std::map<std::string, std::string> files;                 ///< of all tubs, as safeFileNames
};

/// Looks them up; none of them needs to be there.
PicturesThere picturesIn(const std::filesystem::path& out_dir, const std::vector<Observation>& observations);

}  // namespace slipglass
