// A tub's wall in the season file: what is read anew when a photo comes, and what stays.
#include "slipglass/wall/read_wall.h"

#include <gtest/gtest.h>

#include <map>
#include <opencv2/imgcodecs.hpp>

#include "../support/bare_wall.h"
#include "../support/scratch_folder.h"
#include "../support/season_maker.h"
#include "slipglass/panel/panel_file.h"

namespace slipglass {
namespace {

using test::kHigh;
using test::kScale;
using test::kWide;
using test::ScratchFolder;
using test::seenOn;

constexpr int kLater = static_cast<int>(kLaterAsked);

/// A season file, and what reading its wall draws.
class WallInStore : public testing::Test {
protected:
    /// A photo of day `n` with a root as long, in mm.
    static void put(SeasonStore& store, int n, double root_mm, const std::string& side = "front",
                    const std::string& basis = "basis")
    {
        WallView view = test::bareWall();
        view.panel.px_per_unit = 5.5;
        view.panel.in_mm = true;
        view.panel.bgr = cv::Mat(kHigh, kWide, CV_8UC3, cv::Scalar::all(60));
        view.roots.log_odds = cv::Mat(kHigh, kWide, CV_32F, cv::Scalar(-5));
        view.roots.if_root_browned = cv::Mat::zeros(kHigh, kWide, CV_8U);
        view.roots.log_odds(cv::Rect(40, 96, static_cast<int>(root_mm / kScale), 8)).setTo(4);
        const PanelFile panel = encodePanel(view.panel);
        const WallViewFile file = encodeWallView(view);
        ViewFacts facts;
        facts.place = {side, {kWide, kHigh}, *view.to_reference};
        facts.size = {kWide, kHigh};
        facts.full_size = {2 * kWide, 2 * kHigh};
        facts.reduction = 2;
        facts.view_meta = file.meta;
        facts.panel_meta = panel.meta;
        const Observation seen = seenOn(n);
        store.putPhoto(seen.photo, {}, {seen}, {},
                       {{seen.photo, seen.tub, basis, side, metaOf(facts), file.bytes, panel.bytes}});
    }

    /// Reads the wall, and gives the days of the photos that were read anew.
    std::vector<int> read(SeasonStore& store, const std::string& basis = "basis")
    {
        std::vector<int> days;
        WallTask task;
        task.tub = "T01";
        task.basis = basis;
        task.listed = [&](const std::string& photo) { return photo != gone_; };
        task.draw = [&](const ReadPhoto& photo) {
            const auto since =
                std::chrono::sys_days(photo.seen.taken.date) - std::chrono::sys_days(test::day(0));
            days.push_back(static_cast<int>(since.count()));
            return true;
        };
        task.draw_ages = [&](const RootAges& ages) { ages_ = ages; };
        task.stopped = [&] { return stopped_; };
        read_ = readWall(task, store);
        return days;
    }

    static std::vector<int> daysFrom(int first, int end)
    {
        std::vector<int> days;
        for (int n = first; n < end; ++n) days.push_back(n);
        return days;
    }

    ScratchFolder folder_;
    RootAges ages_;
    std::string gone_;
    bool stopped_ = false, read_ = false;
};

TEST_F(WallInStore, IsReadAnewAsFarAsANewPhotoIsAskedAbout)
{
    SeasonStore store(folder_ / "season.db");
    for (int n = 0; n < 20; ++n) put(store, n, 5 + n);
    EXPECT_EQ(read(store), daysFrom(0, 20));
    EXPECT_TRUE(read(store).empty());
    EXPECT_FALSE(read_);
    put(store, 20, 25);
    EXPECT_EQ(read(store), daysFrom(20 - kLater, 21));
    EXPECT_EQ(ages_.photos.size(), 21U);
    // Of the root's newest end.
    EXPECT_EQ(ages_.first_seen.at<ushort>(100, 40 + static_cast<int>(24.7 / kScale)), 21);
    EXPECT_EQ(ages_.first_seen.at<ushort>(100, 45), 1);
}

TEST_F(WallInStore, GivesTheSameWhenPhotosComeOneByOneOrTheFileIsClosedBetween)
{
    SeasonStore at_once(folder_ / "at-once.db");
    for (int n = 0; n < 14; ++n) {
        put(at_once, n, 5 + n, n % 5 ? "front" : "back");
        SeasonStore one_by_one(folder_ / "one-by-one.db");
        put(one_by_one, n, 5 + n, n % 5 ? "front" : "back");
        read(one_by_one);
    }
    const RootAges ages = ages_;
    read(at_once);
    EXPECT_EQ(cv::norm(ages.first_seen, ages_.first_seen, cv::NORM_INF), 0);
    const SeasonStore one_by_one(folder_ / "one-by-one.db");
    const auto some = one_by_one.observations(), same = at_once.observations();
    ASSERT_EQ(some.size(), 14U);
    for (size_t i = 0; i < some.size(); ++i) {
        EXPECT_EQ(some[i].coverage_percent, same[i].coverage_percent) << i;
        EXPECT_EQ(some[i].gained_root_mm, same[i].gained_root_mm) << i;
        EXPECT_EQ(some[i].photos_read, same[i].photos_read) << i;
        EXPECT_EQ(one_by_one.views("T01")[i].read_with, at_once.views("T01")[i].read_with) << i;
    }
    EXPECT_EQ(one_by_one.wall("T01")->key, at_once.wall("T01")->key);
}

TEST_F(WallInStore, IsReadAnewFromAPhotoThatChanged)
{
    SeasonStore store(folder_ / "season.db");
    for (int n = 0; n < 20; ++n) put(store, n, 5);
    read(store);
    put(store, 15, 30);
    EXPECT_EQ(read(store), daysFrom(15 - kLater, 20)) << "those before are kept as a sum";
    put(store, 2, 30);
    EXPECT_EQ(read(store), daysFrom(0, 20));
    put(store, 19, 5);  // measured again, to the same
    EXPECT_EQ(read(store), daysFrom(19, 20)) << "its own figures were those of the photo alone";
    store.forget(seenOn(19).photo);
    EXPECT_EQ(read(store), daysFrom(19 - kLater, 19));
}

TEST_F(WallInStore, DrawsAPhotoOnceItIsBack)
{
    SeasonStore store(folder_ / "season.db");
    for (int n = 0; n < 3; ++n) put(store, n, 5 + n);
    gone_ = seenOn(1).photo;
    EXPECT_EQ(read(store), (std::vector<int>{0, 2}));
    EXPECT_TRUE(read(store).empty());
    gone_.clear();
    EXPECT_EQ(read(store), daysFrom(1, 3));
}

TEST_F(WallInStore, StaysAsItIsWhereNoPhotoIsOnTheBasisOfToday)
{
    SeasonStore store(folder_ / "season.db");
    for (int n = 0; n < 3; ++n) put(store, n, 5 + n);
    read(store);
    const std::string before = store.wall("T01")->picture;
    EXPECT_TRUE(read(store, "another program").empty());
    EXPECT_EQ(store.wall("T01")->picture, before);
    EXPECT_EQ(store.find(seenOn(2).photo, "T01")->photos_read, 3);
}

TEST_F(WallInStore, KeepsNothingOfAReadingThatWasStopped)
{
    SeasonStore store(folder_ / "season.db");
    for (int n = 0; n < 3; ++n) put(store, n, 5 + n);
    stopped_ = true;
    read(store);
    EXPECT_FALSE(store.wall("T01"));
    EXPECT_EQ(store.views("T01")[0].read_with, "");
    stopped_ = false;
    EXPECT_EQ(read(store), daysFrom(0, 3));
}

TEST(RootAges, AreNoneWhereSlipglassDidNotWriteThem)
{
    for (const char* meta : {"", "{}", "[]", R"({"photos":[]})", R"({"photos":[{"photo":1}]})"})
        EXPECT_FALSE(agesIn({"key", meta, "no picture", {}})) << meta;
    EXPECT_FALSE(agesIn({"key", R"({"photos":[{"photo":"a","date":"2026-01-12"}]})", "no picture", {}}));
}

}  // namespace
}  // namespace slipglass
