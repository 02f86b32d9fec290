#pragma once
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "slipglass/observation.h"

namespace slipglass {

/// A file that may be a photo, and what its place and name say.
struct PhotoFile {
    std::filesystem::path path;
    /// The `photo` column: path below the folder given, '/' between parts; unique within a listing.
    std::string name;
    /// Masks are masks/<stem>.roots.png: `name` without its extension, with it where two files share the rest.
    std::string stem;
    /// Tub that the file name ("T01_2026-01-12.jpg") or else the folder says; empty when neither does.
    std::optional<std::string> named_tub;
    /// The folder's name alone was the source: it counts only if the batch plan knows it or there is no plan.
    bool tub_from_folder = false;
    std::optional<Date> named_date;  ///< YYYY-MM-DD typed in the file's name
};

struct PhotoListing {
    std::vector<PhotoFile> files;   ///< sorted by name
    std::vector<Problem> problems;  ///< what is not a photo, a link out of the folder, an unreadable folder
};

/// Files and, recursively, folders as given on the command line. Links that lead out of the folder are not
/// followed; hidden files and known companions (batch.csv, care.csv, settings.json, *.json of corrections,
/// Thumbs.db, .DS_Store) are passed over in silence; any other file that is not a picture is a problem.
/// Throws Error when an input does not exist.
PhotoListing listPhotos(const std::vector<std::filesystem::path>& inputs);

}  // namespace slipglass
