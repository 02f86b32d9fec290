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
    /// The `photo` column: path below the folder given, '/' between parts, UTF-8; unique within a listing
    /// (two inputs that hold the same name get as much of their own folders in front as tells them apart).
    std::string name;
    /// Masks are masks/<stem>.roots.png: `name` without its extension, with it where two files share the
    /// rest.
    std::string stem;
    /// Tub that the file name ("T01_2026-01-12.jpg") or else the folder says: the nearest one, up to and with
    /// the folder given, that is not merely a date. Empty when neither does.
    std::optional<std::string> named_tub;
    /// The folder's name alone was the source: it counts only if the batch plan knows it or there is no plan.
    bool tub_from_folder = false;
    /// YYYY-MM-DD typed in the file's name, at its start or behind the tub; a day, but perhaps one that
    /// cannot be true: takenAt() says so.
    std::optional<Date> named_date;
};

struct PhotoListing {
    std::vector<PhotoFile> files;   ///< sorted by name
    std::vector<Problem> problems;  ///< what is not a photo, a link out of the folder, an unreadable folder
};

/// Stands in a photo's file name instead of a tub: it shows none of the season's.
inline constexpr const char* kNoTub = "no-tub";
/// Whether a photo's name says so ("no-tub_2026-01-12.jpg"), in any case.
bool saysNoTub(const std::string& name);

/// Whether a name ends as a picture's does, in any case.
bool endsLikePicture(const std::filesystem::path& path);

/// Files and, recursively, folders as given on the command line. Each file counts once, however it is
/// reached; the result does not depend on the order of `inputs`. Links that lead out of the folder are not
/// followed. Passed over in silence: hidden files, what belongs beside photos (batch.csv, care.csv, every
/// *.json, as corrections may lie anywhere, Thumbs.db, desktop.ini), and, in a folder that holds a season.db,
/// our own output. Any other file without a picture's ending is a problem; whether it really is a picture,
/// readFacts() finds out. Throws Error when an input does not exist.
PhotoListing listPhotos(const std::vector<std::filesystem::path>& inputs);

}  // namespace slipglass
