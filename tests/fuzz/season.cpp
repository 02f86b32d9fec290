#include <sqlite3.h>

#include <cmath>
#include <cstring>

#include "../../src/measure/shares.h"
#include "../../src/measure/tub_list.h"
#include "as_file.h"
#include "slipglass/overview/given.h"
#include "slipglass/panel/panel_file.h"
#include "slipglass/season/forecast.h"
#include "slipglass/season/growth.h"
#include "slipglass/season/worked_out.h"
#include "slipglass/store/season_store.h"
#include "slipglass/wall/read_wall.h"
#include "slipglass/wall/view_facts.h"
#include "slipglass/wall/wall_history.h"

namespace slipglass::fuzz {

namespace fs = std::filesystem;

namespace {

/// An empty folder for a season: copies and rescued files of the last one are gone.
fs::path freshFolder()
{
    const fs::path folder = scratch() / "season";
    fs::remove_all(folder);
    fs::create_directories(folder);
    return folder;
}

/// All that is read of a season file when its season is told and when it is measured on.
void readAll(const fs::path& season_db)
{
    mayRefuse([&] {
        const SeasonStore store(season_db, SeasonStore::Use::read);
        mayRefuse([&] { store.allPhotos(); });
        mayRefuse([&] { store.files(); });
        mayRefuse([&] { store.newest(); });
        mayRefuse([&] { store.notDrawn(); });
        mayRefuse([&] { shareRecordOf(shareIn(store)); });
        mayRefuse([&] {
            for (const std::string& tub : store.tubs()) {
                for (const KeptView& view : store.views(tub)) {
                    const auto facts = factsOf(view);
                    if (!facts) continue;
                    decodeWallView({store.viewPicture(view.photo, tub), facts->view_meta});
                    decodePanel({store.panel(view.photo, tub), facts->panel_meta});
                }
                store.damagedViews(tub);
                const auto wall = store.wall(tub);
                if (!wall) continue;
                agesIn(*wall);
                for (const auto& sum : wall->sums) decodeWallSum(sum.bytes);
            }
        });
        mayRefuse([&] { seasonIn(store); });
    });
}

struct Closer {
    void operator()(sqlite3* database) const { sqlite3_close(database); }
    void operator()(sqlite3_stmt* statement) const { sqlite3_finalize(statement); }
};
using Database = std::unique_ptr<sqlite3, Closer>;

Database opened(const fs::path& file)
{
    sqlite3* database = nullptr;
    require(sqlite3_open(file.c_str(), &database) == SQLITE_OK, "no season file to begin with");
    return Database(database);
}

/// A sound season of two photos, as bytes.
std::string soundSeason()
{
    const fs::path file = freshFolder() / "season.db";
    const std::string sql = test::readBytes(fs::path(SLIPGLASS_TEST_DATA) / "season-files" / "version-6.sql");
    require(sqlite3_exec(opened(file).get(), sql.c_str(), nullptr, nullptr, nullptr) == SQLITE_OK,
            "no season file to begin with");
    {
        const SeasonStore brings_it_up_to_date(file, SeasonStore::Use::write);
    }
    return test::readBytes(file);
}

/// "observation.notes" of all rows; "given.plan", of the row of that name.
void put(sqlite3* file, const std::string& place, const std::string& value)
{
    const size_t dot = place.find('.');
    if (dot == std::string::npos) return;
    const std::string table = place.substr(0, dot), column = place.substr(dot + 1);
    for (const char c : table + column)
        if (c != '_' && (c < 'a' || c > 'z')) return;
    const std::string sql = table == "given" ? "INSERT OR REPLACE INTO given VALUES ('" + column + "', ?)"
                                             : "UPDATE OR IGNORE " + table + " SET " + column + " = ?";
    sqlite3_stmt* made = nullptr;
    sqlite3_prepare_v2(file, sql.c_str(), -1, &made, nullptr);
    const std::unique_ptr<sqlite3_stmt, Closer> statement(made);
    if (!made) return;
    sqlite3_bind_text(made, 1, value.data(), static_cast<int>(value.size()), SQLITE_STATIC);
    sqlite3_step(made);
}

}  // namespace

void season(Bytes file)
{
    const fs::path season_db = freshFolder() / "season.db";
    const std::string bytes(textOf(file));
    std::ofstream(season_db, std::ios::binary) << bytes;
    readAll(season_db);
    std::ofstream(season_db, std::ios::binary) << bytes;
    mayRefuse([&] { rescueSeason(season_db); });
}

void season_values(Bytes given)
{
    static const std::string kSound = soundSeason();
    const fs::path season_db = freshFolder() / "season.db";
    std::ofstream(season_db, std::ios::binary) << kSound;
    {
        const Database database = opened(season_db);
        sqlite3_exec(database.get(), "PRAGMA synchronous = OFF; BEGIN", nullptr, nullptr, nullptr);
        const std::string text(textOf(given));
        for (size_t at = 0; at < text.size();) {
            const size_t end = std::min(text.find('\x1e', at), text.size()), tab = text.find('\t', at);
            if (tab < end)
                put(database.get(), text.substr(at, tab - at), text.substr(tab + 1, end - tab - 1));
            at = end + 1;
        }
        sqlite3_exec(database.get(), "COMMIT", nullptr, nullptr, nullptr);
    }
    readAll(season_db);
}

void wall_view(Bytes file)
{
    const std::string text(textOf(file));
    const size_t line = text.find('\n');
    if (line == std::string::npos) return;
    const std::string meta = text.substr(0, line), picture = text.substr(line + 1);
    decodePanel({picture, meta});
    innerRadiusIn(meta);
    const auto view = decodeWallView({picture, meta});
    if (!view || !view->to_reference) return;
    SidePhotos side;
    side.reference_size = view->to_reference->size;
    side.count = 2;
    side.view = [&](size_t) { return view; };
    readSide(side, {}, 0, {}, [](size_t, const WallView&, const WallReading&) {});
}

void wall_sum(Bytes file)
{
    auto sum = decodeWallSum(std::string(textOf(file)));
    if (!sum) return;
    SidePhotos side;  // the seed's
    side.reference_size = {31, 21};
    side.count = 4;
    side.view = [](size_t) { return std::nullopt; };
    readSide(side, std::move(*sum), 0, {}, [](size_t, const WallView&, const WallReading&) {});
}

void worked_out(Bytes numbers)
{
    const std::vector<GrowthPoint> points{{0, 0.1},  {7, 0.4},  {14, 1},  {21, 2.2},
                                          {28, 3.1}, {35, 3.3}, {42, 3.4}};
    const auto reckoned = [&] {
        for (const CurveFit& curve : describeGrowth(points).curves)
            require(curve.parameters.size() == (curve.kind == CurveKind::straight_line ? 2U : 3U),
                    "a curve without its parameters");
        const Crossing crossing = whenCrossed(points, 6, 4);
        require(std::abs(crossing.latest) < 1e6, "a day that is none");
    };
    static const WorkedOut::All kAsked = [&] {
        workedOut().know({});
        reckoned();
        return workedOut().asked();
    }();
    WorkedOut::Numbers kept(numbers.size() / sizeof(double));
    if (!kept.empty()) std::memcpy(kept.data(), numbers.data(), kept.size() * sizeof(double));
    WorkedOut::All known = kAsked;
    for (auto& [from, result] : known) result = kept;
    workedOut().know(known);
    reckoned();
}

void tub_list(Bytes file)
{
    mayRefuse([&] {
        const TubList list = readTubList(asFile(file, "tubs.list"));
        writeTubList(scratch() / "again.list", list);
        require(readTubList(scratch() / "again.list").size() == list.size(),
                "a list of another length once written");
    });
}

}  // namespace slipglass::fuzz
