#pragma once
#include <map>
#include <string>
#include <vector>

#include "slipglass/error.h"
#include "slipglass/measure.h"
#include "slipglass/observe.h"
#include "slipglass/store/content_hash.h"
#include "slipglass/store/season_store.h"

namespace slipglass {

/// What the season file has of all photos, read once a run.
struct KeptPhotos {
    std::map<std::string, StoredPhoto> photos;
    std::map<std::string, FileStamp> files;

    explicit KeptPhotos(const SeasonStore& store) : photos(store.allPhotos()), files(store.files()) {}
    /// Null where it has none of that name.
    const StoredPhoto* find(const std::string& photo) const
    {
        const auto found = photos.find(photo);
        return found == photos.end() ? nullptr : &found->second;
    }
};

/// A photo of this run, before it is looked at closely.
struct Item {
    PhotoFile file;
    std::optional<PhotoFacts> facts;  ///< got by factsOf: a photo that is kept is not opened
    std::optional<FileStamp> stamp;   ///< empty where the file was changed a moment ago
    std::optional<TakenAt> taken;
    std::vector<std::string> tubs;                  ///< ids, sorted
    std::map<std::string, Correction> corrections;  ///< by tub
    std::optional<Problem> problem;                 ///< why it cannot be measured
    MadeFrom made;                                  ///< filled in as it becomes known
};

/// Its masks are masks/<stem>.roots.png: safe on every file system.
std::string photoStem(const Item& item);
/// The same for one of its tubs.
std::string maskStem(const Item& item, const std::string& tub);

/// Reads them where they are not known. Throws Error as readFacts does.
PhotoFacts factsOf(const Item& item, const PhotoLimits& limits);

/// Its tub where it shows just one, for a row of problems.csv; else "".
std::string onlyTub(const Item& item);

/// What was found of a photo that does not name its tub.
struct ListedPhoto {
    std::string name, stem;  ///< PhotoFile's, once it is told apart from others of the season
    std::string content;     ///< hash of its bytes
    std::optional<std::vector<std::string>> labels;  ///< MadeFrom::labels
    std::vector<std::string> tubs;                   ///< none: see `problem`
    std::optional<Problem> problem;
};

/// By PhotoFile::name as it is listed.
using TubList = std::map<std::string, ListedPhoto>;

/// Reads each file's facts, date and tubs; none where neither name, label nor an earlier run tells the tub
/// (see settleTubs), and of one whose name says that it shows none nothing but its content. Labels are read
/// only where neither name nor folder tells the tub, and not again for a photo that is kept with the same
/// content. A file that is as it was (FileStamp) is not read again; if it gave figures by this program, it is
/// not opened either.
/// @param listed  by PhotoFile::name: taken at its word about photos that do not name their tub. Throws Error
/// where one has changed since.
std::vector<Item> readItems(const std::vector<PhotoFile>& files, const std::optional<Plan>& plan,
                            const Settings& settings, const KeptPhotos& kept, const MeasureOptions& options,
                            const MeasureEvents& events, const TubList& listed = {});

/// A typed name, or a folder that the plan knows, is taken at its word.
bool namesItsTub(const PhotoFile& file, const std::optional<Plan>& plan);

/// Whether the plan names a tub.
bool planned(const std::optional<Plan>& plan, const std::string& tub);

}  // namespace slipglass
