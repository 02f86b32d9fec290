#include <gtest/gtest.h>

#include <nlohmann/json.hpp>
#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>

#include "../../src/measure/overlay.h"
#include "../../src/measure/page_pictures.h"
#include "../support/scratch_folder.h"
#include "../support/season_maker.h"
#include "slipglass/layout/page_pictures.h"

namespace slipglass {
namespace {

using nlohmann::json;
using test::readBytes;
using test::ScratchFolder;

/// A wall of 4 x 3 px of 0.5 mm on which one root was first seen on the second photo and another on the
/// third; the first two photos are of one day.
RootAges agesOnASmallWall()
{
    RootAges ages;
    ages.first_seen = (cv::Mat_<ushort>(3, 4) << 0, 0, 0, 0, 2, 2, 0, 0, 0, 0, 3, 0);
    ages.photos = {{"a.jpg", "2026-01-12"}, {"b.jpg", "2026-01-12"}, {"c.jpg", "2026-01-19"}};
    ages.unit_per_px = 0.5;
    ages.in_mm = true;
    return ages;
}

int lightness(const cv::Vec3b& bgr)
{
    cv::Mat lab;
    cv::cvtColor(cv::Mat(1, 1, CV_8UC3, cv::Scalar(bgr)), lab, cv::COLOR_BGR2Lab);
    return lab.at<cv::Vec3b>(0)[0];
}

TEST(GrowthMap, ColoursEachRootByTheDayItWasFirstSeenAndSaysWhichColourThatIs)
{
    const ScratchFolder folder;
    SeasonStore store(folder / "season.db");
    writeGrowthMap(folder.path(), "T01", agesOnASmallWall(), store);

    const json legend = json::parse(readBytes(folder / "growth/T01.json"));
    ASSERT_EQ(legend["dates"].size(), 2U);
    EXPECT_EQ(legend["dates"][0]["date"], "2026-01-12");
    EXPECT_EQ(legend["dates"][0]["photos"], (json{"a.jpg", "b.jpg"}));
    EXPECT_EQ(legend["dates"][0]["first_seen_px"], 2);
    EXPECT_EQ(legend["dates"][0]["first_seen_mm2"], 0.5);  // 2 px of 0.25 mm2
    EXPECT_EQ(legend["dates"][1]["first_seen_px"], 1);

    const cv::Mat map = cv::imread((folder / "growth/T01.png").string());
    ASSERT_EQ(map.size(), cv::Size(4, 3));
    for (const auto& [x, y, date] : {std::tuple{0, 1, 0}, {1, 1, 0}, {2, 2, 1}}) {
        const auto& px = map.at<cv::Vec3b>(y, x);
        std::array<char, 8> text{};
        std::snprintf(text.data(), text.size(), "#%02x%02x%02x", px[2], px[1], px[0]);
        EXPECT_EQ(legend["dates"][date]["colour"], text.data());
    }
    // Late is lighter than early, and both than the wall: read in grey too. 40 of 255 is plain to see.
    EXPECT_GT(lightness(map.at<cv::Vec3b>(1, 0)), lightness(map.at<cv::Vec3b>(0, 0)) + 40);
    EXPECT_GT(lightness(map.at<cv::Vec3b>(2, 2)), lightness(map.at<cv::Vec3b>(1, 0)) + 40);
}

/// A picture of 2400 x 3200 px, with a root down its middle.
struct Pictured {
    Picture picture{cv::Mat(1600, 1200, CV_8UC3, cv::Scalar(80, 120, 160)), {2400, 3200}, 2};
    Look look;
    Pictured()
    {
        look.root_mask = cv::Mat::zeros(1600, 1200, CV_8UC1);
        look.root_mask.colRange(590, 610).setTo(255);
        look.seen.outline = {{400, 400}, {2000, 400}, {1800, 3000}, {600, 3000}};
    }
};

TEST(PagePictures, AreAllThereAndFoundAgainByThePages)
{
    const ScratchFolder folder;
    const Pictured pictured;
    Observation seen = test::covered(0, 1);
    const PagePicture which{folder.path(), "overlays/T01/2026-01-12.jpg", "T01/T01_2026-01-12"};
    EXPECT_FALSE(pagePicturesThere(which));
    writePagePictures(which, pictured.picture, pictured.look, drawOverlay(pictured.picture, pictured.look));
    EXPECT_TRUE(pagePicturesThere(which));

    const PicturesThere there = picturesIn(folder.path(), {seen});
    const PhotoPictures& pictures = there.photos.at({seen.photo, seen.tub});
    EXPECT_EQ(pictures.width, 2400);
    EXPECT_EQ(pictures.height, 3200);
    EXPECT_EQ(pictures.stem, "T01/T01_2026-01-12");
    EXPECT_EQ(pictures.overlay, "");  // not written here
    EXPECT_EQ(pictures.wall, "");
    const cv::Mat photo = cv::imread((folder / pictures.photo).string());
    EXPECT_EQ(photo.size(), cv::Size(900, 1200));
    const cv::Mat small = cv::imread((folder / pictures.small).string());
    EXPECT_EQ(small.size(), cv::Size(315, 420));

    // The layer: root in the middle, nothing beside it, and the photo's own size.
    const cv::Mat layer = cv::imread((folder / pictures.found).string(), cv::IMREAD_UNCHANGED);
    ASSERT_EQ(layer.type(), CV_8UC4);
    EXPECT_EQ(layer.size(), photo.size());
    EXPECT_GT(layer.at<cv::Vec4b>(600, 450)[3], 100);
    EXPECT_GT(layer.at<cv::Vec4b>(600, 450)[2], 200);
    EXPECT_EQ(layer.at<cv::Vec4b>(600, 300)[3], 0);
}

TEST(PagePictures, ThatCannotBeReadAreDoneWithout)
{
    const ScratchFolder folder;
    folder.write("report/pictures/T01/2026-01-12.json", "not JSON");
    folder.write("growth/T01.png", "not looked into");
    folder.write("growth/T01.json", "{\"dates\": 3}");
    const Observation seen = test::covered(0, 1);
    const PicturesThere there = picturesIn(folder.path(), {seen});
    EXPECT_EQ(there.photos.at({seen.photo, seen.tub}).width, 0);
    EXPECT_TRUE(there.growth.empty());
}

}  // namespace
}  // namespace slipglass
