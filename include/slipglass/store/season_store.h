#pragma once
#include <filesystem>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "slipglass/observation.h"

namespace slipglass {

struct StoredObservation {
    Observation seen;
    std::string key;  ///< its photo's
};

/// What is kept of one photo.
struct StoredPhoto {
    std::string key;  ///< opaque: whatever the caller's figures depend on. Another key = measure again.
    std::vector<Observation> observations;  ///< by tub
    std::vector<Problem> problems;          ///< in the order given
    std::optional<Date> measured_on;        ///< empty where an older slipglass measured it
};

/// What a photo shows of a tub's wall, for later photos and for reading all photos of the wall together.
struct KeptView {
    std::string photo, tub;
    std::string meta;   ///< the caller's JSON text, not looked into
    std::string bytes;  ///< the caller's, not looked into
    std::string panel;  ///< the caller's, not looked into; large
};

/// What all photos of a tub's wall together gave.
struct KeptHistory {
    std::string key;    ///< opaque: what it was made from
    std::string meta;   ///< the caller's JSON text, not looked into
    std::string bytes;  ///< the caller's, not looked into
};

/// The season file: one SQLite file that outlives a kill at any moment, since each change is one transaction.
/// A photo that is gone from the user's folder stays in the season until `forget`.
/// One object may be used by several threads; several programs may read while one writes.
class SeasonStore {
public:
    enum class Use { read, write };

    /// `write` makes the file and its folder when they are missing. A file of an older slipglass is brought
    /// up to date, with a copy of it as it was beside it ("season.db.version-3"). Throws Error when the file
    /// is missing (`read`), not a season file, damaged, of a newer slipglass, or cannot be opened or written.
    /// So do all members, when the disk is full or another program keeps the file locked.
    explicit SeasonStore(const std::filesystem::path& season_db, Use use = Use::write);
    ~SeasonStore();
    SeasonStore(SeasonStore&&) noexcept;
    SeasonStore& operator=(SeasonStore&&) noexcept;
    SeasonStore(const SeasonStore&) = delete;
    SeasonStore& operator=(const SeasonStore&) = delete;

    /// Replaces all that is kept of `photo`. Each observation's `photo` must be `photo`, and its tubs differ
    /// (else std::invalid_argument: our bug). Figures that are not finite are kept as empty.
    void putPhoto(const std::string& photo, const std::string& key,
                  const std::vector<Observation>& observations, const std::vector<Problem>& problems,
                  const std::vector<KeptView>& views = {}, std::optional<Date> measured_on = {});
    /// Replaces one observation of a photo that is kept, in one transaction with the history it comes from.
    void putHistory(const std::string& tub, const KeptHistory& history, const std::vector<Observation>& seen);
    void forget(const std::string& photo);

    std::optional<StoredPhoto> photo(const std::string& photo) const;
    std::optional<StoredObservation> find(const std::string& photo, const std::string& tub) const;
    std::vector<std::string> photos() const;        ///< sorted
    std::vector<Observation> observations() const;  ///< by tub, date, time of day (unknown first), photo
    std::vector<Problem> problems() const;          ///< by photo, then as given

    /// By date, time of day (unknown first), photo; without their panels.
    std::vector<KeptView> views(const std::string& tub) const;
    std::string panel(const std::string& photo, const std::string& tub) const;  ///< of a view; empty without
    std::optional<KeptHistory> history(const std::string& tub) const;
    std::vector<std::string> tubs() const;  ///< those with observations, sorted

    /// Replaces what the user gave beside the photos, texts by name; not looked into.
    void putGiven(const std::map<std::string, std::string>& given);
    std::map<std::string, std::string> given() const;

private:
    struct Database;
    std::unique_ptr<Database> database_;
};

}  // namespace slipglass
