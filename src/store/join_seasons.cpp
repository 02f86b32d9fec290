#include "slipglass/store/join_seasons.h"

#include "schema.h"
#include "slipglass/error.h"
#include "slipglass/store/season_store.h"

namespace slipglass {

namespace {

/// A table and what tells its rows apart, by which they are put in order. Photos first: the others name them.
/// What is left of a wall whose photos went to another season is not taken.
struct Table {
    const char *name, *key, *taken = "";
};
constexpr const char* kWithViews = " WHERE tub IN (SELECT tub FROM one.wall_view)";
constexpr Table kTables[] = {{"photo", "name"},           {"observation", "photo, tub"},
                             {"problem", "photo, place"}, {"wall_view", "photo, tub"},
                             {"wall", "tub", kWithViews}, {"wall_sum", "tub, side", kWithViews},
                             {"photo_file", "photo"}};

std::string columnsOf(sqlite::Connection& file, const std::string& table)
{
    auto rows = file.prepare("SELECT name FROM pragma_table_info('" + table + "')");
    std::string columns;
    while (rows.step()) columns += (columns.empty() ? "" : ", ") + rows.readText();
    return columns;
}

/// Throws on what both have.
void checkApart(sqlite::Connection& file, const std::string& season, const std::string& table,
                const std::string& column)
{
    auto row = file.prepare("SELECT " + column + " FROM one." + table + " INTERSECT SELECT " + column +
                            " FROM main." + table + " LIMIT 1");
    if (row.step())
        throw Error(season, "has " + row.readText() + ", and so has another part",
                    "Measure both parts again, each in a new folder");
}

void add(sqlite::Connection& file, const std::string& season)
{
    file.run("ATTACH " + sqlite::quoted(season) + " AS one");
    checkApart(file, season, "photo", "name");
    checkApart(file, season, "observation", "tub");
    {
        sqlite::Transaction transaction(file);
        for (const Table& table : kTables) {
            const std::string columns = columnsOf(file, table.name), name = table.name;
            file.run("INSERT INTO main." + name + " (" + columns + ") SELECT " + columns + " FROM one." +
                     name + table.taken + " ORDER BY " + table.key);
        }
        transaction.commit();
    }
    file.run("DETACH one");
}

}  // namespace

void joinSeasons(const std::vector<std::filesystem::path>& seasons, const std::filesystem::path& to)
{
    std::error_code none;
    std::filesystem::remove(to, none);
    {
        const SeasonStore with_its_tables(to);
    }
    sqlite::Connection file(to.string(), SQLITE_OPEN_READWRITE);
    for (const std::filesystem::path& season : seasons) add(file, season.string());
}

}  // namespace slipglass
