#include <algorithm>
#include <map>

#include "rows.h"
#include "schema.h"
#include "slipglass/error.h"
#include "slipglass/store/content_hash.h"
#include "slipglass/store/season_store.h"

namespace slipglass {

namespace {

/// Calls read(row) for each row of a query until one cannot be read.
template <class Read>
void readWhilePossible(sqlite::Connection& from, const std::string& sql, const Read& read)
{
    try {
        auto rows = from.prepare(sql);
        while (rows.step()) read(rows);
    } catch (const Error&) {
        return;  // what is behind the damage may be met from the other end
    }
}

/// Photos that any table still names, and for each its rows of wall_view.
std::map<std::string, std::vector<int>> photosIn(sqlite::Connection& from)
{
    std::map<std::string, std::vector<int>> photos;
    for (const char* column : {"name FROM photo ORDER BY name", "photo FROM observation ORDER BY photo"})
        for (const char* end : {"", " DESC"})
            readWhilePossible(from, "SELECT " + std::string(column) + end,
                              [&](sqlite::Statement& row) { photos[row.readText()]; });
    // Rows of this table have numbers, so those behind the damage can be asked for one by one.
    int last = 4 * from.number("PRAGMA page_count");
    readWhilePossible(from, "SELECT max(rowid) FROM wall_view",
                      [&](sqlite::Statement& row) { last = row.readWhole().value_or(0); });
    for (int i = 1; i <= last; ++i)
        readWhilePossible(from, "SELECT photo FROM wall_view WHERE rowid = " + std::to_string(i),
                          [&](sqlite::Statement& row) { photos[row.readText()].push_back(i); });
    return photos;
}

/// A photo's views whose pictures are as they were written.
std::vector<KeptView> viewsOf(const std::string& photo, const std::vector<int>& rows,
                              sqlite::Connection& from)
{
    std::vector<KeptView> views;
    for (const int i : rows)
        readWhilePossible(
            from,
            "SELECT tub, basis, side, meta, picture, picture_hash, panel, panel_hash FROM wall_view"
            " WHERE rowid = " +
                std::to_string(i),
            [&](sqlite::Statement& row) {
                KeptView view;
                view.photo = photo;
                std::string panel_hash;
                for (std::string* text : {&view.tub, &view.basis, &view.side, &view.meta, &view.picture,
                                          &view.picture_hash, &view.panel, &panel_hash})
                    *text = row.readText();
                if (contentHash(view.picture) == view.picture_hash && contentHash(view.panel) == panel_hash)
                    views.push_back(std::move(view));
            });
    return views;
}

/// All of a photo, or its figures alone; empty when not even those can be read.
std::optional<StoredPhoto> figuresOf(const std::string& photo, sqlite::Connection& from)
{
    try {
        return readPhoto(from, photo);
    } catch (const Error&) {
        // Its figures are on another page than the rest.
    }
    try {
        StoredPhoto kept;
        kept.observations = observationsOf(from, photo);
        if (!kept.observations.empty()) return kept;
    } catch (const Error&) {
        return std::nullopt;
    }
    return std::nullopt;
}

/// False when something of the photo was lost.
bool rescuePhoto(const std::string& name, const std::vector<int>& rows, sqlite::Connection& from,
                 SeasonStore& to)
{
    auto kept = figuresOf(name, from);
    if (!kept) return false;
    const std::vector<KeptView> views = viewsOf(name, rows, from);
    const auto figures =
        static_cast<size_t>(std::count_if(kept->observations.begin(), kept->observations.end(), usable));
    const bool whole = views.size() >= figures && !kept->made.content.empty();
    if (!whole) kept->made.program.clear();  // so that it is measured again where its file is
    to.putPhoto(name, kept->made, kept->observations, kept->problems, views, kept->measured_on);
    return whole;
}

/// Brings the copy of a file to the version of today, as far as it is sound enough for that.
void stepUp(sqlite::Connection& copy, const std::filesystem::path& season_db)
{
    const Error no_way(season_db.string(), "is damaged so that it cannot be rescued",
                       "Put back a copy of it, or move it away and run again to measure the photos anew");
    try {
        const int version = copy.number("PRAGMA user_version");
        if (copy.number("PRAGMA application_id") != kApplicationId || version < kOldestVersion ||
            version > kSchemaVersion)
            throw no_way;
        sqlite::Transaction transaction(copy);
        stepToToday(copy);
        transaction.commit();
    } catch (const Error&) {
        throw no_way;
    }
}

std::filesystem::path freeName(const std::filesystem::path& wanted)
{
    std::filesystem::path name = wanted;
    for (int i = 2; std::filesystem::exists(name); ++i) name = wanted.string() + "-" + std::to_string(i);
    return name;
}

/// A file that is gone in the end, unless it was renamed.
struct Scratch {
    std::filesystem::path path;
    explicit Scratch(std::filesystem::path where) : path(std::move(where)) { std::filesystem::remove(path); }
    ~Scratch()
    {
        std::error_code ignored;
        std::filesystem::remove(path, ignored);
    }
    Scratch(const Scratch&) = delete;
    Scratch& operator=(const Scratch&) = delete;
};

}  // namespace

Rescued rescueSeason(const std::filesystem::path& season_db)
{
    Rescued rescued;
    const Scratch begun{season_db.string() + ".rescued"}, copy{season_db.string() + ".copied"};
    std::filesystem::copy_file(season_db, copy.path);
    {
        sqlite::Connection from(copy.path.string(), SQLITE_OPEN_READWRITE);
        stepUp(from, season_db);
        SeasonStore to(begun.path);
        for (const auto& [name, rows] : photosIn(from)) {
            if (!rescuePhoto(name, rows, from, to)) rescued.lost.push_back(name);
            rescued.photos += to.photo(name).has_value();
        }
        if (rescued.photos == 0)
            throw Error(season_db.string(), "is damaged so that nothing can be read of it",
                        "Put back a copy of it, or move it away and run again to measure the photos anew");
        std::map<std::string, std::string> given;
        readWhilePossible(from, "SELECT name, text FROM given", [&](sqlite::Statement& row) {
            std::string name = row.readText();
            given[std::move(name)] = row.readText();
        });
        to.putGiven(given);
    }
    rescued.damaged = freeName(season_db.string() + ".damaged");
    std::filesystem::rename(season_db, rescued.damaged);
    std::filesystem::rename(begun.path, season_db);
    return rescued;
}

}  // namespace slipglass
