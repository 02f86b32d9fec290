#include "season_folder.h"

#include <gtest/gtest.h>

#include <opencv2/imgcodecs.hpp>

#include "../support/samples.h"
#include "../support/scratch_folder.h"
#include "slipglass/error.h"

namespace slipglass {
namespace {

namespace fs = std::filesystem;

const Date kToday = *parseIsoDate("2026-04-01");

class Sent : public testing::Test {
protected:
    /// A sample photo as a server has it after an upload.
    fs::path sent(const std::string& sample = "T02_2026-01-12") const
    {
        fs::create_directories(folder_.uploads());
        const fs::path to = folder_.uploads() / "1";
        fs::copy_file(test::samplePhoto(sample), to, fs::copy_options::overwrite_existing);
        return to;
    }
    /// The same without a word of when it was taken.
    fs::path undated() const
    {
        const fs::path to = sent();
        cv::imwrite((folder_.uploads() / "2.jpg").string(), cv::imread(to.string()));
        return folder_.uploads() / "2.jpg";
    }
    size_t photos() const
    {
        size_t count = 0;
        for (const auto& entry : fs::directory_iterator(folder_.photos())) count += entry.is_regular_file();
        return count;
    }
    test::ScratchFolder scratch_;
    SeasonFolder folder_{scratch_ / "season"};
};

TEST_F(Sent, PhotoIsKeptUnderItsOwnNameOnce)
{
    EXPECT_EQ(takeIn(folder_, sent(), "T02_2026-01-12.jpg", std::nullopt, kToday).photo,
              "T02_2026-01-12.jpg");
    const TakenIn again = takeIn(folder_, sent(), "IMG_1.jpg", std::nullopt, kToday);
    EXPECT_TRUE(again.had_it);
    EXPECT_EQ(again.photo, "T02_2026-01-12.jpg");
    EXPECT_EQ(photos(), 1U);
    // Another picture under the same name is another photo.
    EXPECT_EQ(takeIn(folder_, sent("T02_2026-01-20"), "T02_2026-01-12.jpg", std::nullopt, kToday).photo,
              "T02_2026-01-12_2.jpg");
}

TEST_F(Sent, NameIsNeverAPath)
{
    for (const std::string name :
         {"../../evil_20260112.jpg", "..\\..\\evil_20260112.jpg", "/etc/evil_20260112", ".hidden 2026-01-12",
          "a\nb_20260112.jpg", "con_20260112.jpg", "..", "evil_20260112.php"}) {
        const std::string photo = takeIn(folder_, sent(), name, *parseIsoDate("2026-01-12"), kToday).photo;
        EXPECT_EQ(fs::path(photo).filename(), fs::path(photo)) << name;
        EXPECT_NE(photo.front(), '.') << name;
        EXPECT_EQ(fs::path(photo).extension(), ".jpg") << name;
        EXPECT_TRUE(fs::exists(folder_.photos() / photo)) << name;
        fs::remove(folder_.photos() / photo);
    }
    EXPECT_EQ(photos(), 0U);
}

TEST_F(Sent, PhotoWithoutADateTakesTheSendersDayAndNoOtherDoes)
{
    EXPECT_EQ(takeIn(folder_, undated(), "image.jpg", *parseIsoDate("2026-01-15"), kToday).photo,
              "2026-01-15_image.jpg");
    fs::remove_all(folder_.photos());
    EXPECT_EQ(
        takeIn(folder_, undated(), "IMG_20260112_101500.jpg", *parseIsoDate("2026-03-15"), kToday).photo,
        "IMG_20260112_101500.jpg");
    fs::remove_all(folder_.photos());
    EXPECT_THROW(takeIn(folder_, undated(), "image.jpg", std::nullopt, kToday), Error);
    EXPECT_THROW(takeIn(folder_, undated(), "image.jpg", *parseIsoDate("2026-04-02"), kToday), Error);
    EXPECT_EQ(photos(), 0U);
}

TEST_F(Sent, WhatIsNoPictureIsRefusedUnderItsOwnName)
{
    fs::create_directories(folder_.uploads());
    const fs::path file = scratch_.write("season/.sent/2", "<html>no picture</html>");
    try {
        takeIn(folder_, file, "page.jpg", std::nullopt, kToday);
        FAIL();
    } catch (const Error& error) {
        EXPECT_EQ(error.input(), "page.jpg");
    }
}

TEST_F(Sent, TubIsToldByANewNameAndOnlyByOneThatHolds)
{
    const std::string photo = takeIn(folder_, sent(), "image.jpg", *parseIsoDate("2026-01-12"), kToday).photo;
    for (const std::string tub : {"", "../T01", "a/b", "IMG", "T_01", "T01\n", "."})
        EXPECT_THROW(nameTub(folder_, photo, tub, kToday), Error) << tub;
    EXPECT_THROW(nameTub(folder_, "../season.db", "T01", kToday), Error);
    EXPECT_THROW(nameTub(folder_, "none.jpg", "T01", kToday), Error);
    EXPECT_TRUE(fs::exists(folder_.photos() / photo));
    EXPECT_EQ(nameTub(folder_, photo, "Fig 2", kToday), "Fig 2_2026-01-12_image.jpg");
    EXPECT_FALSE(fs::exists(folder_.photos() / photo));
    // A wrong answer gives way to the right one.
    EXPECT_EQ(nameTub(folder_, "Fig 2_2026-01-12_image.jpg", "Fig 3", kToday), "Fig 3_2026-01-12_image.jpg");
}

TEST_F(Sent, TubThatANameToldGivesWayAndComesBack)
{
    const auto named = [&](const std::string& photo, const std::string& tub) {
        return nameTub(folder_, photo, tub, kToday);
    };
    takeIn(folder_, sent(), "T02_2026-01-12.jpg", std::nullopt, kToday);
    takeIn(folder_, sent("T02_2026-01-20"), "T03_2026-01-12.jpg", std::nullopt, kToday);
    EXPECT_EQ(named("T02_2026-01-12.jpg", "T03"), "T03_2026-01-12_2.jpg") << "that of the other stays";
    EXPECT_EQ(giveName(folder_, "T03_2026-01-12_2.jpg", "T02_2026-01-12.jpg"), "T02_2026-01-12.jpg");
    EXPECT_EQ(named("T02_2026-01-12.jpg", "T05"), "T05_2026-01-12.jpg");
    EXPECT_EQ(named("T05_2026-01-12.jpg", "No-Tub"), "no-tub_2026-01-12.jpg");
    EXPECT_EQ(photosOfNoTub(folder_), std::vector<std::string>{"no-tub_2026-01-12.jpg"});
    EXPECT_EQ(named("no-tub_2026-01-12.jpg", "T02"), "T02_2026-01-12.jpg");
    EXPECT_TRUE(photosOfNoTub(folder_).empty());
    EXPECT_THROW(giveName(folder_, "../season.db", "T02_2026-01-12.jpg"), Error);
    EXPECT_EQ(photos(), 2U);
}

TEST_F(Sent, NamesOfAnyScriptStay)
{
    for (const std::string name : {"Töpfe 2026-01-12 🌱.jpg", "it's \"mine\" 2026-01-12.jpg"}) {
        const std::string photo = takeIn(folder_, sent(), name, std::nullopt, kToday).photo;
        EXPECT_TRUE(fs::exists(folder_.photos() / photo)) << photo;
        EXPECT_EQ(takeIn(folder_, sent(), name, std::nullopt, kToday).photo, photo);
        EXPECT_EQ(nameTub(folder_, photo, "Tüb 1", kToday).substr(0, 18), "Tüb 1_2026-01-12_") << photo;
        fs::remove_all(folder_.photos());
    }
}

TEST_F(Sent, FileThatWasGivenIsTheSeasonsOwnWhereverItsFolderIsNow)
{
    const fs::path own = scratch_.write("season/care.csv", "date,tub,what\n"),
                   other = scratch_.write("desk/care.csv", "date,tub,what\n");
    EXPECT_TRUE(isOwn(own.string(), own));
    EXPECT_FALSE(isOwn(other.string(), own));
    EXPECT_TRUE(isOwn((scratch_ / "before it was moved/care.csv").string(), own));
    EXPECT_FALSE(isOwn((scratch_ / "gone/my care.csv").string(), own));
}

}  // namespace
}  // namespace slipglass
