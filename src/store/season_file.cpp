#include "season_file.h"

#include "schema.h"
#include "slipglass/error.h"
#include "slipglass/store/unreadable.h"

namespace slipglass {

namespace {

int openFlags(const std::filesystem::path& path, SeasonStore::Use use)
{
    if (use == SeasonStore::Use::write) {
        std::error_code problem;
        if (path.has_parent_path()) std::filesystem::create_directories(path.parent_path(), problem);
        if (problem)
            throw Error(path.parent_path().string(), "the folder cannot be made: " + problem.message(),
                        "Check that you may write there");
        return SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE;
    }
    if (!std::filesystem::exists(path))
        throw Error(path.string(), "there is no season file",
                    "Run 'slipglass measure' first, or check the folder");
    // Not read-only: a reader must be able to undo what a killed writer left half done.
    return SQLITE_OPEN_READWRITE;
}

/// A damaged page would come to light by the first row on it that is wanted, in the middle of a run. Pictures
/// of walls are not read for it, which are nearly all of the file: each has a hash, looked at when it is
/// wanted.
void checkSound(sqlite::Connection& file)
{
    if (file.number("PRAGMA user_version") < 7) {
        auto row = file.prepare("PRAGMA quick_check(1)");
        if (row.step() && row.readText() != "ok") file.fail(SQLITE_CORRUPT);
        return;
    }
    for (const char* table : {"photo", "observation", "problem", "photo_file", "given"}) {
        auto row = file.prepare("PRAGMA quick_check(" + std::string(table) + ")");
        if (row.step() && row.readText() != "ok") file.fail(SQLITE_CORRUPT);
    }
}

bool isNew(sqlite::Connection& file)
{
    return file.number("PRAGMA application_id") == 0 && file.number("PRAGMA user_version") == 0 &&
           file.number("SELECT count(*) FROM sqlite_master") == 0;
}

/// Why a file is not ours to read.
std::optional<Error> whyNotOurs(sqlite::Connection& file)
{
    if (file.number("PRAGMA application_id") != kApplicationId)
        return Error(file.path(), "is the database of another program",
                     "Choose another folder, or move the file away");
    const int version = file.number("PRAGMA user_version");
    if (version < kOldestVersion)
        return Error(file.path(), "was written by an older slipglass and keeps less than this one needs",
                     "Move the file away and run again to measure the photos anew");
    if (version > kSchemaVersion)
        return Error(file.path(),
                     "was written by a newer slipglass (season file version " + std::to_string(version) +
                         "; this one knows " + std::to_string(kSchemaVersion) + ")",
                     "Update slipglass, or choose another folder");
    return std::nullopt;
}

/// All in one transaction: a file that cannot be brought up to date stays as it was.
void bringUpToDate(sqlite::Connection& file, int version)
{
    if (file.isReadOnly())
        throw Error(file.path(), "was written by an older slipglass and may not be written to",
                    "Copy its folder to where you may write");
    const std::string copy = file.path() + ".version-" + std::to_string(version), begun = copy + ".part";
    if (!std::filesystem::exists(copy)) {
        std::filesystem::remove(begun);
        file.run("VACUUM INTO " + sqlite::quoted(begun));
        std::filesystem::rename(begun, copy);
    }
    sqlite::Transaction transaction(file);
    stepToToday(file);  // from where it is now: another program may have been quicker
    transaction.commit();
}

}  // namespace

std::optional<Error> whyUnreadable(const std::filesystem::path& season_db)
{
    try {
        sqlite::Connection file(season_db.string(), SQLITE_OPEN_READWRITE);
        return isNew(file) ? std::nullopt : whyNotOurs(file);
    } catch (const Error&) {
        return std::nullopt;  // damaged, locked or not to be opened: whoever opens it next tells it
    }
}

sqlite::Connection openSeasonFile(const std::filesystem::path& season_db, SeasonStore::Use use)
{
    sqlite::Connection file(season_db.string(), openFlags(season_db, use));
    // Said now and not by the first write, which may be an hour away.
    if (use == SeasonStore::Use::write && file.isReadOnly()) file.fail(SQLITE_READONLY);
    // Before anything is changed in it.
    if (use == SeasonStore::Use::read || !isNew(file))
        if (const auto why = whyNotOurs(file)) throw *why;
    // A rollback journal, not WAL: WAL keeps fresh rows in a second file and needs shared memory, and the
    // folder may be on a USB stick, a network drive or copied by a syncing program while we are not
    // running. This way season.db is whole whenever nobody writes. FULL: a commit survives the stick
    // being pulled afterwards.
    file.run("PRAGMA journal_mode = DELETE; PRAGMA synchronous = FULL; PRAGMA foreign_keys = ON;");
    if (use == SeasonStore::Use::write) {
        sqlite::Transaction transaction(file);
        if (isNew(file)) makeTables(file);
        transaction.commit();
    }
    const int version = file.number("PRAGMA user_version");
    checkSound(file);
    if (version < kSchemaVersion) bringUpToDate(file, version);
    return file;
}

}  // namespace slipglass
