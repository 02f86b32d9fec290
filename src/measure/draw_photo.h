#pragma once
#include <filesystem>
#include <set>

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
/// @param to_draw  those of its roots are still to come of these.
bool filesThere(const Item& item, const std::set<PhotoAndTub>& to_draw, const Run& run);

/// Writes those that show the photo and the tub's place in it.
/// @param picture  of the photo, the size of the look's masks or of another reduction.
void drawWall(const Files& files, const Picture& picture, const Look& look);

/// Writes those that show its roots.
void drawRoots(const Files& files, const Picture& picture, const Look& look);

/// The same for a photo that has to be opened for it. False when it cannot be opened any more, or its picture
/// not be drawn.
/// @param was_drawn  the files show an earlier reading; where its mask is the same there is nothing to do.
bool redrawRoots(const Files& files, const Item& item, const Look& look, const ViewFacts& facts,
                 bool was_drawn, const Run& run);

}  // namespace slipglass
