#include "slipglass/store/season_store.h"

#include <algorithm>
#include <mutex>
#include <set>
#include <stdexcept>

#include "rows.h"
#include "season_file.h"
#include "slipglass/store/content_hash.h"

namespace slipglass {

namespace {

constexpr const char* kByTubAndDate = "ORDER BY tub, date, second_of_day, photo";

void requireOurs(const std::string& photo, const std::vector<Observation>& observations)
{
    std::set<std::string> tubs;
    for (const auto& seen : observations)
        if (seen.photo != photo || !tubs.insert(seen.tub).second)
            throw std::invalid_argument("putPhoto: an observation of another photo, or a tub twice, in " +
                                        photo);
}

/// Whether a picture, in this column, has the hash that is in the next.
bool isAsWritten(sqlite::Statement& row)
{
    const std::string hash = contentHash(row.readText());
    return hash == row.readText();
}

/// A picture, in this column, if it has the hash that is in the next; else nothing.
std::string readAsWritten(sqlite::Statement& row)
{
    std::string picture = row.readText();
    return contentHash(picture) == row.readText() ? picture : std::string();
}

}  // namespace

struct SeasonStore::Database {
    mutable std::mutex mutex;
    mutable sqlite::Connection file;

    Database(const std::filesystem::path& path, Use use) : file(openSeasonFile(path, use)) {}

    void forget(const std::string& photo)
    {
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

std::filesystem::path SeasonStore::path() const
{
    return database_->file.path();
}

void SeasonStore::putPhoto(const std::string& photo, const MadeFrom& made,
                           const std::vector<Observation>& observations, const std::vector<Problem>& problems,
                           const std::vector<KeptView>& views, std::optional<Date> measured_on)
{
    requireOurs(photo, observations);
    const std::scoped_lock lock(database_->mutex);
    auto& file = database_->file;
    sqlite::Transaction transaction(file);
    database_->forget(photo);
    insertPhoto(file, photo, made, measured_on);
    for (const auto& seen : observations) insertObservation(file, seen);
    for (size_t i = 0; i < problems.size(); ++i) insertProblem(file, photo, static_cast<int>(i), problems[i]);
    for (const KeptView& view : views) insertView(file, photo, view);
    transaction.commit();
}

void SeasonStore::putWall(const std::string& tub, const WallRecord& wall,
                          const std::vector<Observation>& seen, const std::vector<WallRecord::Mark>& marks)
{
    const std::scoped_lock lock(database_->mutex);
    auto& file = database_->file;
    sqlite::Transaction transaction(file);
    for (const Observation& one : seen) {
        auto row = file.prepare("DELETE FROM observation WHERE photo = ? AND tub = ?");
        row.text(one.photo).text(one.tub).step();
        insertObservation(file, one);
    }
    for (const WallRecord::Mark& mark : marks) {
        auto row = file.prepare("UPDATE wall_view SET read_with = ?, drawn = ? WHERE photo = ? AND tub = ?");
        row.text(mark.read_with).whole(mark.drawn ? 1 : 0).text(mark.photo).text(tub).step();
    }
    for (const char* table : {"wall", "wall_sum"}) {
        auto row = file.prepare("DELETE FROM " + std::string(table) + " WHERE tub = ?");
        row.text(tub).step();
    }
    auto row = file.prepare(
        "INSERT INTO wall (tub, key, rests_on, picture_hash, meta, picture) VALUES (?,?,?,?,?,?)");
    row.text(tub).text(wall.key).text(wall.rests_on).text(contentHash(wall.picture));
    row.text(wall.meta).blob(wall.picture).step();
    for (const WallRecord::Sum& sum : wall.sums) {
        auto one = file.prepare("INSERT INTO wall_sum (tub, side, key, sum, sum_hash) VALUES (?,?,?,?,?)");
        one.text(tub).text(sum.side).text(sum.key).blob(sum.bytes).text(contentHash(sum.bytes)).step();
    }
    transaction.commit();
}

void SeasonStore::putWallChecked(const std::string& tub, const std::string& rests_on)
{
    const std::scoped_lock lock(database_->mutex);
    auto row = database_->file.prepare("UPDATE wall SET stale = 0, rests_on = ? WHERE tub = ?");
    row.text(rests_on).text(tub).step();
}

void SeasonStore::putFiles(const std::map<std::string, FileStamp>& files)
{
    const std::scoped_lock lock(database_->mutex);
    auto& file = database_->file;
    sqlite::Transaction transaction(file);
    for (const auto& [photo, stamp] : files) {
        auto row = file.prepare(
            "INSERT OR REPLACE INTO photo_file (photo, size, modified, changed, content) VALUES (?,?,?,?,?)");
        row.text(photo)
            .large(stamp.size)
            .large(stamp.modified)
            .large(stamp.changed)
            .text(stamp.content)
            .step();
    }
    file.run("DELETE FROM photo_file WHERE photo NOT IN (SELECT name FROM photo)");
    transaction.commit();
}

std::map<std::string, FileStamp> SeasonStore::files() const
{
    const std::scoped_lock lock(database_->mutex);
    auto rows = database_->file.prepare("SELECT photo, size, modified, changed, content FROM photo_file");
    std::map<std::string, FileStamp> all;
    while (rows.step()) {
        FileStamp& stamp = all[rows.readText()];
        stamp = {rows.readLarge(), rows.readLarge(), rows.readLarge(), rows.readText()};
    }
    return all;
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
    return readPhoto(database_->file, photo);
}

std::optional<Observation> SeasonStore::find(const std::string& photo, const std::string& tub) const
{
    const auto kept = this->photo(photo);
    if (!kept) return std::nullopt;
    const auto seen = std::find_if(kept->observations.begin(), kept->observations.end(),
                                   [&](const Observation& one) { return one.tub == tub; });
    if (seen == kept->observations.end()) return std::nullopt;
    return *seen;
}

std::vector<std::string> SeasonStore::photos() const
{
    const std::scoped_lock lock(database_->mutex);
    auto rows = database_->file.prepare("SELECT name FROM photo ORDER BY name");
    std::vector<std::string> names;
    while (rows.step()) names.push_back(rows.readText());
    return names;
}

std::map<std::string, StoredPhoto> SeasonStore::allPhotos() const
{
    const std::scoped_lock lock(database_->mutex);
    return readPhotos(database_->file);
}

std::optional<Observation> SeasonStore::newest() const
{
    const std::scoped_lock lock(database_->mutex);
    auto row = database_->file.prepare("SELECT " + observationColumns() +
                                       " FROM observation ORDER BY date DESC, photo DESC LIMIT 1");
    const auto all = readObservations(row, database_->file.path());
    return all.empty() ? std::nullopt : std::optional(all.front());
}

std::vector<Observation> SeasonStore::observations() const
{
    const std::scoped_lock lock(database_->mutex);
    auto rows =
        database_->file.prepare("SELECT " + observationColumns() + " FROM observation " + kByTubAndDate);
    return readObservations(rows, database_->file.path());
}

std::vector<Problem> SeasonStore::problems() const
{
    const std::scoped_lock lock(database_->mutex);
    auto rows = database_->file.prepare("SELECT " + std::string(kProblemColumns) +
                                        " FROM problem ORDER BY photo, place");
    return readProblems(rows);
}

std::vector<KeptView> SeasonStore::views(const std::string& tub) const
{
    const std::scoped_lock lock(database_->mutex);
    auto rows = database_->file.prepare(
        "SELECT photo, tub, basis, side, meta, picture_hash, date, read_with, drawn FROM wall_view"
        " JOIN observation USING (photo, tub) WHERE tub = ? ORDER BY date, second_of_day, photo");
    rows.text(tub);
    std::vector<KeptView> all;
    while (rows.step()) {
        KeptView view;
        for (std::string* text : {&view.photo, &view.tub, &view.basis, &view.side, &view.meta,
                                  &view.picture_hash, &view.date, &view.read_with})
            *text = rows.readText();
        view.drawn = rows.readWhole().value_or(0) != 0;
        all.push_back(std::move(view));
    }
    return all;
}

std::set<std::pair<std::string, std::string>> SeasonStore::notDrawn() const
{
    const std::scoped_lock lock(database_->mutex);
    auto rows = database_->file.prepare("SELECT photo, tub FROM wall_view WHERE drawn = 0");
    std::set<std::pair<std::string, std::string>> views;
    while (rows.step()) {
        std::string photo = rows.readText();
        views.emplace(std::move(photo), rows.readText());
    }
    return views;
}

std::string SeasonStore::viewPicture(const std::string& photo, const std::string& tub) const
{
    const std::scoped_lock lock(database_->mutex);
    auto row =
        database_->file.prepare("SELECT picture, picture_hash FROM wall_view WHERE photo = ? AND tub = ?");
    return row.text(photo).text(tub).step() ? readAsWritten(row) : std::string();
}

std::string SeasonStore::panel(const std::string& photo, const std::string& tub) const
{
    const std::scoped_lock lock(database_->mutex);
    auto row = database_->file.prepare("SELECT panel, panel_hash FROM wall_view WHERE photo = ? AND tub = ?");
    return row.text(photo).text(tub).step() ? readAsWritten(row) : std::string();
}

std::vector<std::string> SeasonStore::damagedViews(const std::string& tub) const
{
    const std::scoped_lock lock(database_->mutex);
    auto rows = database_->file.prepare(
        "SELECT photo, picture, picture_hash, panel, panel_hash FROM wall_view"
        " WHERE tub = ? ORDER BY photo");
    rows.text(tub);
    std::vector<std::string> damaged;
    while (rows.step()) {
        const std::string photo = rows.readText();
        const bool picture = isAsWritten(rows), panel = isAsWritten(rows);
        if (!picture || !panel) damaged.push_back(photo);
    }
    return damaged;
}

std::optional<WallRecord> SeasonStore::wall(const std::string& tub) const
{
    const std::scoped_lock lock(database_->mutex);
    auto row =
        database_->file.prepare("SELECT key, rests_on, meta, picture, picture_hash FROM wall WHERE tub = ?");
    if (!row.text(tub).step()) return std::nullopt;
    WallRecord wall;
    wall.key = row.readText();
    wall.rests_on = row.readText();
    wall.meta = row.readText();
    wall.picture = row.readText();
    if (contentHash(wall.picture) != row.readText()) return std::nullopt;
    auto sums =
        database_->file.prepare("SELECT side, key, sum, sum_hash FROM wall_sum WHERE tub = ? ORDER BY side");
    sums.text(tub);
    while (sums.step()) {
        WallRecord::Sum sum;
        sum.side = sums.readText();
        sum.key = sums.readText();
        sum.bytes = sums.readText();
        if (contentHash(sum.bytes) != sums.readText()) return std::nullopt;
        wall.sums.push_back(std::move(sum));
    }
    return wall;
}

std::vector<std::string> SeasonStore::tubs() const
{
    const std::scoped_lock lock(database_->mutex);
    auto rows = database_->file.prepare("SELECT DISTINCT tub FROM observation ORDER BY tub");
    std::vector<std::string> names;
    while (rows.step()) names.push_back(rows.readText());
    return names;
}

std::map<std::string, std::string> SeasonStore::wallsUpToDate(
    const std::function<bool(const std::string& photo)>& listed) const
{
    const std::scoped_lock lock(database_->mutex);
    auto& file = database_->file;
    std::map<std::string, std::string> walls;
    auto rows = file.prepare("SELECT tub, rests_on FROM wall WHERE stale = 0");
    while (rows.step()) {
        std::string tub = rows.readText();
        walls[std::move(tub)] = rows.readText();
    }
    auto views = file.prepare("SELECT photo, tub, read_with, drawn FROM wall_view");
    while (views.step()) {
        const std::string photo = views.readText(), tub = views.readText(), read_with = views.readText();
        const bool drawn = views.readWhole().value_or(0) != 0;
        if (read_with.empty() || (!drawn && listed(photo))) walls.erase(tub);
    }
    return walls;
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
