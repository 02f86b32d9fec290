#include <gtest/gtest.h>

#include <cmath>
#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>
#include <regex>
#include <sstream>

#include "../support/table.h"
#include "files.h"
#include "slipglass/error.h"
#include "slipglass/photo/read_photo.h"

namespace slipglass {
namespace {

namespace fs = std::filesystem;

using test::photoData;
using test::TempFolder;

Picture wholePicture(const fs::path& path)
{
    return readPicture(path, readFacts(path), 100000);
}

cv::Vec3b middleOf(const cv::Mat& bgr, cv::Rect part)
{
    return bgr.at<cv::Vec3b>(part.y + part.height / 2, part.x + part.width / 2);
}

/// The picture of blocks as "1 2 3/4 5 6". A block of number n is grey 40 n.
std::string blocksOf(const cv::Mat& bgr, int block_px)
{
    std::ostringstream text;
    for (int y = 0; y < bgr.rows; y += block_px) {
        for (int x = 0; x < bgr.cols; x += block_px) {
            const int grey = middleOf(bgr, {x, y, block_px, block_px})[1];
            // Tolerance: lossy JPEG and HEVC at high quality stay within 4 grey levels inside a flat block.
            EXPECT_NEAR(grey, 40 * std::lround(grey / 40.0), 4);
            text << (x ? " " : y ? "/" : "") << std::lround(grey / 40.0);
        }
    }
    return text.str();
}

// Source: EXIF 2.3x / TIFF 6, tag 0x0112; tests/data/reference/10-exif-orientation.csv. Exact.
class Orientation : public testing::TestWithParam<std::string> {};

TEST_P(Orientation, OfTheExifTableIsShownUpright)
{
    const int block_px = GetParam() == "heic" ? 32 : 8;
    const auto table = test::referenceTable("10-exif-orientation.csv");
    ASSERT_EQ(table.size(), 8U);
    for (const auto& row : table) {
        const fs::path path = photoData("orientation_" + row.at("code") + "." + GetParam());
        SCOPED_TRACE(path.string());
        const PhotoFacts facts = readFacts(path);
        const cv::Size shown{std::stoi(row.at("shown_width")) * block_px,
                             std::stoi(row.at("shown_height")) * block_px};
        EXPECT_EQ(facts.upright_size, shown);
        const Picture picture = readPicture(path, facts, 1000);
        EXPECT_EQ(picture.full_size, shown);
        ASSERT_EQ(picture.bgr.size(), shown);
        EXPECT_EQ(blocksOf(picture.bgr, block_px), row.at("stored_3x2_[1 2 3/4 5 6]_shown_as"));
    }
}

TEST_P(Orientation, ComesWithDateAndFocalLengthOfTheExifBlock)
{
    const PhotoFacts facts = readFacts(photoData("orientation_6." + GetParam()));
    ASSERT_TRUE(facts.exif_taken);
    EXPECT_EQ(isoDate(facts.exif_taken->date), "2026-01-12");
    EXPECT_EQ(facts.exif_taken->second_of_day, (9 * 60 + 30) * 60 + 10);
    EXPECT_EQ(facts.focal_35mm, 26);
    EXPECT_EQ(facts.why_no_date, "");
}

INSTANTIATE_TEST_SUITE_P(EveryFormat, Orientation, testing::Values("jpg", "png", "tif", "webp", "heic"),
                         [](const auto& p) { return p.param; });

// Source: ISO/IEC 23008-12 (HEIF), 6.5.10 and 6.5.12: the properties turn the picture, EXIF is only metadata
// (from memory); heif-convert 1.15.1 gives the same (tests/data/photo/README.md). Exact.
TEST(HeicOrientation, IsLeftToTheFilesOwnRotationWhenExifSaysItToo)
{
    EXPECT_NE(test::bytesOf(photoData("orientation_6.heic")).find("irot"), std::string::npos);
    EXPECT_EQ(readFacts(photoData("orientation_6.heic")).orientation, 1);
}

TEST(HeicOrientation, OfExifAloneIsNotApplied)
{
    const fs::path path = photoData("exif_only_6.heic");
    EXPECT_EQ(test::bytesOf(path).find("irot"), std::string::npos);
    EXPECT_EQ(readFacts(path).upright_size, cv::Size(96, 64));
    EXPECT_EQ(blocksOf(wholePicture(path).bgr, 32), "1 2 3/4 5 6");
}

class Alpha : public testing::TestWithParam<std::string> {};

TEST_P(Alpha, IsLaidOverMidGrey)
{
    const cv::Mat bgr = wholePicture(photoData("alpha." + GetParam())).bgr;
    const cv::Rect left{0, 0, bgr.cols / 2, bgr.rows}, right{bgr.cols / 2, 0, bgr.cols / 2, bgr.rows};
    // Tolerance: none where alpha is 0; lossy HEVC keeps saturated red within 8 of 255.
    EXPECT_EQ(middleOf(bgr, left), cv::Vec3b(128, 128, 128));
    EXPECT_LE(cv::norm(middleOf(bgr, right), cv::Vec3b(0, 0, 255), cv::NORM_INF),
              GetParam() == "heic" ? 8 : 0);
}

INSTANTIATE_TEST_SUITE_P(EveryFormat, Alpha, testing::Values("heic", "tif", "webp"),
                         [](const auto& p) { return p.param; });

TEST(Alpha, HalfWayOfAPngIsHalfWayToMidGrey)
{
    const TempFolder folder;
    cv::imwrite((folder / "half.png").string(), cv::Mat(4, 4, CV_8UC4, cv::Scalar(0, 0, 255, 128)));
    const cv::Vec3b seen = wholePicture(folder / "half.png").bgr.at<cv::Vec3b>(1, 1);
    // By construction: 128 + (value - 128) * 128 / 255, rounding of half a level.
    EXPECT_NEAR(seen[0], 63.7, 0.5);
    EXPECT_NEAR(seen[2], 191.7, 0.5);
}

TEST(Depth, OfTenBitHeicBecomesEight)
{
    // Tolerance: limited-range rounding of video samples, 2 levels.
    EXPECT_NEAR(wholePicture(photoData("depth_10.heic")).bgr.at<cv::Vec3b>(32, 32)[1], 128, 2);
}

TEST(Depth, OfSixteenBitPngAndTiffBecomesEightWithoutAnyToneCurve)
{
    const TempFolder folder;
    const cv::Mat deep(8, 8, CV_16UC3, cv::Scalar(64 * 257, 128 * 257, 200 * 257));
    for (const std::string name : {"deep.png", "deep.tif"}) {
        cv::imwrite((folder / name).string(), deep);
        EXPECT_EQ(wholePicture(folder / name).bgr.at<cv::Vec3b>(3, 3), cv::Vec3b(64, 128, 200)) << name;
    }
}

TEST(Depth, OfGreyPicturesBecomesThreeEqualChannels)
{
    const TempFolder folder;
    for (const std::string ending : {"png", "jpg", "tif"}) {
        for (const int type : {CV_8UC1, CV_16UC1}) {
            if (type == CV_16UC1 && ending == "jpg") continue;
            const fs::path path = folder / ("grey." + ending);
            cv::imwrite(path.string(), cv::Mat(8, 8, type, cv::Scalar(type == CV_8UC1 ? 77 : 77 * 257)));
            EXPECT_EQ(wholePicture(path).bgr.at<cv::Vec3b>(3, 3), cv::Vec3b(77, 77, 77)) << path;
        }
    }
}

TEST(Ink, OfACmykJpegBecomesColour)
{
    const cv::Mat bgr = wholePicture(photoData("cmyk.jpg")).bgr;
    // Tolerance: JPEG at quality 100, 3 levels.
    EXPECT_LE(cv::norm(bgr.at<cv::Vec3b>(8, 8), cv::Vec3b(255, 255, 0), cv::NORM_INF), 3);
    EXPECT_LE(cv::norm(bgr.at<cv::Vec3b>(8, 24), cv::Vec3b(0, 255, 255), cv::NORM_INF), 3);
}

/// Full-size value at a point of a ramp that rises to the right and, less, downwards.
double ramp(double x, double y)
{
    return 20 + 0.2137 * x + 0.0931 * y;  // odd slopes, so that rounding to whole levels evens out
}

cv::Mat rampPicture(cv::Size size)
{
    cv::Mat picture(size, CV_8UC3);
    for (int y = 0; y < size.height; ++y) {
        for (int x = 0; x < size.width; ++x)
            picture.at<cv::Vec3b>(y, x) = cv::Vec3b::all(std::lround(ramp(x, y)));
    }
    return picture;
}

/// Puts an EXIF block with just an orientation behind the start mark of a JPEG.
std::string withOrientation(const std::string& jpeg, int code)
{
    std::string block("Exif\0\0MM\0*\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\0\x01\0\0\0\0\0\0\0\0", 32);
    block[25] = static_cast<char>(code);
    const std::string marker("\xff\xe1\0\x22", 4);
    return jpeg.substr(0, 2) + marker + block + jpeg.substr(2);
}

fs::path writeRamp(const TempFolder& folder, const std::string& name, cv::Size size)
{
    fs::path path = folder / name;
    cv::imwrite(path.string(), rampPicture(size), {cv::IMWRITE_JPEG_QUALITY, 100});
    return path;
}

TEST(Reduction, IsTheLargestThatKeepsTheLongSideAskedFor)
{
    const TempFolder folder;
    const fs::path path = writeRamp(folder, "ramp.jpg", {801, 603});
    const std::vector<std::pair<int, int>> asked_and_reduction{
        {1, 8}, {101, 8}, {102, 4}, {201, 4}, {202, 2}, {401, 2}, {402, 1}, {801, 1}, {100000, 1}};
    for (const auto& [asked, reduction] : asked_and_reduction) {
        SCOPED_TRACE(asked);
        const Picture picture = readPicture(path, readFacts(path), asked);
        EXPECT_EQ(picture.reduction, reduction);
        EXPECT_EQ(picture.full_size, cv::Size(801, 603));
        EXPECT_EQ(picture.bgr.size(),
                  cv::Size((801 + reduction - 1) / reduction, (603 + reduction - 1) / reduction));
    }
}

TEST(Reduction, ToNoSizeAtAllIsABug)
{
    const fs::path path = photoData("orientation_1.jpg");
    EXPECT_THROW(readPicture(path, readFacts(path), 0), std::invalid_argument);
}

/// Mean of (seen - expected) over the picture without its last, incomplete row and column.
double meanShift(const Picture& picture, const cv::Mat& upright_full)
{
    double sum = 0;
    const double r = picture.reduction;
    const cv::Rect inside(2, 2, picture.bgr.cols - 4, picture.bgr.rows - 4);
    for (int y = inside.y; y < inside.br().y; ++y) {
        for (int x = inside.x; x < inside.br().x; ++x) {
            const cv::Rect square(static_cast<int>(x * r), static_cast<int>(y * r), static_cast<int>(r),
                                  static_cast<int>(r));
            sum += picture.bgr.at<cv::Vec3b>(y, x)[1] - cv::mean(upright_full(square))[1];
        }
    }
    return sum / inside.area();
}

// By construction: one full-size px of shift along the ramp is 0.21 grey levels, and a shift is at least
// that. Tolerance 0.05: a quarter of it.
TEST(Reduction, LeavesEveryPixelWhereItWasInEveryOrientationAndFormat)
{
    const TempFolder folder;
    for (const std::string ending : {"jpg", "png", "tif"}) {
        const fs::path path =
            writeRamp(folder, "ramp." + ending, {805, 603});  // 805 and 603: divided by neither
        const std::string bytes = test::bytesOf(path);
        for (int code = 1; code <= 8; ++code) {
            if (ending != "jpg" && code > 1) break;
            if (ending == "jpg") test::write(path, withOrientation(bytes, code));
            SCOPED_TRACE(ending + std::to_string(code));
            const PhotoFacts facts = readFacts(path);
            ASSERT_EQ(facts.orientation, code);
            const cv::Mat full = readPicture(path, facts, 805).bgr;
            for (const int asked : {100, 200, 400})
                EXPECT_NEAR(meanShift(readPicture(path, facts, asked), full), 0, 0.1) << asked;
        }
    }
}

TEST(Picture, IsTheSameBytesEveryTime)
{
    for (const std::string name :
         {"orientation_6.jpg", "orientation_6.heic", "alpha.webp", "alpha.tif", "cmyk.jpg"}) {
        const Picture once = wholePicture(photoData(name)), again = wholePicture(photoData(name));
        EXPECT_EQ(cv::norm(once.bgr, again.bgr, cv::NORM_INF), 0) << name;
    }
}

// Source: OpenCV's own reader of the same file, another program path over the same libjpeg; exact.
TEST(Picture, OfAProgressiveJpegEqualsThatOfAnIndependentReader)
{
    const TempFolder folder;
    const std::string path = (folder / "p.jpg").string();
    cv::imwrite(path, rampPicture({320, 200}),
                {cv::IMWRITE_JPEG_PROGRESSIVE, 1, cv::IMWRITE_JPEG_QUALITY, 80});
    EXPECT_EQ(cv::norm(wholePicture(path).bgr, cv::imread(path, cv::IMREAD_COLOR), cv::NORM_INF), 0);
}

TEST(Picture, IsReadByItsContentWhateverItsEnding)
{
    const TempFolder folder;
    const std::string bytes = test::bytesOf(photoData("orientation_6.png"));
    const fs::path path = test::write(folder / "wrong.jpg", bytes);
    EXPECT_EQ(blocksOf(wholePicture(path).bgr, 8), "4 1/5 2/6 3");
}

TEST(Facts, SayWhyAnExifDateIsNotBelieved)
{
    const TempFolder folder;
    std::string bytes = test::bytesOf(photoData("orientation_1.jpg"));
    const auto at = bytes.find("2026:01:12 09:30:10");
    ASSERT_NE(at, std::string::npos);
    const auto factsWith = [&](const std::string& date) {
        return readFacts(test::write(folder / "dated.jpg", bytes.replace(at, 19, date)));
    };
    EXPECT_EQ(factsWith("2000:01:01 00:03:12").exif_taken, std::nullopt);
    EXPECT_EQ(factsWith("2000:01:01 00:03:12").why_no_date,
              "its EXIF date is \"2000:01:01 00:03:12\", which is what a clock shows after a reset");
    EXPECT_EQ(factsWith("2026-01-12 09:30:10").why_no_date,
              "its EXIF date is \"2026-01-12 09:30:10\", which is no date");
    EXPECT_EQ(factsWith("    :  :     :  :  ").why_no_date, "");
    EXPECT_EQ(factsWith("0000:00:00 00:00:00").why_no_date, "");
    EXPECT_TRUE(factsWith("2026:01:12 09:30:10").exif_taken);
}

}  // namespace
}  // namespace slipglass
