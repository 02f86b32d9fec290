#pragma once
#include <filesystem>

#include "page_pictures.h"
#include "photo_list.h"
#include "run.h"
#include "slipglass/wall/view_facts.h"

namespace slipglass {

/// The files that show one tub in one photo.
struct Files {
    std::filesystem::path roots, wall, overlay;
    PagePicture page;
};
Files filesOf(const Item& item, const std::string& tub, const Run& run);

/// Whether all of a photo's files are there.
bool filesThere(const Item& item, const Run& run);

/// Writes all of them.
/// @param picture  of the photo, the size of the look's masks or of another reduction.
void drawPhoto(const Files& files, const Picture& picture, const Look& look);

/// Draws anew what shows its roots. False when the photo cannot be opened any more, or its picture not be
/// drawn.
/// @param was_drawn  the files show an earlier reading; where its mask is the same there is nothing to do.
bool redrawRoots(const Files& files, const Item& item, const Look& look, const ViewFacts& facts,
                 bool was_drawn);

}  // namespace slipglass
