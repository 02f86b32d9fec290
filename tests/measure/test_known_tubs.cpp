// Which tub a photo shows, where neither name nor label tells: sample photos of tubs without labels, under
// the names that phones give.
#include <gtest/gtest.h>

#include <algorithm>

#include "../support/samples.h"
#include "../support/scratch_folder.h"
#include "../support/season_folder.h"
#include "slipglass/measure.h"

namespace slipglass {
namespace {

namespace fs = std::filesystem;

/// Photos in a folder, and a season beside it.
class Shelf {
public:
    void add(const std::string& sample, const std::string& as) const
    {
        const fs::path to = scratch_ / "photos" / as;
        fs::create_directories(to.parent_path());
        fs::copy_file(test::samplePhoto(sample), to);
    }
    void remove(const std::string& name) const { fs::remove(scratch_ / "photos" / name); }
    void rename(const std::string& name, const std::string& as) const
    {
        fs::rename(scratch_ / "photos" / name, scratch_ / "photos" / as);
    }
    fs::path out() const { return scratch_ / "out"; }

    MeasureResult run(const std::string& plan = "", int threads = 2, const std::string& out = "out") const
    {
        MeasureOptions options;
        options.photos = {scratch_ / "photos"};
        options.out = scratch_ / out;
        // By rules, which are quicker: what is tested is which tub, not how well.
        options.settings = scratch_.write("settings.json", R"({"roots": {"learned": false}})");
        if (!plan.empty()) options.batch = scratch_.write("batch.csv", plan);
        options.threads = threads;
        options.today = *parseIsoDate("2026-04-01");
        return measure(options, {});
    }

private:
    test::ScratchFolder scratch_;
};

std::string tubOf(const MeasureResult& result, const std::string& photo)
{
    for (const Observation& seen : result.season.observations)
        if (seen.photo == photo) return seen.tub;
    return "none";
}

std::string reasonOf(const MeasureResult& result, const std::string& photo)
{
    for (const Problem& problem : result.season.problems)
        if (problem.file == photo) return problem.reason;
    return "";
}

TEST(KnownTubs, AreFoundByTheirGrainsAndStrangersAreNotMergedUnderTheFoldersName)
{
    Shelf shelf;
    shelf.add("T02_2026-01-12", "T02_2026-01-12.jpg");
    shelf.add("T02_2026-01-20", "IMG_20260120_093010.jpg");
    shelf.add("T02_2026-02-18", "IMG_20260218_093010.jpg");
    shelf.add("T04_2026-01-15", "IMG_20260115_080000.jpg");
    shelf.add("T04_2026-01-22", "IMG_20260122_080000.jpg");
    const MeasureResult result = shelf.run();
    EXPECT_EQ(tubOf(result, "IMG_20260120_093010.jpg"), "T02");
    EXPECT_EQ(tubOf(result, "IMG_20260218_093010.jpg"), "T02");
    ASSERT_EQ(result.by_grains.size(), 2U);
    EXPECT_EQ(result.by_grains[0].tub, "T02");
    EXPECT_EQ(tubOf(result, "IMG_20260115_080000.jpg"), "none");
    EXPECT_NE(reasonOf(result, "IMG_20260115_080000.jpg").find("no tub known"), std::string::npos);
    ASSERT_EQ(result.of_no_tub.size(), 2U);
    EXPECT_TRUE(result.of_no_tub[0].likely.empty());
    EXPECT_EQ(result.not_measured, 2);

    // The same by another order of work, to the byte.
    shelf.run("", 1, "alone");
    EXPECT_TRUE(test::filesBelow(shelf.out()) == test::filesBelow(shelf.out().parent_path() / "alone"));
}

TEST(KnownTubs, AreKnownFromTheSeasonFileWhenTheirPhotosAreGone)
{
    Shelf shelf;
    shelf.add("T02_2026-01-12", "T02_2026-01-12.jpg");
    shelf.add("T02_2026-01-20", "IMG_20260120_093010.jpg");
    shelf.run();
    shelf.remove("T02_2026-01-12.jpg");
    shelf.add("T02_2026-02-03", "IMG_20260203_093010.jpg");
    const MeasureResult result = shelf.run();
    EXPECT_EQ(tubOf(result, "IMG_20260203_093010.jpg"), "T02");
    EXPECT_EQ(result.measured, 1);
    EXPECT_EQ(result.kept, 1);  // what was found once is not looked for again
    const auto& seen = result.season.observations;
    EXPECT_EQ(std::count_if(seen.begin(), seen.end(),
                            [](const Observation& one) {
                                return std::find(one.notes.begin(), one.notes.end(),
                                                 "tub known by the grains of its wall") != one.notes.end();
                            }),
              2);
}

TEST(KnownTubs, AFolderIsATubIfItsPhotosShowOneWall)
{
    Shelf shelf;
    shelf.add("T04_2026-01-15", "willow/IMG_0001_20260115.jpg");
    shelf.add("T04_2026-01-22", "willow/IMG_0002_20260122.jpg");
    EXPECT_EQ(tubOf(shelf.run(), "willow/IMG_0002_20260122.jpg"), "willow");

    Shelf mixed;
    mixed.add("T04_2026-01-15", "round one/IMG_0001_20260115.jpg");
    mixed.add("T02_2026-01-20", "round one/IMG_0002_20260120.jpg");
    const MeasureResult result = mixed.run();
    EXPECT_EQ(tubOf(result, "round one/IMG_0001_20260115.jpg"), "none");
    EXPECT_EQ(tubOf(result, "round one/IMG_0002_20260120.jpg"), "none");
    EXPECT_NE(reasonOf(result, "round one/IMG_0002_20260120.jpg").find("do not show one wall"),
              std::string::npos);
}

TEST(KnownTubs, AFolderThatThePlanNamesIsBelieved)
{
    Shelf shelf;
    shelf.add("T04_2026-01-15", "willow/IMG_0001_20260115.jpg");
    shelf.add("T02_2026-01-20", "willow/IMG_0002_20260120.jpg");
    const MeasureResult result = shelf.run("tub\nwillow\n");
    EXPECT_EQ(tubOf(result, "willow/IMG_0001_20260115.jpg"), "willow");
    EXPECT_EQ(tubOf(result, "willow/IMG_0002_20260120.jpg"), "willow");
}

TEST(KnownTubs, APhotoWhoseNameSaysNoTubIsNoneOfTheSeasonUntilItIsCalledOtherwise)
{
    Shelf shelf;
    shelf.add("T02_2026-01-12", "T02_2026-01-12.jpg");
    shelf.add("T02_2026-01-20", "T02_2026-01-20.jpg");
    shelf.add("T02_2026-02-03", "IMG_20260203_093010.jpg");
    EXPECT_EQ(tubOf(shelf.run(), "IMG_20260203_093010.jpg"), "T02");
    shelf.rename("IMG_20260203_093010.jpg", "no-tub_2026-02-03_IMG.jpg");
    for (int run = 0; run < 2; ++run) {
        const MeasureResult result = shelf.run();
        EXPECT_EQ(result.season.observations.size(), 2U);
        EXPECT_TRUE(result.season.problems.empty());
        EXPECT_TRUE(result.of_no_tub.empty());
        EXPECT_EQ(result.measured, 0) << "no other photo depends on it";
        EXPECT_EQ(result.kept, 2);
        EXPECT_EQ(result.not_measured, 0);
    }
    // An earlier one of the tub: those after it were compared with it.
    shelf.rename("T02_2026-01-12.jpg", "no-tub_2026-01-12.jpg");
    EXPECT_EQ(shelf.run().measured, 1);
    shelf.rename("T02_2026-01-20.jpg", "no-tub_2026-01-20.jpg");
    const MeasureResult none = shelf.run();
    EXPECT_TRUE(none.season.observations.empty());
    shelf.rename("no-tub_2026-01-20.jpg", "T02_2026-01-20.jpg");
    EXPECT_EQ(tubOf(shelf.run(), "T02_2026-01-20.jpg"), "T02");
}

TEST(KnownTubs, AWallThatIsNotTheOneItsNameSaysIsPointedOut)
{
    Shelf shelf;
    shelf.add("T02_2026-01-12", "T02_2026-01-12.jpg");
    shelf.add("T02_2026-01-20", "T02_2026-01-20.jpg");
    shelf.add("T04_2026-01-15", "T04_2026-01-15.jpg");
    shelf.add("T04_2026-01-22", "T02_2026-01-22.jpg");  // named after the wrong tub
    const MeasureResult result = shelf.run();
    EXPECT_EQ(tubOf(result, "T02_2026-01-22.jpg"), "T02");  // the user's word stands
    EXPECT_NE(reasonOf(result, "T02_2026-01-22.jpg").find("the wall of T04"), std::string::npos);
    EXPECT_EQ(reasonOf(result, "T02_2026-01-20.jpg").find("the wall of"), std::string::npos);
}

}  // namespace
}  // namespace slipglass
