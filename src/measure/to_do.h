#pragma once
#include <map>
#include <vector>

#include "photo_list.h"
#include "run.h"

namespace slipglass {

/// Takes out the photos whose names say that they show no tub of the season, and forgets what was measured of
/// them before they were called so.
void setAside(std::vector<Item>& items, KeptPhotos& kept, SeasonStore& store);

/// A photo that is gone stays in the season, with two exceptions: rows about files that never gave a figure,
/// and photos that are here under another name.
/// @param elsewhere  photos of other shares: what was this one's before is not any more.
void forgetGone(const std::vector<Item>& items, const std::vector<Item>& elsewhere, KeptPhotos& kept,
                SeasonStore& store);

/// Keeps the problems of this run's photos with the season.
/// @param kept      loses what has no figures any more.
/// @param problems  gets what is to be said of photos that keep their figures.
void tellProblems(const std::vector<Item>& items, KeptPhotos& kept, SeasonStore& store,
                  std::vector<Problem>& problems);

/// Names of this run's overlays, given what the season will hold.
std::map<PhotoAndTub, std::string> plannedOverlays(const std::vector<Item>& items, const KeptPhotos& kept);

/// Photos to be measured, by place in `items`, in order of date: each waits for those of its tubs before it.
/// Those that are new or depend on something that changed, whose files are not there or had another name, and
/// those of which the season file keeps a damaged picture.
/// @param problems  gets photos that are damaged there and not here any more.
std::vector<size_t> toDo(const std::vector<Item>& items, const KeptPhotos& kept, const Run& run,
                         std::vector<Problem>& problems);

}  // namespace slipglass
