#include "schema.h"

#include <stdexcept>
#include <string>
#include <vector>

#include "rows.h"
#include "slipglass/store/content_hash.h"

namespace slipglass {

namespace {

const std::string kOfPhoto = "photo TEXT NOT NULL REFERENCES photo(name) ON DELETE CASCADE";

const std::string kPhotoTable =
    "CREATE TABLE photo (name TEXT PRIMARY KEY, measured_on TEXT NOT NULL, content TEXT NOT NULL,"
    " program TEXT NOT NULL, settings TEXT NOT NULL, moved TEXT NOT NULL, tubs TEXT NOT NULL,"
    " corrected TEXT NOT NULL, labels TEXT) WITHOUT ROWID;";

// What is small stands before what is large: reading one column of a row reads all pages before it.
const std::string kViewTable =
    "CREATE TABLE wall_view (" + kOfPhoto +
    ", tub TEXT NOT NULL, basis TEXT NOT NULL, side TEXT NOT NULL, read_with TEXT NOT NULL DEFAULT '',"
    " drawn INTEGER NOT NULL DEFAULT 1, picture_hash TEXT NOT NULL, panel_hash TEXT NOT NULL,"
    " meta TEXT NOT NULL, picture BLOB NOT NULL, panel BLOB NOT NULL, PRIMARY KEY (photo, tub));";

const std::string kWallTables =
    "CREATE TABLE wall (tub TEXT PRIMARY KEY, key TEXT NOT NULL, rests_on TEXT NOT NULL,"
    " stale INTEGER NOT NULL DEFAULT 0, picture_hash TEXT NOT NULL, meta TEXT NOT NULL, picture BLOB NOT "
    "NULL);"
    "CREATE TABLE wall_sum (tub TEXT NOT NULL, side TEXT NOT NULL, key TEXT NOT NULL, sum BLOB NOT NULL,"
    " sum_hash TEXT NOT NULL, PRIMARY KEY (tub, side));";

/// Rows of a tub are found without looking at those of others; a wall whose views are others now says so.
const std::string kByTub =
    "CREATE INDEX observation_of_tub ON observation (tub);"
    "CREATE INDEX view_of_tub ON wall_view (tub);"
    "CREATE TRIGGER view_came AFTER INSERT ON wall_view BEGIN"
    " UPDATE wall SET stale = 1 WHERE tub = new.tub; END;"
    "CREATE TRIGGER view_went AFTER DELETE ON wall_view BEGIN"
    " UPDATE wall SET stale = 1 WHERE tub = old.tub; END;";

const std::string kFileTable =
    "CREATE TABLE photo_file (photo TEXT PRIMARY KEY, size INTEGER NOT NULL, modified INTEGER NOT NULL,"
    " changed INTEGER NOT NULL, content TEXT NOT NULL) WITHOUT ROWID;";

// Steps make the tables of their own version: they stay as they are when those above change.

const std::string kViewTableOf6 =
    "CREATE TABLE wall_view (photo TEXT NOT NULL REFERENCES photo(name) ON DELETE CASCADE,"
    " tub TEXT NOT NULL, basis TEXT NOT NULL, side TEXT NOT NULL, meta TEXT NOT NULL,"
    " picture BLOB NOT NULL, picture_hash TEXT NOT NULL, panel BLOB NOT NULL, panel_hash TEXT NOT NULL,"
    " read_with TEXT NOT NULL DEFAULT '', drawn INTEGER NOT NULL DEFAULT 1, PRIMARY KEY (photo, tub));";

const std::string kWallTablesOf6 =
    "CREATE TABLE wall (tub TEXT PRIMARY KEY, key TEXT NOT NULL, meta TEXT NOT NULL, picture BLOB NOT NULL,"
    " picture_hash TEXT NOT NULL);"
    "CREATE TABLE wall_sum (tub TEXT NOT NULL, side TEXT NOT NULL, key TEXT NOT NULL, sum BLOB NOT NULL,"
    " sum_hash TEXT NOT NULL, PRIMARY KEY (tub, side));";

/// Version 3 kept a panel of each wall's first photo, version 4 one of each view.
constexpr const char* kPanelOfEachView =
    "DROP TABLE reference_panel;"
    "ALTER TABLE wall_view RENAME TO view_before;"
    "CREATE TABLE wall_view (photo TEXT NOT NULL REFERENCES photo(name) ON DELETE CASCADE,"
    " tub TEXT NOT NULL, meta TEXT NOT NULL, bytes BLOB NOT NULL, panel BLOB NOT NULL,"
    " PRIMARY KEY (photo, tub));"
    "INSERT INTO wall_view SELECT photo, tub, meta, bytes, x'' FROM view_before;"
    "DROP TABLE view_before;";

/// Words of the one text that versions to 5 kept for what a photo's figures were made from: content, settings
/// with the program's version, corrections that move things or "-", the rest; then, on a line of their own,
/// the labels.
MadeFrom fromOneText(const std::string& text)
{
    const size_t line = text.find('\n');
    std::vector<std::string> words;
    std::string rest = text.substr(0, line);
    for (int i = 0; i < 3; ++i) {
        const size_t end = rest.find(' ');
        words.push_back(rest.substr(0, end));
        rest = end == std::string::npos ? "" : rest.substr(end + 1);
    }
    MadeFrom made{words[0], kProgramOfOldSeasons, words[1], words[2] == "-" ? "" : words[2], rest, {}, {}};
    if (const size_t at = rest.find(" corrected "); at != std::string::npos) {
        made.tubs = rest.substr(0, at);
        made.corrected = rest.substr(at + std::string(" corrected ").size());
    }
    return made;
}

/// A column per thing that figures were made from. In place: to drop the table would drop all rows of the
/// others that name a photo of it.
void photosInColumns(sqlite::Connection& file)
{
    for (const char* column : {"content", "program", "settings", "moved", "tubs", "corrected"})
        file.run("ALTER TABLE photo ADD COLUMN " + std::string(column) + " TEXT NOT NULL DEFAULT ''");
    file.run("ALTER TABLE photo ADD COLUMN labels TEXT");
    std::vector<std::pair<std::string, std::string>> keys;
    auto rows = file.prepare("SELECT name, key FROM photo");
    while (rows.step()) {
        std::string name = rows.readText();
        keys.emplace_back(std::move(name), rows.readText());
    }
    for (const auto& [name, key] : keys) {
        const MadeFrom made = fromOneText(key);
        const size_t line = key.find('\n');
        const std::string labels = line == std::string::npos ? "null" : key.substr(line + 1);
        auto row = file.prepare(
            "UPDATE photo SET content = ?, program = ?, settings = ?, moved = ?, tubs = ?, corrected = ?,"
            " labels = nullif(?, 'null') WHERE name = ?");
        row.text(made.content).text(made.program).text(made.settings).text(made.moved).text(made.tubs);
        row.text(made.corrected).text(labels).text(name).step();
    }
    file.run("ALTER TABLE photo DROP COLUMN key");
}

/// What water was read from, for its verdict to be told anew: as the figures say, or where there are none as
/// the verdict of then does, which was told at 2 mm unless the settings said otherwise.
constexpr const char* kWaterRead =
    "ALTER TABLE observation ADD COLUMN read_level REAL;"
    "ALTER TABLE observation ADD COLUMN read_low REAL;"
    "ALTER TABLE observation ADD COLUMN read_high REAL;"
    "UPDATE observation SET read_level = water_level_mm, read_low = water_low_mm, read_high = water_high_mm;"
    "UPDATE observation SET read_low = iif(standing_water, 2.0, 0.0), read_high = iif(standing_water, NULL, "
    "1.99)"
    " WHERE water_low_mm IS NULL AND water_level_mm IS NULL AND standing_water IS NOT NULL;"
    "ALTER TABLE observation DROP COLUMN standing_water;";

void viewsInColumns(sqlite::Connection& file)
{
    file.run("ALTER TABLE wall_view RENAME TO view_before;" + kViewTableOf6 +
             "INSERT INTO wall_view (photo, tub, basis, side, meta, picture, picture_hash, panel, panel_hash)"
             " SELECT photo, tub, ifnull(json_extract(meta, '$.basis'), ''),"
             " ifnull(json_extract(meta, '$.side.id'), ''), meta, bytes, '', panel, ''"
             " FROM view_before WHERE json_valid(meta);"
             "DROP TABLE view_before;");
    auto rows = file.prepare("SELECT photo, tub, picture, panel FROM wall_view");
    std::vector<std::vector<std::string>> hashes;
    while (rows.step()) {
        const std::string photo = rows.readText(), tub = rows.readText();
        const std::string picture = contentHash(rows.readText());
        hashes.push_back({picture, contentHash(rows.readText()), photo, tub});
    }
    for (const auto& one : hashes) {
        auto row =
            file.prepare("UPDATE wall_view SET picture_hash = ?, panel_hash = ? WHERE photo = ? AND tub = ?");
        for (const std::string& value : one) row.text(value);
        row.step();
    }
}

void wallsWithSums(sqlite::Connection& file)
{
    file.run(kWallTablesOf6);
    auto rows = file.prepare("SELECT tub, key, meta, bytes FROM wall_history");
    while (rows.step()) {
        auto row =
            file.prepare("INSERT INTO wall (tub, key, meta, picture, picture_hash) VALUES (?,?,?,?,?)");
        for (int i = 0; i < 3; ++i) row.text(rows.readText());
        const std::string picture = rows.readText();
        row.blob(picture).text(contentHash(picture)).step();
    }
    file.run("DROP TABLE wall_history");
}

void typedColumns(sqlite::Connection& file)
{
    photosInColumns(file);
    file.run(kWaterRead);
    viewsInColumns(file);
    wallsWithSums(file);
}

/// Version 6 had no way to a tub's rows but through all others.
void smallBeforeLarge(sqlite::Connection& file)
{
    file.run(
        "ALTER TABLE wall_view RENAME TO view_before;"
        "CREATE TABLE wall_view (photo TEXT NOT NULL REFERENCES photo(name) ON DELETE CASCADE,"
        " tub TEXT NOT NULL, basis TEXT NOT NULL, side TEXT NOT NULL, read_with TEXT NOT NULL DEFAULT '',"
        " drawn INTEGER NOT NULL DEFAULT 1, picture_hash TEXT NOT NULL, panel_hash TEXT NOT NULL,"
        " meta TEXT NOT NULL, picture BLOB NOT NULL, panel BLOB NOT NULL, PRIMARY KEY (photo, tub));"
        "INSERT INTO wall_view SELECT photo, tub, basis, side, read_with, drawn, picture_hash, panel_hash, "
        "meta,"
        " picture, panel FROM view_before;"
        "DROP TABLE view_before;"
        "ALTER TABLE wall RENAME TO wall_before;"
        "CREATE TABLE wall (tub TEXT PRIMARY KEY, key TEXT NOT NULL, rests_on TEXT NOT NULL,"
        " stale INTEGER NOT NULL DEFAULT 0, picture_hash TEXT NOT NULL, meta TEXT NOT NULL,"
        " picture BLOB NOT NULL);"
        "INSERT INTO wall SELECT tub, key, '', 1, picture_hash, meta, picture FROM wall_before;"
        "DROP TABLE wall_before;"
        "CREATE INDEX observation_of_tub ON observation (tub);"
        "CREATE INDEX view_of_tub ON wall_view (tub);"
        "CREATE TRIGGER view_came AFTER INSERT ON wall_view BEGIN"
        " UPDATE wall SET stale = 1 WHERE tub = new.tub; END;"
        "CREATE TRIGGER view_went AFTER DELETE ON wall_view BEGIN"
        " UPDATE wall SET stale = 1 WHERE tub = old.tub; END;"
        "CREATE TABLE photo_file (photo TEXT PRIMARY KEY, size INTEGER NOT NULL, modified INTEGER NOT NULL,"
        " changed INTEGER NOT NULL, content TEXT NOT NULL) WITHOUT ROWID;");
}

/// Brings a file of a version to the next.
void stepFrom(int version, sqlite::Connection& file)
{
    switch (version) {
        case 3:
            return file.run(kPanelOfEachView);
        case 4:
            return file.run("ALTER TABLE photo ADD COLUMN measured_on TEXT NOT NULL DEFAULT '';");
        case 5:
            return typedColumns(file);
        case 6:
            return smallBeforeLarge(file);
        default:
            throw std::logic_error("no way on from season file version " + std::to_string(version));
    }
}

}  // namespace

void makeTables(sqlite::Connection& file)
{
    file.run(kPhotoTable + "CREATE TABLE observation (" + kOfPhoto +
             ", tub TEXT NOT NULL, date TEXT NOT NULL, second_of_day INTEGER, state TEXT NOT NULL, " +
             figureNames(" REAL") +
             " read_level REAL, read_low REAL, read_high REAL, notes TEXT NOT NULL, outline TEXT NOT NULL,"
             " water_line TEXT NOT NULL, parts TEXT NOT NULL DEFAULT '[]',"
             " PRIMARY KEY (photo, tub)) WITHOUT ROWID;"
             "CREATE TABLE problem (" +
             kOfPhoto +
             ", place INTEGER NOT NULL, file TEXT NOT NULL, tub TEXT NOT NULL, state TEXT NOT NULL,"
             " reason TEXT NOT NULL, remedy TEXT NOT NULL, PRIMARY KEY (photo, place)) WITHOUT ROWID;" +
             kViewTable + kWallTables + kByTub + kFileTable +
             "CREATE TABLE given (name TEXT PRIMARY KEY, text TEXT NOT NULL) WITHOUT ROWID;"
             "PRAGMA application_id = " +
             std::to_string(kApplicationId) + ";PRAGMA user_version = " + std::to_string(kSchemaVersion) +
             ";");
}

void stepToToday(sqlite::Connection& file)
{
    for (int version = file.number("PRAGMA user_version"); version < kSchemaVersion; ++version)
        stepFrom(version, file);
    file.run("PRAGMA user_version = " + std::to_string(kSchemaVersion));
}

}  // namespace slipglass
