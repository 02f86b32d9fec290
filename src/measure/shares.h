#pragma once
#include <optional>
#include <string>
#include <vector>

#include "photo_list.h"
#include "slipglass/share.h"
#include "tub_list.h"

namespace slipglass {

struct FiguresKey;

/// The photos of a run by what it has to do with them.
struct Shared {
    std::vector<PhotoFile> own;   ///< to be measured here; all of them where there is no share
    std::vector<Item> elsewhere;  ///< unopened: file and tubs alone are known
};

/// Tubs that one photo shows together go to one share, that of the first of them by name. Throws Error on a
/// photo that neither names its tub nor is in the list.
Shared ownPhotos(const std::vector<PhotoFile>& files, const std::optional<Plan>& plan,
                 const std::optional<TubShare>& share, const TubList& list);

/// What a season file says of the share it holds; Given::share.
struct ShareRecord {
    TubShare share;
    std::string program, settings;  ///< see MadeFrom
    std::string photos;             ///< hash of all photos' names and of the list of tubs
    bool done = false;              ///< the run came to its end
    bool merged = false;            ///< all shares of a season; the others are empty then
};
std::string textOf(const ShareRecord& record);
/// Empty for a season of its own.
std::optional<ShareRecord> shareRecordOf(const std::string& text);

std::string hashOfPhotos(const std::vector<PhotoFile>& files, const TubList& list);

/// Throws Error where a folder with this in its season file may not be measured so.
void checkShare(const std::filesystem::path& out, bool new_season, const std::optional<ShareRecord>& held,
                const std::optional<TubShare>& share);

}  // namespace slipglass
