#include <gtest/gtest.h>
#include <sqlite3.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <csignal>
#include <fstream>
#include <limits>
#include <random>
#include <thread>

#include "../support/run_sql.h"
#include "../support/scratch_folder.h"
#include "../support/season_maker.h"
#include "slipglass/error.h"
#include "slipglass/season/figures.h"
#include "slipglass/store/join_seasons.h"
#include "slipglass/store/season_store.h"

namespace slipglass {
namespace {

using test::covered;
using test::day;
using test::readBytes;
using test::runSql;
using test::ScratchFolder;
using test::seenOn;

MadeFrom madeFrom(const std::string& content)
{
    return {content, "program 1", "settings", "moved", "tubs", "corrected", {{"T01", "T02"}}};
}

Observation fullObservation()
{
    Observation seen = seenOn(7);
    seen.taken.second_of_day = 34210;
    seen.state = State::caution;
    double value = 0.1;
    for (const auto& figure : kFigures) seen.*figure.value = value += 1.0 / 3;
    seen.water = {3.1, std::nullopt, 4.2};
    seen.notes = {"a little blurred", "glare; \"left\"\nand right"};
    seen.outline = {{1.5, 2}, {3, 4}, {5, 6}, {7, 8.25}};
    seen.water_line = {{0.1, 9}};
    seen.parts.resize(2);
    seen.parts[0].place = "left";
    for (const auto& figure : kPartFigures) seen.parts[0].*figure.value = value += 1.0 / 3;
    seen.parts[1].place = "right";  // of which nothing is known
    return seen;
}

void expectSame(const Observation& a, const Observation& b)
{
    EXPECT_EQ(a.photo, b.photo);
    EXPECT_EQ(a.tub, b.tub);
    EXPECT_EQ(a.taken, b.taken);
    EXPECT_EQ(a.state, b.state);
    for (const auto& figure : kFigures) EXPECT_EQ(a.*figure.value, b.*figure.value) << figure.name;
    EXPECT_EQ(a.water.level, b.water.level);
    EXPECT_EQ(a.water.low, b.water.low);
    EXPECT_EQ(a.water.high, b.water.high);
    EXPECT_EQ(a.notes, b.notes);
    ASSERT_EQ(a.outline.size(), b.outline.size());
    for (size_t i = 0; i < a.outline.size(); ++i) {
        EXPECT_EQ(a.outline[i].x_px, b.outline[i].x_px);
        EXPECT_EQ(a.outline[i].y_px, b.outline[i].y_px);
    }
    EXPECT_EQ(a.water_line.size(), b.water_line.size());
    ASSERT_EQ(a.parts.size(), b.parts.size());
    for (size_t i = 0; i < a.parts.size(); ++i) {
        EXPECT_EQ(a.parts[i].place, b.parts[i].place);
        for (const auto& figure : kPartFigures)
            EXPECT_EQ(a.parts[i].*figure.value, b.parts[i].*figure.value) << figure.name;
    }
}

std::string errorOf(const std::filesystem::path& file, SeasonStore::Use use = SeasonStore::Use::write)
{
    try {
        SeasonStore store(file, use);
        return {};
    } catch (const Error& error) {
        EXPECT_EQ(error.input(), file.string());
        return error.problem();
    }
}

TEST(SeasonStore, GivesBackWhatWasPutInAfterReopening)
{
    const ScratchFolder folder;
    const Observation full = fullObservation();
    const Problem problem{full.photo, "T01", "caution", "blurred", "Hold still"};
    SeasonStore(folder / "new/season.db").putPhoto(full.photo, madeFrom("key 1"), {full}, {problem});

    const SeasonStore store(folder / "new/season.db", SeasonStore::Use::read);
    const auto found = store.find(full.photo, "T01");
    ASSERT_TRUE(found);
    EXPECT_EQ(store.photo(full.photo)->made, madeFrom("key 1"));
    expectSame(*found, full);
    ASSERT_EQ(store.problems().size(), 1U);
    EXPECT_EQ(store.problems()[0].remedy, "Hold still");
    EXPECT_FALSE(store.find(full.photo, "T02"));
    EXPECT_FALSE(store.find("other.jpg", "T01"));
    EXPECT_FALSE(store.photo("other.jpg"));
}

TEST(SeasonStore, KeepsWhatIsNotKnownUnknown)
{
    const ScratchFolder folder;
    SeasonStore store(folder / "season.db");
    Observation seen = seenOn(0);
    seen.coverage_percent = std::numeric_limits<double>::quiet_NaN();
    seen.root_length_mm = std::numeric_limits<double>::infinity();
    store.putPhoto(seen.photo, madeFrom("k"), {seen}, {});
    const auto found = store.find(seen.photo, "T01");
    for (const auto& figure : kFigures) EXPECT_FALSE(((*found).*figure.value).has_value()) << figure.name;
    EXPECT_FALSE(found->water.level);
    EXPECT_FALSE(found->water.low);
    EXPECT_FALSE(found->taken.second_of_day);
}

TEST(SeasonStore, ReplacesAllOfAPhotoAtOnce)
{
    const ScratchFolder folder;
    SeasonStore store(folder / "season.db");
    auto left = covered(0, 1, "T01"), right = covered(0, 2, "T02");
    left.photo = right.photo = "both.jpg";
    store.putPhoto("both.jpg", madeFrom("k1"), {right, left}, {{"both.jpg", "", "caution", "dark", "Light"}});
    EXPECT_EQ(store.observations().size(), 2U);
    store.putPhoto("both.jpg", madeFrom("k2"), {right}, {});
    ASSERT_EQ(store.observations().size(), 1U);
    EXPECT_EQ(store.observations()[0].tub, "T02");
    EXPECT_TRUE(store.problems().empty());
    EXPECT_EQ(store.photo("both.jpg")->made, madeFrom("k2"));
}

TEST(SeasonStore, RemembersAPhotoThatGaveOnlyProblems)
{
    const ScratchFolder folder;
    SeasonStore store(folder / "season.db");
    store.putPhoto("bad.jpg", madeFrom("k"), {},
                   {{"bad.jpg", "", "not measured", "cut short", "Copy it again"}});
    ASSERT_TRUE(store.photo("bad.jpg"));
    EXPECT_EQ(store.photo("bad.jpg")->made, madeFrom("k"));
    EXPECT_EQ(store.photo("bad.jpg")->problems.size(), 1U);
    store.putPhoto("bad.jpg", madeFrom("k2"), {}, {});
    EXPECT_TRUE(store.problems().empty());
    EXPECT_EQ(store.photos(), std::vector<std::string>{"bad.jpg"});
}

TEST(SeasonStore, ForgetsAPhotoOnlyWhenTold)
{
    const ScratchFolder folder;
    SeasonStore store(folder / "season.db");
    for (const int n : {0, 7}) store.putPhoto(seenOn(n).photo, madeFrom("k"), {seenOn(n)}, {});
    store.forget(seenOn(0).photo);
    store.forget("never there");
    EXPECT_EQ(store.photos(), std::vector<std::string>{seenOn(7).photo});
    EXPECT_EQ(store.observations().size(), 1U);
}

TEST(SeasonStore, GivesTheSameOrderWhateverTheOrderOfWriting)
{
    std::vector<Observation> seen{seenOn(7, "T02"), seenOn(0, "T02"), seenOn(7, "T01")};
    auto timed = seenOn(0, "T02");
    timed.photo = "0";
    timed.taken.second_of_day = 1;
    seen.push_back(timed);
    std::string orders;
    for (const bool backwards : {false, true}) {
        const ScratchFolder folder;
        SeasonStore store(folder / "season.db");
        if (backwards) std::reverse(seen.begin(), seen.end());
        for (const auto& one : seen) store.putPhoto(one.photo, madeFrom("k"), {one}, {});
        for (const auto& one : store.observations()) orders += one.photo + "|";
        orders += "#";
    }
    const std::string order = "T01/T01_2026-01-19.jpg|T02/T02_2026-01-12.jpg|0|T02/T02_2026-01-19.jpg|#";
    EXPECT_EQ(orders, order + order);
}

KeptView viewOf(const Observation& seen, const std::string& picture)
{
    return {seen.photo, seen.tub, "basis", "front", R"({"mm":0.5})", picture, picture + "x"};
}

TEST(SeasonStore, KeepsWhatAPhotoShowsOfAWallAsLongAsThePhoto)
{
    const ScratchFolder folder;
    SeasonStore store(folder / "season.db");
    const Observation seen = seenOn(0);
    const std::string bytes("\0\x89PNG\0\xFF", 7);
    store.putPhoto(seen.photo, madeFrom("k"), {seen}, {}, {viewOf(seen, bytes)});
    const auto views = store.views(seen.tub);
    ASSERT_EQ(views.size(), 1U);
    EXPECT_EQ(views[0].photo, seen.photo);
    EXPECT_EQ(views[0].basis, "basis");
    EXPECT_EQ(views[0].side, "front");
    EXPECT_EQ(views[0].meta, R"({"mm":0.5})");
    EXPECT_EQ(views[0].date, "2026-01-12");
    EXPECT_EQ(views[0].read_with, "");
    EXPECT_EQ(views[0].picture + views[0].panel, "") << "large, so only when they are asked for";
    EXPECT_EQ(store.viewPicture(seen.photo, seen.tub), bytes);
    EXPECT_EQ(store.panel(seen.photo, seen.tub), bytes + "x");
    EXPECT_TRUE(store.damagedViews(seen.tub).empty());
    store.putPhoto(seen.photo, madeFrom("k"), {seen}, {});
    EXPECT_TRUE(store.views(seen.tub).empty());
    EXPECT_EQ(store.panel(seen.photo, seen.tub), "");
}

TEST(SeasonStore, TellsAPictureThatIsNotAsItWasWritten)
{
    const ScratchFolder folder;
    const auto file = folder / "season.db";
    const std::string bytes(3000, 'p');
    {
        SeasonStore store(file);
        for (const int n : {0, 7, 14})
            store.putPhoto(seenOn(n).photo, madeFrom("k"), {seenOn(n)}, {}, {viewOf(seenOn(n), bytes)});
        store.putWall("T01", {"key", "{}", bytes, {{"front", "key", bytes}}}, {}, {});
        EXPECT_TRUE(store.wall("T01"));
    }
    // One bit each, as a bad stick leaves it: SQLite's own check sees nothing.
    runSql(file,
           "UPDATE wall_view SET panel = cast('q' || substr(panel, 2) AS BLOB) WHERE photo LIKE '%01-19%';"
           "UPDATE wall SET picture = cast('q' || substr(picture, 2) AS BLOB);");
    const SeasonStore store(file);
    EXPECT_EQ(store.damagedViews("T01"), std::vector<std::string>{seenOn(7).photo});
    EXPECT_EQ(store.panel(seenOn(7).photo, "T01"), "");
    EXPECT_EQ(store.panel(seenOn(0).photo, "T01"), bytes + "x");
    EXPECT_FALSE(store.wall("T01"));
}

TEST(SeasonStore, KeepsHowAWallWasReadUntilItIsReadAnew)
{
    const ScratchFolder folder;
    SeasonStore store(folder / "season.db");
    for (const int n : {0, 7})
        store.putPhoto(seenOn(n).photo, madeFrom("k"), {seenOn(n)}, {}, {viewOf(seenOn(n), "p")});
    EXPECT_FALSE(store.wall("T01"));
    store.putWall("T01", {"key", "{}", "map", {{"front", "first", "sum"}, {"back", "second", "sums"}}},
                  {covered(7, 3)}, {{seenOn(7).photo, "both", false}});
    auto wall = store.wall("T01");
    ASSERT_TRUE(wall);
    EXPECT_EQ(wall->key + wall->meta + wall->picture, "key{}map");
    ASSERT_EQ(wall->sums.size(), 2U);
    EXPECT_EQ(wall->sums[1].side + wall->sums[1].key + wall->sums[1].bytes, "frontfirstsum");
    EXPECT_EQ(store.find(seenOn(7).photo, "T01")->coverage_percent, 3);
    EXPECT_EQ(store.views("T01")[0].read_with, "");
    EXPECT_EQ(store.views("T01")[1].read_with, "both");
    EXPECT_FALSE(store.views("T01")[1].drawn);
    store.putWall("T01", {"another", "{}", "map", {}}, {}, {});
    EXPECT_TRUE(store.wall("T01")->sums.empty());
    EXPECT_FALSE(store.wall("T02"));
}

TEST(SeasonStore, JoinsASeasonThatATubHasLeft)
{
    const ScratchFolder folder;
    for (const char* part : {"left.db", "came.db"}) {
        SeasonStore store(folder / part);
        store.putPhoto(seenOn(0).photo, madeFrom("k"), {seenOn(0)}, {}, {viewOf(seenOn(0), "p")});
        store.putWall("T01", {part, "{}", "map", {{"front", part, "sum"}}}, {}, {});
    }
    SeasonStore(folder / "left.db").forget(seenOn(0).photo);
    joinSeasons({folder / "left.db", folder / "came.db"}, folder / "joined.db");
    const auto wall = SeasonStore(folder / "joined.db").wall("T01");
    ASSERT_TRUE(wall);
    EXPECT_EQ(wall->key, "came.db");
    EXPECT_EQ(wall->sums.at(0).key, "came.db");
}

TEST(SeasonStore, TakesIdsAsTheyAre)
{
    const ScratchFolder folder;
    SeasonStore store(folder / "season.db");
    auto seen = seenOn(0, "T'); DROP TABLE photo;--\n\"ü\xFF");
    seen.notes = {"bad \xFF byte"};
    store.putPhoto(seen.photo, madeFrom("k"), {seen}, {});
    ASSERT_EQ(store.observations().size(), 1U);
    EXPECT_EQ(store.observations()[0].tub, seen.tub);
    EXPECT_EQ(store.observations()[0].notes[0], "bad \xEF\xBF\xBD byte");
}

TEST(SeasonStore, RefusesObservationsOfAnotherPhotoAndATubTwice)
{
    const ScratchFolder folder;
    SeasonStore store(folder / "season.db");
    EXPECT_THROW(store.putPhoto("other.jpg", madeFrom("k"), {seenOn(0)}, {}), std::invalid_argument);
    EXPECT_THROW(store.putPhoto(seenOn(0).photo, madeFrom("k"), {seenOn(0), seenOn(0)}, {}),
                 std::invalid_argument);
    EXPECT_TRUE(store.photos().empty());
}

/// Writes photos until it is killed, and a byte to `progress` after each.
[[noreturn]] void writeForEver(const std::filesystem::path& file, int round, int progress)
{
    SeasonStore store(file);
    for (int n = 0;; ++n) {
        const std::string photo = std::to_string(round) + "/" + std::to_string(n);
        auto left = covered(0, n, "T01"), right = covered(0, n, "T02");
        left.photo = right.photo = photo;
        left.notes = {std::string(20000, 'x')};  // several pages: there is a middle to be killed in
        store.putPhoto(photo, madeFrom("k"), {left, right}, {{photo, "", "caution", "r", "d"}});
        if (write(progress, "x", 1) != 1) std::_Exit(1);
    }
}

TEST(SeasonStore, IsWholeAfterItsWriterIsKilled)
{
    const ScratchFolder folder;
    const auto file = folder / "season.db";
    SeasonStore(file).putPhoto("start", madeFrom("k"), {}, {});
    std::mt19937 random(7);
    size_t before = 1;
    for (int round = 0; round < 8; ++round) {
        std::array<int, 2> progress{};
        ASSERT_EQ(pipe(progress.data()), 0);
        const pid_t writer = fork();
        ASSERT_GE(writer, 0);
        if (writer == 0) writeForEver(file, round, progress[1]);
        char written = 0;
        ASSERT_EQ(read(progress[0], &written, 1), 1);  // at least one photo is in
        usleep(random() % 60000);
        kill(writer, SIGKILL);
        waitpid(writer, nullptr, 0);
        close(progress[0]);
        close(progress[1]);

        const SeasonStore store(file, SeasonStore::Use::read);
        const auto photos = store.photos();
        EXPECT_GT(photos.size(), before);
        before = photos.size();
        EXPECT_EQ(store.observations().size(), 2 * (photos.size() - 1));
        EXPECT_EQ(store.problems().size(), photos.size() - 1);
    }
}

TEST(SeasonStore, CanBeReadByOthersWhileItIsWritten)
{
    const ScratchFolder folder;
    const auto file = folder / "season.db";
    SeasonStore writer(file);
    writer.putPhoto(seenOn(0).photo, madeFrom("k"), {seenOn(0)}, {});
    std::jthread writing([&writer](const std::stop_token& stop) {
        for (int n = 1; n < 200 && !stop.stop_requested(); ++n)
            writer.putPhoto(seenOn(n).photo, madeFrom("k"), {seenOn(n)}, {});
    });
    // Until a tenth of what is written has been seen to come in; without a writer that ends after a minute.
    size_t last = 0;
    for (int i = 0; i < 30 || (last < 20 && i < 20000); ++i) {
        const SeasonStore reader(file, SeasonStore::Use::read);
        const size_t now = reader.observations().size();
        EXPECT_GE(now, std::max<size_t>(last, 1));
        last = now;
    }
    EXPECT_GE(last, 20U) << "nothing was written meanwhile";
}

TEST(SeasonStore, TakesWritesFromSeveralThreads)
{
    const ScratchFolder folder;
    SeasonStore store(folder / "season.db");
    {
        std::vector<std::jthread> threads;
        for (int t = 0; t < 4; ++t)
            threads.emplace_back([&store, t] {
                for (int n = 0; n < 10; ++n) {
                    const auto seen = seenOn(n, std::string("tub ") + std::to_string(t));
                    store.putPhoto(seen.photo, madeFrom("k"), {seen}, {});
                    EXPECT_TRUE(store.find(seen.photo, seen.tub));
                }
            });
    }
    EXPECT_EQ(store.observations().size(), 40U);
}

TEST(SeasonStore, IsOneFileWhenNobodyWrites)
{
    const ScratchFolder folder;
    SeasonStore store(folder / "season.db");
    store.putPhoto(seenOn(0).photo, madeFrom("k"), {seenOn(0)}, {});
    size_t files = 0;
    for (const auto& entry : std::filesystem::directory_iterator(folder.path()))
        files += entry.exists() ? 1 : 0;
    EXPECT_EQ(files, 1U);
}

class OlderSeason : public testing::TestWithParam<int> {
protected:
    OlderSeason()
    {
        const auto sql = std::filesystem::path(SLIPGLASS_TEST_DATA) / "season-files" /
                         ("version-" + std::to_string(GetParam()) + ".sql");
        runSql(file_, readBytes(sql).c_str());
    }

    ScratchFolder folder_;
    std::filesystem::path file_ = folder_ / "season.db";
};

// Each was written by the program of its version.
// other.
TEST_P(OlderSeason, KeepsAllItHasAndLeavesACopyAsItWas)
{
    for (int times = 0; times < 2; ++times) {
        SeasonStore store(file_, times ? SeasonStore::Use::write : SeasonStore::Use::read);
        const auto kept = store.photo("T01_2026-01-12.jpg");
        ASSERT_TRUE(kept);
        EXPECT_EQ(kept->measured_on.has_value(), GetParam() >= 5);
        ASSERT_EQ(kept->observations.size(), 1U);
        const Observation& seen = kept->observations[0];
        EXPECT_EQ(isoDate(seen.taken.date), "2026-01-12");
        EXPECT_EQ(seen.state, State::measured);
        EXPECT_EQ(seen.coverage_percent, 0.0);
        EXPECT_NEAR(seen.px_per_mm.value_or(0), 6, 1);
        EXPECT_EQ(seen.outline.size(), 4U);
        ASSERT_EQ(store.problems().size(), 1U);
        EXPECT_EQ(store.problems()[0].file, "T01_2026-01-19.jpg");
        EXPECT_EQ(seen.water.level, seen.water_level_mm);
        EXPECT_EQ(seen.water.high, seen.water_high_mm);
        EXPECT_TRUE(seen.water.high);
        EXPECT_EQ(kept->made.program, kProgramOfOldSeasons);
        for (const std::string& hash : {kept->made.content, kept->made.settings}) EXPECT_EQ(hash.size(), 16U);
        EXPECT_FALSE(kept->made.labels);
        ASSERT_EQ(store.views("T01").size(), 1U);
        EXPECT_EQ(store.views("T01")[0].basis.size(), GetParam() >= 5 ? 16U : 0U);
        EXPECT_EQ(store.views("T01")[0].side.size(), GetParam() >= 5 ? 16U : 0U);
        EXPECT_TRUE(store.damagedViews("T01").empty());
        EXPECT_EQ(store.viewPicture("T01_2026-01-12.jpg", "T01").substr(1, 3), "PNG");
        EXPECT_EQ(store.panel("T01_2026-01-12.jpg", "T01").empty(), GetParam() == 3);
        EXPECT_TRUE(store.wall("T01"));
        EXPECT_EQ(store.given().at("plan"), "tub,tub_type,variety\nT01,quart,Quince A\n");
    }
    // The copy opens as the season did.
    const std::string copy = file_.string() + ".version-" + std::to_string(GetParam());
    EXPECT_EQ(SeasonStore(copy, SeasonStore::Use::read).observations().size(), 1U);
    EXPECT_TRUE(std::filesystem::exists(copy + ".version-" + std::to_string(GetParam()))) << "it was old";
}

TEST_P(OlderSeason, TakesNewPhotos)
{
    SeasonStore store(file_);
    store.putPhoto(seenOn(60).photo, madeFrom("k"), {seenOn(60)}, {}, {}, day(60));
    EXPECT_EQ(store.photo(seenOn(60).photo)->measured_on, day(60));
    EXPECT_EQ(store.observations().size(), 2U);
}

INSTANTIATE_TEST_SUITE_P(Versions, OlderSeason, testing::Values(3, 4, 5, 6));

TEST(SeasonStore, RefusesAFileOfTheFirstVersions)
{
    const ScratchFolder folder;
    {
        const SeasonStore store(folder / "season.db");
    }
    runSql(folder / "season.db", "PRAGMA user_version = 2");
    EXPECT_EQ(errorOf(folder / "season.db"),
              "was written by an older slipglass and keeps less than this one needs");
}

TEST(SeasonStore, RefusesAFileOfANewerSlipglass)
{
    const ScratchFolder folder;
    {
        const SeasonStore store(folder / "season.db");
    }
    runSql(folder / "season.db", "PRAGMA user_version = 99");
    const std::string wanted = "was written by a newer slipglass (season file version 99; this one knows 7)";
    EXPECT_EQ(errorOf(folder / "season.db"), wanted);
    EXPECT_EQ(errorOf(folder / "season.db", SeasonStore::Use::read), wanted);
}

TEST(SeasonStore, RefusesTheDatabaseOfAnotherProgramAndLeavesItAlone)
{
    const ScratchFolder folder;
    runSql(folder / "season.db", "CREATE TABLE recipes (x)");
    const std::string bytes = readBytes(folder / "season.db");
    EXPECT_EQ(errorOf(folder / "season.db"), "is the database of another program");
    EXPECT_EQ(readBytes(folder / "season.db"), bytes);
}

TEST(SeasonStore, RefusesAFileThatIsNoDatabaseAndLeavesItAlone)
{
    const ScratchFolder folder;
    const std::string text =
        "these are my notes on the tubs, and no database at all; " + std::string(2000, '.');
    const auto file = folder.write("season.db", text);
    EXPECT_EQ(errorOf(file), "the season file cannot be used: file is not a database");
    EXPECT_EQ(errorOf(file, SeasonStore::Use::read),
              "the season file cannot be used: file is not a database");
    EXPECT_EQ(readBytes(file), text);
}

/// 200 photos of one tub, each on pages of its own, with a view.
void fill(const std::filesystem::path& file)
{
    SeasonStore store(file);
    for (int n = 0; n < 200; ++n) {
        auto seen = seenOn(n);
        seen.notes = {std::string(500, 'x')};
        store.putPhoto(seen.photo, madeFrom("k"), {seen}, {}, {viewOf(seen, std::string(900, 'p'))});
    }
    store.putGiven({{"plan", "tub\nT01\n"}});
}

void overwrite(const std::filesystem::path& file, size_t from, size_t to)
{
    std::fstream bytes(file, std::ios::in | std::ios::out | std::ios::binary);
    bytes.seekp(static_cast<std::streamoff>(from));
    const std::string rubbish(to - from, '\xA5');
    bytes.write(rubbish.data(), static_cast<std::streamsize>(rubbish.size()));
}

TEST(SeasonStore, SaysOnOpeningWhenTheFileIsDamaged)
{
    const ScratchFolder folder;
    const auto file = folder / "season.db";
    fill(file);
    overwrite(file, 4096, std::filesystem::file_size(file));  // all pages after the first
    for (const auto use : {SeasonStore::Use::read, SeasonStore::Use::write}) try {
            const SeasonStore store(file, use);
            FAIL() << "no error";
        } catch (const Error& error) {
            EXPECT_NE(error.problem().find("damaged"), std::string::npos) << error.what();
            EXPECT_NE(error.remedy().find("--rescue"), std::string::npos) << error.what();
        }
    EXPECT_THROW(rescueSeason(file), Error) << "nothing is left to be saved";
    EXPECT_TRUE(std::filesystem::exists(file)) << "so it stays where it is";
    for (const char* name : {"season.db.damaged", "season.db.rescued", "season.db.copied"})
        EXPECT_FALSE(std::filesystem::exists(folder / name)) << name;
}

TEST(SeasonStore, SavesWhatCanBeReadOfADamagedFile)
{
    const ScratchFolder folder;
    const auto file = folder / "season.db";
    fill(file);
    // A tenth of the pages, in the middle: of tables and pictures alike.
    const size_t pages = std::filesystem::file_size(file) / 4096;
    overwrite(file, pages * 45 / 100 * 4096, pages * 55 / 100 * 4096);
    EXPECT_NE(errorOf(file), "");
    const std::string damaged = readBytes(file);
    const Rescued rescued = rescueSeason(file);
    EXPECT_EQ(readBytes(rescued.damaged), damaged);
    EXPECT_GE(rescued.photos, 120U) << "pages that lead to others are among them";
    EXPECT_FALSE(rescued.lost.empty());
    const SeasonStore store(file);
    EXPECT_EQ(store.photos().size(), rescued.photos);
    EXPECT_EQ(store.observations().size(), rescued.photos) << "no photo without its figures";
    EXPECT_TRUE(store.damagedViews("T01").empty());
    EXPECT_GE(store.views("T01").size(), 120U);
    EXPECT_EQ(store.given().at("plan"), "tub\nT01\n");
    // What lost its picture is measured again where its file is.
    for (const std::string& photo : store.photos())
        EXPECT_EQ(store.photo(photo)->made.program.empty(), store.panel(photo, "T01").empty()) << photo;
}

TEST_P(OlderSeason, IsLookedAtBeforeItIsBroughtUpToDateAndCanBeRescued)
{
    runSql(file_, "CREATE TABLE padding (x); INSERT INTO padding VALUES (zeroblob(90000));");
    const std::string sound = readBytes(file_);
    overwrite(file_, sound.size() - 3 * 4096, sound.size() - 2 * 4096);  // of the padding alone
    const std::string damaged = readBytes(file_);
    EXPECT_NE(errorOf(file_), "") << "no query meets that page, but the look at the whole file does";
    EXPECT_EQ(readBytes(file_), damaged);
    EXPECT_FALSE(std::filesystem::exists(file_.string() + ".version-" + std::to_string(GetParam())));
    const Rescued rescued = rescueSeason(file_);
    EXPECT_EQ(rescued.photos, 2U);
    EXPECT_EQ(readBytes(rescued.damaged), damaged);
    EXPECT_FALSE(std::filesystem::exists(file_.string() + ".copied"));
    const SeasonStore store(file_);
    EXPECT_EQ(store.observations().size(), 1U);
    EXPECT_EQ(store.given().at("plan_file"), "batch.csv");
}

TEST(SeasonStore, SaysWhenThereIsNothingToReadOrNowhereToWrite)
{
    const ScratchFolder folder;
    EXPECT_EQ(errorOf(folder / "season.db", SeasonStore::Use::read), "there is no season file");
    EXPECT_FALSE(std::filesystem::exists(folder / "season.db"));
    folder.write("file", "x");
    EXPECT_THROW(SeasonStore(folder / "file/season.db"), Error);
    std::filesystem::create_directories(folder / "season.db");
    EXPECT_NE(errorOf(folder / "season.db"), "");
}

/// Tries to make a season file as somebody who is not root, and tells why it cannot on stderr. Ends the
/// process.
[[noreturn]] void openAsNobody(const std::filesystem::path& file, SeasonStore::Use use)
{
    constexpr uid_t kNobody = 65534;
    if (geteuid() == 0 && seteuid(kNobody) != 0) std::_Exit(1);
    std::fputs(("said: " + errorOf(file, use)).c_str(), stderr);
    std::_Exit(3);
}

TEST(SeasonStore, SaysWhenTheFolderIsReadOnly)
{
    const ScratchFolder folder;
    std::filesystem::permissions(folder.path(), std::filesystem::perms{0555});
    EXPECT_EXIT(openAsNobody(folder / "season.db", SeasonStore::Use::write), ::testing::ExitedWithCode(3),
                "unable to open database file");
}

TEST(SeasonStore, ReadsAReadOnlyFileAndSaysWhenItIsToBeWritten)
{
    const ScratchFolder folder;
    {
        const SeasonStore store(folder / "season.db");
    }
    std::filesystem::permissions(folder / "season.db", std::filesystem::perms{0444});
    std::filesystem::permissions(folder.path(), std::filesystem::perms{0555});
    EXPECT_EXIT(openAsNobody(folder / "season.db", SeasonStore::Use::write), ::testing::ExitedWithCode(3),
                "attempt to write a readonly database");
    EXPECT_EXIT(openAsNobody(folder / "season.db", SeasonStore::Use::read), ::testing::ExitedWithCode(3),
                "said: $");
}

TEST_P(OlderSeason, IsLeftAloneWhereItMayNotBeWritten)
{
    const std::string bytes = readBytes(file_);
    std::filesystem::permissions(file_, std::filesystem::perms{0444});
    std::filesystem::permissions(folder_.path(), std::filesystem::perms{0555});
    EXPECT_EXIT(openAsNobody(file_, SeasonStore::Use::read), ::testing::ExitedWithCode(3),
                "was written by an older slipglass and may not be written to");
    EXPECT_EQ(readBytes(file_), bytes);
}

/// Writes until it cannot, and tells why on stderr. Ends the process.
[[noreturn]] void fillTheDisk(const std::filesystem::path& file)
{
    // A limit on the size of files stands in for a full disk: both end a write early.
    constexpr rlimit kSmall{100000, 100000};
    std::signal(SIGXFSZ, SIG_IGN);
    setrlimit(RLIMIT_FSIZE, &kSmall);
    try {
        SeasonStore store(file);
        for (int n = 1;; ++n) {
            auto seen = seenOn(n);
            seen.notes = {std::string(20000, 'x')};
            store.putPhoto(seen.photo, madeFrom("k"), {seen}, {});
        }
    } catch (const Error& error) {
        std::fputs(error.what(), stderr);
        std::_Exit(3);
    }
}

TEST(SeasonStore, KeepsWhatItHadWhenTheDiskIsFull)
{
    const ScratchFolder folder;
    const auto file = folder / "season.db";
    SeasonStore(file).putPhoto(seenOn(0).photo, madeFrom("k"), {seenOn(0)}, {});
    EXPECT_EXIT(fillTheDisk(file), ::testing::ExitedWithCode(3), "season.db: the season file cannot be used");
    const SeasonStore store(file, SeasonStore::Use::read);
    EXPECT_GE(store.photos().size(), 2U);
    EXPECT_EQ(store.observations().size(), store.photos().size());
}

}  // namespace
}  // namespace slipglass
