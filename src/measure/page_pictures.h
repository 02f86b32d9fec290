#pragma once
#include <filesystem>
#include <optional>
#include <string>

#include "slipglass/observe.h"
#include "slipglass/store/season_store.h"
#include "slipglass/wall/read_wall.h"

namespace slipglass {

/// Which photo the pages show, and in what place of the output folder.
struct PagePicture {
    std::filesystem::path out;
    std::string overlay;    ///< its overlay's name: the pictures of the pages are named after it
    std::string mask_stem;  ///< as a correction of this photo is to be called
};

/// What the pages show of one photo besides its overlay, see PagePictureNames: the photo itself and its
/// facts,
void writePhotoPicture(const PagePicture& which, const Picture& picture);
/// and what was found in it.
/// @param drawn, found  the overlay, and what of it drawFound has drawn.
void writeFoundPictures(const PagePicture& which, const Look& look, cv::Size full_size, const cv::Mat& drawn,
                        const cv::Mat& found);

/// The unrolled wall, moved onto its side's reference panel.
void writeWallPicture(const PagePicture& which, const Look& look);

bool photoPictureThere(const PagePicture& which);
bool foundPicturesThere(const PagePicture& which);

/// growth/<file>.png and .json: each root of the tub's most photographed side in the colour of the date it
/// was first seen, and what the colours mean. See-through beside the wall that figures rest on.
/// @param settings  below their detection limits no root is shown.
void writeGrowthMap(const std::filesystem::path& out, const std::string& tub, const std::string& file,
                    const RootAges& ages, const SeasonStore& store, const SeasonSettings& settings);
/// As this version writes it.
bool growthMapThere(const std::filesystem::path& out, const std::string& file);

}  // namespace slipglass
