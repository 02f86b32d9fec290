#pragma once
#include <filesystem>
#include <functional>
#include <map>
#include <memory>
#include <optional>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "slipglass/observation.h"

namespace slipglass {

/// What a photo's figures were made from: with another value of any of these it is measured again.
struct MadeFrom {
    std::string content;    ///< hash of the file's bytes
    std::string program;    ///< the program's version of its figures, with its networks
    std::string settings;   ///< hash of the settings that figures depend on
    std::string moved;      ///< hash of corrections that change what later photos see of it; empty without
    std::string tubs;       ///< hash of its tubs' types and of their photos before this one
    std::string corrected;  ///< hashes of all its corrections; empty without
    /// Ids read on its labels, sorted; empty when none were looked for.
    std::optional<std::vector<std::string>> labels;

    bool operator==(const MadeFrom&) const = default;
};

/// MadeFrom::program of photos that were measured before it was kept.
constexpr const char* kProgramOfOldSeasons = "before season file version 6";

/// A photo's file as it was when its content was hashed: while all of this is so, its content is. `changed`
/// is the file system's own day of the last change to the file, which no program sets: a photo that another
/// takes the place of is noticed though it has the same size and date.
struct FileStamp {
    long long size = 0, modified = 0, changed = 0;  ///< bytes; ns
    std::string content;                            ///< see MadeFrom
    bool operator==(const FileStamp&) const = default;
};

/// What is kept of one photo.
struct StoredPhoto {
    MadeFrom made;
    std::vector<Observation> observations;  ///< by tub
    std::vector<Problem> problems;          ///< in the order given
    std::optional<Date> measured_on;        ///< empty where an older slipglass measured it
};

/// What a photo shows of a tub's wall, for later photos and for reading all photos of the wall together.
struct KeptView {
    std::string photo, tub;
    std::string
        basis;         ///< what all views of its tub depend on; one on another basis tells the others nothing
    std::string side;  ///< which side of the tub it shows
    std::string meta;  ///< the caller's JSON text, not looked into
    std::string picture;                 ///< the caller's, not looked into; put, and got by viewPicture()
    std::string panel;                   ///< the caller's, not looked into; put, and got by panel()
    std::string picture_hash{}, date{};  ///< set by views(); the day as isoDate gives it
    /// With which other photos it was last read (WallRecord); empty when not since it was put.
    std::string read_with{};
    bool drawn = true;  ///< its mask and overlay show that reading
};

/// What reading all photos of a tub's wall together gave. Putting it replaces what was kept of these.
struct WallRecord {
    /// How a view was read.
    struct Mark {
        std::string photo, read_with;
        bool drawn = true;
    };
    /// What the first photos of a side say together, so that later ones are read without them.
    struct Sum {
        std::string side, key, bytes;  ///< key and bytes are the caller's, not looked into
    };
    std::string key;      ///< changes with all it was made from
    std::string meta;     ///< the caller's JSON text, not looked into
    std::string picture;  ///< the caller's, not looked into
    std::vector<Sum> sums;
    std::string rests_on{};  ///< what it was made from besides the views
};

/// The season file: one SQLite file that outlives a kill at any moment, since each change is one transaction.
/// A photo that is gone from the user's folder stays in the season until `forget`.
/// One object may be used by several threads; several programs may read while one writes.
class SeasonStore {
public:
    enum class Use { read, write };

    /// `write` makes the file and its folder when they are missing. A file of an older slipglass is brought
    /// up to date, with a copy of it as it was beside it ("season.db.version-3"). Throws Error when the file
    /// is missing (`read`), not a season file, damaged (`PRAGMA quick_check`), of a newer slipglass, or
    /// cannot be opened or written. So do all members, when the disk is full or another program keeps the
    /// file locked.
    explicit SeasonStore(const std::filesystem::path& season_db, Use use = Use::write);
    ~SeasonStore();
    SeasonStore(SeasonStore&&) noexcept;
    SeasonStore& operator=(SeasonStore&&) noexcept;
    SeasonStore(const SeasonStore&) = delete;
    SeasonStore& operator=(const SeasonStore&) = delete;

    std::filesystem::path path() const;  ///< of the file

    /// Replaces all that is kept of `photo`. Each observation's `photo` must be `photo`, and its tubs differ
    /// (else std::invalid_argument: our bug). Figures that are not finite are kept as empty.
    void putPhoto(const std::string& photo, const MadeFrom& made,
                  const std::vector<Observation>& observations, const std::vector<Problem>& problems,
                  const std::vector<KeptView>& views = {}, std::optional<Date> measured_on = {});
    /// In one transaction, so that figures and what they come from agree.
    /// @param seen   replace what is kept of their photo and tub.
    /// @param marks  of views of the tub.
    void putWall(const std::string& tub, const WallRecord& wall, const std::vector<Observation>& seen,
                 const std::vector<WallRecord::Mark>& marks);
    /// The wall was looked at and is as its views are.
    void putWallChecked(const std::string& tub, const std::string& rests_on);
    void forget(const std::string& photo);
    /// Adds to what is kept of files; of photos that are gone it is thrown away.
    void putFiles(const std::map<std::string, FileStamp>& files);

    std::optional<StoredPhoto> photo(const std::string& photo) const;
    std::optional<Observation> find(const std::string& photo, const std::string& tub) const;
    std::vector<std::string> photos() const;  ///< sorted
    std::map<std::string, StoredPhoto> allPhotos() const;
    std::map<std::string, FileStamp> files() const;  ///< by photo
    std::optional<Observation> newest() const;       ///< of all photos; of two the last by name
    std::vector<Observation> observations() const;   ///< by tub, date, time of day (unknown first), photo
    std::vector<Problem> problems() const;           ///< by photo, then as given

    /// By date, time of day (unknown first), photo; without picture and panel.
    std::vector<KeptView> views(const std::string& tub) const;
    /// Photos, each with a tub, whose kept view is not drawn as it was read last.
    std::set<std::pair<std::string, std::string>> notDrawn() const;
    /// Of a view. Empty without one, and when it is not as it was written.
    std::string viewPicture(const std::string& photo, const std::string& tub) const;
    std::string panel(const std::string& photo, const std::string& tub) const;
    /// Photos of a tub whose picture or panel is not as it was written, sorted. Reads them all.
    std::vector<std::string> damagedViews(const std::string& tub) const;
    /// Empty also when its picture, or a sum of it, is not as it was written.
    std::optional<WallRecord> wall(const std::string& tub) const;
    std::vector<std::string> tubs() const;  ///< those with observations, sorted
    /// Tubs whose wall is as its views are, all of them drawn where `listed` says that they can be, and what
    /// each rests on. Opens no view.
    std::map<std::string, std::string> wallsUpToDate(
        const std::function<bool(const std::string& photo)>& listed) const;

    /// Replaces what the user gave beside the photos, texts by name; not looked into.
    void putGiven(const std::map<std::string, std::string>& given);
    std::map<std::string, std::string> given() const;

private:
    struct Database;
    std::unique_ptr<Database> database_;
};

/// What could be saved of a damaged season file.
struct Rescued {
    std::filesystem::path damaged;  ///< where the damaged file is kept now
    size_t photos = 0;              ///< whose figures were saved
    /// Photos of which something was lost: their figures, or what later photos are compared with. Sorted.
    std::vector<std::string> lost;
};

/// Puts in the place of a damaged season file one with all that can still be read of it, and keeps the
/// damaged one beside it ("season.db.damaged"). Throws Error when nothing can be read, or when it cannot be
/// written.
Rescued rescueSeason(const std::filesystem::path& season_db);

}  // namespace slipglass
