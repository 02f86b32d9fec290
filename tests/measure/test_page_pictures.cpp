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
    writeGrowthMap(folder.path(), "T01", "T01", agesOnASmallWall(), store, {});
    EXPECT_TRUE(growthMapThere(folder.path(), "T01"));
    EXPECT_FALSE(growthMapThere(folder.path(), "T02"));

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

/// A wall of 1000 px; on its n-th photo `pixels[n]` more of them are first seen as root.
RootAges agesOf(const std::vector<int>& pixels)
{
    RootAges ages;
    ages.first_seen = cv::Mat(25, 40, CV_16UC1, cv::Scalar(0));
    int at = 0;
    for (size_t nth = 0; nth < pixels.size(); ++nth) {
        ages.photos.push_back({std::to_string(nth) + ".jpg", isoDate(test::day(static_cast<int>(7 * nth)))});
        for (int i = 0; i < pixels[nth]; ++i, ++at)
            ages.first_seen.at<ushort>(at / 40, at % 40) = static_cast<ushort>(nth + 1);
    }
    ages.unit_per_px = 1;
    ages.in_mm = true;
    return ages;
}

TEST(GrowthMap, ShowsNoRootBelowTheDetectionLimit)
{
    // Of 1000 px, 2 and then 3 are 0.2 and 0.3 %: no more than the limit. The 8th is.
    const ScratchFolder folder;
    SeasonStore store(folder / "season.db");
    const SeasonSettings limits{0.3, 0.8};
    writeGrowthMap(folder.path(), "T01", "T01", agesOf({2, 1, 5}), store, limits);
    writeGrowthMap(folder.path(), "T02", "T02", agesOf({2, 1}), store, limits);
    writeGrowthMap(folder.path(), "T03", "T03", agesOf({8}), store, limits);  // a photo alone: 0.8 %
    const auto legend = [&](const char* tub) {
        return json::parse(readBytes(folder / growthLegendName(tub)))["dates"];
    };
    const auto rootPixels = [&](const char* tub) {
        const cv::Mat map = cv::imread((folder / growthMapName(tub)).string());
        cv::Mat root;
        cv::inRange(map, map.at<cv::Vec3b>(24, 39), map.at<cv::Vec3b>(24, 39), root);
        return static_cast<int>(map.total()) - cv::countNonZero(root);
    };
    EXPECT_EQ(legend("T01")[0]["roots_seen"], false);
    EXPECT_EQ(legend("T01")[1]["roots_seen"], false);
    EXPECT_TRUE(legend("T01")[1]["colour"].is_null());
    EXPECT_EQ(legend("T01")[2]["roots_seen"], true);
    EXPECT_EQ(legend("T01")[2]["first_seen_mm2"], 8.0);  // all that is shown
    EXPECT_EQ(rootPixels("T01"), 8);
    EXPECT_EQ(legend("T02")[1]["roots_seen"], false);
    EXPECT_EQ(rootPixels("T02"), 0);
    EXPECT_EQ(legend("T03")[0]["roots_seen"], false);
    EXPECT_EQ(rootPixels("T03"), 0);
}

/// A colour as eyes without cones of one kind see it, linear in light.
/// Source: Machado, Oliveira, Fernandes, "A physiologically-based model for simulation of color vision
/// deficiency", IEEE Transactions on Visualization and Computer Graphics 15(6), 2009, severity 1.0.
cv::Matx33d eyes(const std::string& kind)
{
    if (kind == "protanopia")
        return {0.152286, 1.052583, -0.204868, 0.114503, 0.786281, 0.099216, -0.003882, -0.048116, 1.051998};
    if (kind == "deuteranopia")
        return {0.367322, 0.860646, -0.227968, 0.280085, 0.672501, 0.047413, -0.011820, 0.042940, 0.968881};
    return cv::Matx33d::eye();
}

/// CIE L*a*b* of an sRGB colour seen by such eyes (IEC 61966-2-1 to linear light and back).
cv::Vec3f labSeenBy(const std::string& kind, const cv::Vec3b& bgr)
{
    cv::Vec3d light;
    for (int i = 0; i < 3; ++i) {
        const double c = bgr[2 - i] / 255.0;
        light[i] = c <= 0.04045 ? c / 12.92 : std::pow((c + 0.055) / 1.055, 2.4);
    }
    light = eyes(kind) * light;
    cv::Mat seen(1, 1, CV_32FC3), lab;
    for (int i = 0; i < 3; ++i) {
        const double c = std::clamp(light[i], 0.0, 1.0);
        seen.at<cv::Vec3f>(0)[i] =
            static_cast<float>(c <= 0.0031308 ? 12.92 * c : 1.055 * std::pow(c, 1 / 2.4) - 0.055);
    }
    cv::cvtColor(seen, lab, cv::COLOR_RGB2Lab);
    return lab.at<cv::Vec3f>(0);
}

TEST(GrowthMap, ColoursAreToldApartByAllEyesAndFromTheRedOfRootsOnPhotos)
{
    // A difference of 5 (CIE 1976) is seen side by side, one of 10 at a glance; kinds of colour on different
    // pictures are to differ by far more. Eight dates, two months of weeks.
    const auto colours = ageColours(8);
    const cv::Vec3b root_on_photo(60, 90, 255), wall(26, 24, 22);
    for (const char* kind : {"usual", "protanopia", "deuteranopia"}) {
        const auto apart = [&](const cv::Vec3b& a, const cv::Vec3b& b) {
            return cv::norm(labSeenBy(kind, a) - labSeenBy(kind, b));
        };
        for (size_t i = 0; i < colours.size(); ++i) {
            if (i > 0) {
                EXPECT_GT(apart(colours[i], colours[i - 1]), 10) << kind << " " << i;
            }
            EXPECT_GT(apart(colours[i], wall), 30) << kind << " " << i;
            EXPECT_GT(apart(colours[i], root_on_photo), 30) << kind << " " << i;
        }
    }
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
    EXPECT_FALSE(photoPictureThere(which) || foundPicturesThere(which));
    writePhotoPicture(which, pictured.picture);
    EXPECT_TRUE(photoPictureThere(which));
    const cv::Mat drawn = drawOverlay(pictured.picture, pictured.look);
    writeFoundPictures(which, pictured.look, pictured.picture.full_size, drawn,
                       drawFound(pictured.look, pictured.picture.full_size, drawn.size()));
    EXPECT_TRUE(foundPicturesThere(which));

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
    EXPECT_EQ(small.size(), cv::Size(270, 360));

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
