// A season measured in shares and joined is the season measured at once: its truth is that of one run.
#include "slipglass/share.h"

#include <gtest/gtest.h>
#include <sqlite3.h>

#include <algorithm>
#include <opencv2/imgcodecs.hpp>

#include "../support/samples.h"
#include "../support/scratch_folder.h"
#include "../support/season_folder.h"
#include "slipglass/error.h"

namespace slipglass {
namespace {

namespace fs = std::filesystem;

/// All rows of a season file but what was given beside the photos, pictures included, in order of their keys.
std::string rowsOf(const fs::path& season)
{
    std::string all;
    sqlite3* file = nullptr;
    EXPECT_EQ(sqlite3_open((season / "season.db").c_str(), &file), SQLITE_OK);
    for (const char* table :
         {"photo ORDER BY name", "observation ORDER BY photo, tub", "problem ORDER BY photo, place",
          "wall_view ORDER BY photo, tub", "wall ORDER BY tub", "wall_sum ORDER BY tub, side"}) {
        sqlite3_stmt* rows = nullptr;
        const std::string query = std::string("SELECT * FROM ").append(table);
        EXPECT_EQ(sqlite3_prepare_v2(file, query.c_str(), -1, &rows, nullptr), SQLITE_OK);
        while (sqlite3_step(rows) == SQLITE_ROW)
            for (int column = 0; column < sqlite3_column_count(rows); ++column) {
                const auto size = static_cast<size_t>(sqlite3_column_bytes(rows, column));
                const void* bytes = sqlite3_column_blob(rows, column);
                all.append("\n").append(table).append(": ");
                if (bytes) all.append(static_cast<const char*>(bytes), size);
            }
        sqlite3_finalize(rows);
    }
    sqlite3_close(file);
    return all;
}

class Shares : public testing::Test {
protected:
    /// Photos that name their tub and one that its grains tell.
    Shares()
    {
        add("T01_2026-01-12", "T01_2026-01-12.jpg");
        add("T02_2026-01-12", "T02_2026-01-12.jpg");
        add("T02_2026-01-20", "IMG_20260120_093010.jpg");
        add("T05_2026-01-20", "T05_2026-01-20.jpg");
        scratch_.write("corrections/T01_2026-01-12.json", R"({"schema": 1, "water_line": []})");
        scratch_.write("corrections/T09_2026-01-12.json", R"({"schema": 1, "water_line": []})");
    }
    /// One of two tubs by their labels, one under the name of another tub, two that cannot be measured.
    void addOddOnes() const
    {
        add("T04_2026-01-15", "T04_2026-01-15.jpg");
        add("T04_2026-01-22", "T02_2026-01-22.jpg");
        scratch_.write("photos/T06_2026-01-29.jpg", "no picture");
        scratch_.write("photos/IMG_20260130_080000.jpg", "no picture either");
        scratch_.write("photos/notes.txt", "a shopping list");
        cv::Mat both;
        cv::hconcat(cv::imread(test::samplePhoto("T01_2026-01-26").string()),
                    cv::imread(test::samplePhoto("T03_2026-01-28").string()), both);
        cv::imwrite((photos() / "IMG_20260126_100000.jpg").string(), both);
    }

    fs::path photos() const { return scratch_ / "photos"; }
    fs::path folder(const std::string& name) const { return scratch_ / name; }
    fs::path part(int nth) const { return scratch_ / std::string("part-").append(std::to_string(nth)); }
    void add(const std::string& sample, const std::string& as) const
    {
        fs::create_directories(photos());
        fs::copy_file(test::samplePhoto(sample), photos() / as);
    }

    MeasureOptions options(const std::string& out) const
    {
        MeasureOptions options;
        options.photos = {photos()};
        options.out = folder(out);
        // By rules, which are quicker.
        options.settings = scratch_.write("settings.json", R"({"roots": {"learned": false}})");
        options.batch = scratch_.write("batch.csv",
                                       "tub,tub_type,medium\nT01,quart,bark\nT02,quart,peat\nT03,quart,bark\n"
                                       "T04,quart,peat\nT05,gallon,bark\nT06,gallon,peat\nT07,quart,peat\n");
        options.corrections = folder("corrections");
        options.threads = 2;
        options.today = *parseIsoDate("2026-04-01");
        return options;
    }
    void find() const { findTubs(options("merged"), scratch_ / "tubs.list", {}); }
    MeasureResult measureShare(int nth, int of = 3, const std::string& settings = "") const
    {
        MeasureOptions one = options(part(nth).filename().string());
        one.share = TubShare{nth, of};
        one.tubs = scratch_ / "tubs.list";
        if (!settings.empty()) one.settings = scratch_.write("other.json", settings);
        return measure(one, {});
    }
    void measureShares() const
    {
        for (int nth = 1; nth <= 3; ++nth) measureShare(nth);
    }
    Merged merge(const std::vector<int>& order = {1, 2, 3}, const std::string& out = "merged") const
    {
        std::vector<fs::path> parts;
        for (const int nth : order) parts.push_back(part(nth));
        return mergeShares(parts, folder(out));
    }
    std::string refusal(const std::vector<int>& order, const std::string& out = "merged") const
    {
        try {
            merge(order, out);
        } catch (const Error& error) {
            return error.what();
        }
        return "merged";
    }
    void expectSame(const std::string& one, const std::string& other) const
    {
        const auto files = test::filesBelow(folder(one)), others = test::filesBelow(folder(other));
        for (const auto& [name, bytes] : files) {
            ASSERT_TRUE(others.count(name)) << name << " is only in " << one;
            EXPECT_TRUE(others.at(name) == bytes) << name << " differs";
        }
        for (const auto& [name, bytes] : others)
            EXPECT_TRUE(files.count(name)) << name << " is only in " << other;
        EXPECT_GT(files.size(), 40U);
        EXPECT_TRUE(rowsOf(folder(one)) == rowsOf(folder(other)));
    }

    test::ScratchFolder scratch_;
};

TEST_F(Shares, JoinedAreTheSingleRunToTheByteInAnyOrderAndTwiceLikeOnce)
{
    addOddOnes();
    const MeasureResult single = measure(options("single"), {});
    EXPECT_EQ(single.by_grains.size(), 1U);
    const auto& problems = single.season.problems;
    ASSERT_TRUE(std::any_of(problems.begin(), problems.end(), [](const Problem& p) {
        return p.reason.find("by its grains it shows the wall of T04") != std::string::npos;
    })) << "the photo under another tub's name is told across shares";

    find();
    int measured = 0, at_work = 0;
    for (int nth = 1; nth <= 3; ++nth) {
        const int here = measureShare(nth).measured;
        measured += here;
        at_work += here > 0;
    }
    EXPECT_EQ(measured, single.measured) << "each photo in one share";
    EXPECT_GT(at_work, 1) << "not all in one share";
    EXPECT_EQ(merge().photos, 9U);
    expectSame("single", "merged");
    const std::string once = test::readBytes(folder("merged") / "season.db");
    merge();
    EXPECT_TRUE(test::readBytes(folder("merged") / "season.db") == once);
    merge({3, 1, 2, 1, 3});
    EXPECT_TRUE(test::readBytes(folder("merged") / "season.db") == once);
    expectSame("single", "merged");

    // The season is whole: it goes on as any other, and measures nothing again.
    const MeasureResult on = measure(options("merged"), {});
    EXPECT_EQ(on.measured, 0);
    EXPECT_EQ(on.kept, single.measured);
    expectSame("single", "merged");
}

TEST_F(Shares, GoOnWithTheirTubsWhenPhotosCome)
{
    find();
    measureShares();
    merge();
    add("T05_2026-02-04", "T05_2026-02-04.jpg");
    add("T02_2026-02-03", "IMG_20260203_093010.jpg");
    find();
    int measured = 0;
    for (int nth = 1; nth <= 3; ++nth) measured += measureShare(nth).measured;
    EXPECT_EQ(measured, 2) << "those kept from before stay in their shares";
    merge();
    const MeasureResult single = measure(options("single"), {});
    EXPECT_EQ(single.by_grains.size(), 2U);
    expectSame("single", "merged");
}

TEST_F(Shares, AreNotJoinedUnlessTheyBelongTogether)
{
    find();
    measureShares();
    EXPECT_NE(refusal({2}).find("2 are missing: 1, 3"), std::string::npos) << refusal({2});
    EXPECT_NE(refusal({1, 3}).find("1 is missing: 2"), std::string::npos);
    EXPECT_FALSE(fs::exists(folder("merged")));

    measureShare(2, 3, R"({"roots": {"learned": false}, "panel": {"frontal_deg": 50}})");
    EXPECT_NE(refusal({1, 2, 3}).find("other settings than part 1"), std::string::npos) << refusal({1, 2, 3});
    measureShare(2);

    add("T05_2026-02-04", "T05_2026-02-04.jpg");
    measureShare(1);
    EXPECT_NE(refusal({1, 2, 3}).find("from other photos"), std::string::npos) << refusal({1, 2, 3});
    measureShare(2);

    // One that was ended in the middle.
    const std::atomic<bool> stop{true};
    MeasureOptions third = options("part-3");
    third.share = TubShare{3, 3};
    third.tubs = scratch_ / "tubs.list";
    MeasureEvents events;
    events.stop = &stop;
    measure(third, events);
    EXPECT_NE(refusal({1, 2, 3}).find("not measured to its end"), std::string::npos) << refusal({1, 2, 3});
    measureShare(3);
    merge();

    // What was measured since is not thrown away.
    measure(options("merged"), {});
    EXPECT_NE(refusal({1, 2, 3}).find("measured since"), std::string::npos) << refusal({1, 2, 3});
}

TEST_F(Shares, KeepToTheirFoldersAndToTheirList)
{
    EXPECT_THROW(measureShare(1), Error) << "no list";
    find();
    measureShare(1);
    EXPECT_THROW(measure(options("part-1"), {}), Error) << "a share is not measured as a whole season";
    EXPECT_THROW(measureShare(1, 4), Error);
    fs::remove(photos() / "IMG_20260120_093010.jpg");
    add("T02_2026-02-03", "IMG_20260120_093010.jpg");
    int refused = 0;
    for (int nth = 1; nth <= 3; ++nth) try {
            measureShare(nth);
        } catch (const Error& error) {
            refused += std::string(error.what()).find("has changed since") != std::string::npos;
        }
    EXPECT_EQ(refused, 1);
    for (const char* text : {"0/3", "4/3", "1", "1/", "/3", "1/3x", "a/b", "-1/3"})
        EXPECT_THROW(parseTubShare(text), Error) << text;
    EXPECT_EQ(parseTubShare("2/8"), (TubShare{2, 8}));
}

}  // namespace
}  // namespace slipglass
