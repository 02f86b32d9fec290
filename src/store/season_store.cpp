#include "slipglass/store/season_store.h"

#include <algorithm>
#include <mutex>
#include <nlohmann/json.hpp>
#include <set>
#include <stdexcept>

#include "slipglass/error.h"
#include "slipglass/season/figures.h"
#include "sqlite.h"

namespace slipglass {

namespace {

using nlohmann::json;

// "slip" in ASCII, in the file's header: tells our files from other programs' databases.
constexpr int kApplicationId = 0x736c6970;
constexpr int kSchemaVersion = 5;
/// The oldest that is still read.
constexpr int kOldestVersion = 3;

// The observation's columns other than its figures, before and after them.
constexpr const char* kBefore = "photo, tub, date, second_of_day, state";
constexpr const char* kAfter = "standing_water, notes, outline, water_line, parts";
constexpr const char* kByTubAndDate = "ORDER BY tub, date, second_of_day, photo";

std::string figureNames(const char* suffix)
{
    std::string names;
    for (const auto& figure : kFigures) names += std::string(figure.name) + suffix + ", ";
    return names;
}

std::string schema()
{
    return "CREATE TABLE photo (name TEXT PRIMARY KEY, key TEXT NOT NULL, measured_on TEXT NOT NULL DEFAULT "
           "'')"
           " WITHOUT ROWID;"
           "CREATE TABLE observation (photo TEXT NOT NULL REFERENCES photo(name) ON DELETE CASCADE, tub TEXT "
           "NOT NULL,"
           " date TEXT NOT NULL, second_of_day INTEGER, state TEXT NOT NULL, " +
           figureNames(" REAL") +
           " standing_water INTEGER, notes TEXT NOT NULL, outline TEXT NOT NULL, water_line TEXT NOT NULL,"
           " parts TEXT NOT NULL DEFAULT '[]',"
           " PRIMARY KEY (photo, tub)) WITHOUT ROWID;"
           "CREATE TABLE problem (photo TEXT NOT NULL REFERENCES photo(name) ON DELETE CASCADE, place "
           "INTEGER NOT NULL,"
           " file TEXT NOT NULL, tub TEXT NOT NULL, state TEXT NOT NULL, reason TEXT NOT NULL, remedy TEXT "
           "NOT NULL,"
           " PRIMARY KEY (photo, place)) WITHOUT ROWID;"
           "CREATE TABLE wall_view (photo TEXT NOT NULL REFERENCES photo(name) ON DELETE CASCADE, tub TEXT "
           "NOT NULL,"
           " meta TEXT NOT NULL, bytes BLOB NOT NULL, panel BLOB NOT NULL, PRIMARY KEY (photo, tub));"
           "CREATE TABLE wall_history (tub TEXT PRIMARY KEY, key TEXT NOT NULL, meta TEXT NOT NULL,"
           " bytes BLOB NOT NULL);"
           "CREATE TABLE given (name TEXT PRIMARY KEY, text TEXT NOT NULL) WITHOUT ROWID;"
           "PRAGMA application_id = " +
           std::to_string(kApplicationId) +
           ";"
           "PRAGMA user_version = " +
           std::to_string(kSchemaVersion) + ";";
}

/// What brings a file of a version to the next.
std::string stepFrom(int version)
{
    switch (version) {
        case 3:  // a wall's first panel gave way to a panel of each view
            return "DROP TABLE reference_panel;"
                   "ALTER TABLE wall_view RENAME TO view_before;"
                   "CREATE TABLE wall_view (photo TEXT NOT NULL REFERENCES photo(name) ON DELETE CASCADE,"
                   " tub TEXT NOT NULL, meta TEXT NOT NULL, bytes BLOB NOT NULL, panel BLOB NOT NULL,"
                   " PRIMARY KEY (photo, tub));"
                   "INSERT INTO wall_view SELECT photo, tub, meta, bytes, x'' FROM view_before;"
                   "DROP TABLE view_before;";
        case 4:
            return "ALTER TABLE photo ADD COLUMN measured_on TEXT NOT NULL DEFAULT '';";
        default:
            throw std::logic_error("no way on from season file version " + std::to_string(version));
    }
}

/// JSON text; bytes that are not UTF-8 (from file names of old systems) become the replacement character.
std::string jsonText(const json& value)
{
    return value.dump(-1, ' ', false, json::error_handler_t::replace);
}

std::string pointsText(const std::vector<PhotoPoint>& points)
{
    json list = json::array();
    for (const auto& point : points) list.push_back({point.x_px, point.y_px});
    return jsonText(list);
}

std::vector<PhotoPoint> parsePoints(const std::string& text)
{
    std::vector<PhotoPoint> points;
    for (const auto& pair : json::parse(text))
        points.push_back({pair.at(0).get<double>(), pair.at(1).get<double>()});
    return points;
}

std::string partsText(const std::vector<PartFigures>& parts)
{
    json list = json::array();
    for (const auto& part : parts) {
        json one{{"place", part.place}};
        for (const auto& figure : kPartFigures)
            if (const auto value = finite(part.*figure.value)) one[figure.name] = *value;
        list.push_back(one);
    }
    return jsonText(list);
}

std::vector<PartFigures> parseParts(const std::string& text)
{
    std::vector<PartFigures> parts;
    for (const auto& one : json::parse(text)) {
        PartFigures part;
        part.place = one.at("place").get<std::string>();
        for (const auto& figure : kPartFigures)
            if (one.contains(figure.name)) part.*figure.value = one[figure.name].get<double>();
        parts.push_back(std::move(part));
    }
    return parts;
}

std::optional<int> asWhole(std::optional<bool> value)
{
    return value ? std::optional<int>(*value ? 1 : 0) : std::nullopt;
}

void insertObservation(sqlite::Connection& to, const Observation& seen)
{
    std::string marks;
    for (size_t i = 0; i < kFigures.size() + 9; ++i) marks += "?, ";
    auto row = to.prepare("INSERT INTO observation (" + std::string(kBefore) + ", " + figureNames("") +
                          kAfter + ") VALUES (" + marks + "?)");
    row.text(seen.photo).text(seen.tub).text(isoDate(seen.taken.date)).whole(seen.taken.second_of_day);
    row.text(stateText(seen.state));
    for (const auto& figure : kFigures) row.number(finite(seen.*figure.value));
    row.whole(asWhole(seen.standing_water)).text(jsonText(seen.notes));
    row.text(pointsText(seen.outline)).text(pointsText(seen.water_line)).text(partsText(seen.parts));
    row.step();
}

void insertProblem(sqlite::Connection& to, const std::string& photo, int place, const Problem& problem)
{
    auto row = to.prepare(
        "INSERT INTO problem (photo, place, file, tub, state, reason, remedy) VALUES (?,?,?,?,?,?,?)");
    row.text(photo)
        .whole(place)
        .text(problem.file)
        .text(problem.tub)
        .text(problem.state)
        .text(problem.reason);
    row.text(problem.remedy).step();
}

Observation readObservation(sqlite::Statement& row, const std::string& file)
{
    Observation seen;
    seen.photo = row.readText();
    seen.tub = row.readText();
    const auto date = parseIsoDate(row.readText());
    seen.taken.second_of_day = row.readWhole();
    const auto state = parseState(row.readText());
    for (const auto& figure : kFigures) seen.*figure.value = row.readNumber();
    if (const auto standing = row.readWhole()) seen.standing_water = *standing != 0;
    if (!date || !state)
        throw Error(file, "holds a row of the photo '" + seen.photo + "' that slipglass did not write",
                    "Move the file away and run again to measure the photos anew");
    seen.taken.date = *date;
    seen.state = *state;
    seen.notes = json::parse(row.readText()).get<std::vector<std::string>>();
    seen.outline = parsePoints(row.readText());
    seen.water_line = parsePoints(row.readText());
    seen.parts = parseParts(row.readText());
    return seen;
}

std::vector<Observation> readObservations(sqlite::Statement& query, const std::string& file)
{
    std::vector<Observation> all;
    try {
        while (query.step()) all.push_back(readObservation(query, file));
    } catch (const json::exception&) {
        throw Error(file, "holds a row that slipglass did not write",
                    "Move the file away and run again to measure the photos anew");
    }
    return all;
}

std::vector<Problem> readProblems(sqlite::Statement& query)
{
    std::vector<Problem> all;
    while (query.step()) {
        Problem problem;
        problem.file = query.readText();
        problem.tub = query.readText();
        problem.state = query.readText();
        problem.reason = query.readText();
        problem.remedy = query.readText();
        all.push_back(std::move(problem));
    }
    return all;
}

void requireOurs(const std::string& photo, const std::vector<Observation>& observations)
{
    std::set<std::string> tubs;
    for (const auto& seen : observations)
        if (seen.photo != photo || !tubs.insert(seen.tub).second)
            throw std::invalid_argument("putPhoto: an observation of another photo, or a tub twice, in " +
                                        photo);
}

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

}  // namespace

struct SeasonStore::Database {
    mutable std::mutex mutex;
    mutable sqlite::Connection file;

    Database(const std::filesystem::path& path, Use use) : file(path.string(), openFlags(path, use))
    {
        // Said now and not by the first write, which may be an hour away.
        if (use == Use::write && file.isReadOnly()) file.fail(SQLITE_READONLY);
        // A rollback journal, not WAL: WAL keeps fresh rows in a second file and needs shared memory, and the
        // folder may be on a USB stick, a network drive or copied by a syncing program while we are not
        // running. This way season.db is whole whenever nobody writes. FULL: a commit survives the stick
        // being pulled afterwards.
        file.run("PRAGMA journal_mode = DELETE; PRAGMA synchronous = FULL; PRAGMA foreign_keys = ON;");
        if (use == Use::write) {
            sqlite::Transaction transaction(file);
            if (isNew()) file.run(schema());
            transaction.commit();
        }
        checkVersion();
    }

    bool isNew()
    {
        return file.number("PRAGMA application_id") == 0 && file.number("PRAGMA user_version") == 0 &&
               file.number("SELECT count(*) FROM sqlite_master") == 0;
    }

    void checkVersion()
    {
        if (file.number("PRAGMA application_id") != kApplicationId)
            throw Error(file.path(), "is the database of another program",
                        "Choose another folder, or move the file away");
        const int version = file.number("PRAGMA user_version");
        if (version < kOldestVersion)
            throw Error(file.path(), "was written by an older slipglass and keeps less than this one needs",
                        "Move the file away and run again to measure the photos anew");
        if (version < kSchemaVersion) {
            bringUpToDate(version);
            return;
        }
        if (version != kSchemaVersion)
            throw Error(file.path(),
                        "was written by a newer slipglass (season file version " + std::to_string(version) +
                            "; this one knows " + std::to_string(kSchemaVersion) + ")",
                        "Update slipglass, or choose another folder");
    }

    /// All in one transaction: a file that cannot be brought up to date stays as it was.
    void bringUpToDate(int version)
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
        // Another program may have been quicker.
        for (int v = file.number("PRAGMA user_version"); v < kSchemaVersion; ++v) file.run(stepFrom(v));
        file.run("PRAGMA user_version = " + std::to_string(kSchemaVersion));
        transaction.commit();
    }

    /// What all photos of a wall together gave holds no longer when one of them changes.
    void dropHistories(const std::string& photo)
    {
        auto row = file.prepare(
            "DELETE FROM wall_history WHERE tub IN (SELECT tub FROM observation WHERE photo = ?)");
        row.text(photo).step();
    }

    void forget(const std::string& photo)
    {
        dropHistories(photo);
        auto row = file.prepare("DELETE FROM photo WHERE name = ?");
        row.text(photo).step();
    }
};

SeasonStore::SeasonStore(const std::filesystem::path& season_db, Use use)
    : database_(std::make_unique<Database>(season_db, use))
{
}
SeasonStore::~SeasonStore() = default;
SeasonStore::SeasonStore(SeasonStore&&) noexcept = default;
SeasonStore& SeasonStore::operator=(SeasonStore&&) noexcept = default;

void SeasonStore::putPhoto(const std::string& photo, const std::string& key,
                           const std::vector<Observation>& observations, const std::vector<Problem>& problems,
                           const std::vector<KeptView>& views, std::optional<Date> measured_on)
{
    requireOurs(photo, observations);
    const std::scoped_lock lock(database_->mutex);
    auto& file = database_->file;
    sqlite::Transaction transaction(file);
    database_->forget(photo);
    file.prepare("INSERT INTO photo (name, key, measured_on) VALUES (?, ?, ?)")
        .text(photo)
        .text(key)
        .text(measured_on ? isoDate(*measured_on) : "")
        .step();
    for (const auto& seen : observations) insertObservation(file, seen);
    database_->dropHistories(photo);
    for (size_t i = 0; i < problems.size(); ++i) insertProblem(file, photo, static_cast<int>(i), problems[i]);
    for (const KeptView& view : views) {
        auto row =
            file.prepare("INSERT INTO wall_view (photo, tub, meta, bytes, panel) VALUES (?, ?, ?, ?, ?)");
        row.text(photo).text(view.tub).text(view.meta).blob(view.bytes).blob(view.panel).step();
    }
    transaction.commit();
}

void SeasonStore::putHistory(const std::string& tub, const KeptHistory& history,
                             const std::vector<Observation>& seen)
{
    const std::scoped_lock lock(database_->mutex);
    auto& file = database_->file;
    sqlite::Transaction transaction(file);
    for (const Observation& one : seen) {
        file.prepare("DELETE FROM observation WHERE photo = ? AND tub = ?")
            .text(one.photo)
            .text(one.tub)
            .step();
        insertObservation(file, one);
    }
    auto row =
        file.prepare("INSERT OR REPLACE INTO wall_history (tub, key, meta, bytes) VALUES (?, ?, ?, ?)");
    row.text(tub).text(history.key).text(history.meta).blob(history.bytes).step();
    transaction.commit();
}

void SeasonStore::forget(const std::string& photo)
{
    const std::scoped_lock lock(database_->mutex);
    sqlite::Transaction transaction(database_->file);
    database_->forget(photo);
    transaction.commit();
}

std::optional<StoredPhoto> SeasonStore::photo(const std::string& photo) const
{
    const std::scoped_lock lock(database_->mutex);
    auto& file = database_->file;
    auto row = file.prepare("SELECT key, measured_on FROM photo WHERE name = ?");
    if (!row.text(photo).step()) return std::nullopt;
    StoredPhoto kept;
    kept.key = row.readText();
    kept.measured_on = parseIsoDate(row.readText());
    auto rows = file.prepare("SELECT " + std::string(kBefore) + ", " + figureNames("") + kAfter +
                             " FROM observation WHERE photo = ? ORDER BY tub");
    kept.observations = readObservations(rows.text(photo), file.path());
    auto problems =
        file.prepare("SELECT file, tub, state, reason, remedy FROM problem WHERE photo = ? ORDER BY place");
    kept.problems = readProblems(problems.text(photo));
    return kept;
}

std::optional<StoredObservation> SeasonStore::find(const std::string& photo, const std::string& tub) const
{
    const auto kept = this->photo(photo);
    if (!kept) return std::nullopt;
    const auto seen = std::find_if(kept->observations.begin(), kept->observations.end(),
                                   [&](const Observation& one) { return one.tub == tub; });
    if (seen == kept->observations.end()) return std::nullopt;
    return StoredObservation{*seen, kept->key};
}

std::vector<std::string> SeasonStore::photos() const
{
    const std::scoped_lock lock(database_->mutex);
    auto rows = database_->file.prepare("SELECT name FROM photo ORDER BY name");
    std::vector<std::string> names;
    while (rows.step()) names.push_back(rows.readText());
    return names;
}

std::vector<Observation> SeasonStore::observations() const
{
    const std::scoped_lock lock(database_->mutex);
    auto rows = database_->file.prepare("SELECT " + std::string(kBefore) + ", " + figureNames("") + kAfter +
                                        " FROM observation " + kByTubAndDate);
    return readObservations(rows, database_->file.path());
}

std::vector<Problem> SeasonStore::problems() const
{
    const std::scoped_lock lock(database_->mutex);
    auto rows =
        database_->file.prepare("SELECT file, tub, state, reason, remedy FROM problem ORDER BY photo, place");
    return readProblems(rows);
}

std::vector<KeptView> SeasonStore::views(const std::string& tub) const
{
    const std::scoped_lock lock(database_->mutex);
    auto rows = database_->file.prepare(
        "SELECT photo, tub, meta, bytes FROM wall_view JOIN observation USING (photo, tub) WHERE tub = ? "
        "ORDER BY date, second_of_day, photo");
    rows.text(tub);
    std::vector<KeptView> all;
    while (rows.step()) {
        KeptView view;
        view.photo = rows.readText();
        view.tub = rows.readText();
        view.meta = rows.readText();
        view.bytes = rows.readText();
        all.push_back(std::move(view));
    }
    return all;
}

std::string SeasonStore::panel(const std::string& photo, const std::string& tub) const
{
    const std::scoped_lock lock(database_->mutex);
    auto row = database_->file.prepare("SELECT panel FROM wall_view WHERE photo = ? AND tub = ?");
    return row.text(photo).text(tub).step() ? row.readText() : std::string();
}

std::optional<KeptHistory> SeasonStore::history(const std::string& tub) const
{
    const std::scoped_lock lock(database_->mutex);
    auto row = database_->file.prepare("SELECT key, meta, bytes FROM wall_history WHERE tub = ?");
    if (!row.text(tub).step()) return std::nullopt;
    KeptHistory history;
    history.key = row.readText();
    history.meta = row.readText();
    history.bytes = row.readText();
    return history;
}

std::vector<std::string> SeasonStore::tubs() const
{
    const std::scoped_lock lock(database_->mutex);
    auto rows = database_->file.prepare("SELECT DISTINCT tub FROM observation ORDER BY tub");
    std::vector<std::string> names;
    while (rows.step()) names.push_back(rows.readText());
    return names;
}

void SeasonStore::putGiven(const std::map<std::string, std::string>& given)
{
    const std::scoped_lock lock(database_->mutex);
    auto& file = database_->file;
    sqlite::Transaction transaction(file);
    file.run("DELETE FROM given");
    for (const auto& [name, text] : given) {
        auto row = file.prepare("INSERT INTO given (name, text) VALUES (?, ?)");
        row.text(name).text(text).step();
    }
    transaction.commit();
}

std::map<std::string, std::string> SeasonStore::given() const
{
    const std::scoped_lock lock(database_->mutex);
    auto rows = database_->file.prepare("SELECT name, text FROM given");
    std::map<std::string, std::string> all;
    while (rows.step()) {
        std::string name = rows.readText();
        all[std::move(name)] = rows.readText();
    }
    return all;
}

}  // namespace slipglass
