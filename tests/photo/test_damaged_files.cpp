// Files that are no pictures, or no longer: one clear line each, and never half a picture.
#include <gtest/gtest.h>

// jpeglib.h names size_t and FILE, and includes neither.
#include <cstddef>
#include <cstdio>

#include <jpeglib.h>

#include <sys/stat.h>
#include <array>
#include <cstdlib>
#include <opencv2/imgcodecs.hpp>
#include <random>

#include "files.h"
#include "slipglass/error.h"
#include "slipglass/no_memory.h"
#include "slipglass/photo/read_photo.h"

namespace slipglass {
namespace {

namespace fs = std::filesystem;

using test::bytesOf;
using test::photoData;
using test::TempFolder;

/// The Error that reading `path` gives, or "" when it can be read to the last pixel.
std::string errorOf(const fs::path& path)
{
    try {
        readPicture(path, readFacts(path), 100000);
        return "";
    } catch (const Error& e) {
        EXPECT_EQ(e.input(), path.string());
        EXPECT_FALSE(e.problem().empty() || e.remedy().empty());
        EXPECT_EQ(std::string(e.what()).find('\n'), std::string::npos) << e.what();
        return e.problem();
    }
}

class Truncated : public testing::TestWithParam<std::string> {};

TEST_P(Truncated, AtAnyByteIsAnError)
{
    const TempFolder folder;
    const std::string bytes = bytesOf(photoData(GetParam()));
    ASSERT_EQ(errorOf(photoData(GetParam())), "");
    for (size_t length = 0; length < bytes.size(); ++length)
        EXPECT_NE(errorOf(test::write(folder / GetParam(), bytes.substr(0, length))), "") << length;
}

INSTANTIATE_TEST_SUITE_P(EveryFormat, Truncated,
                         testing::Values("orientation_1.jpg", "cmyk.jpg", "orientation_1.png",
                                         "orientation_1.webp", "alpha.webp", "alpha.heic", "depth_10.heic",
                                         "orientation_6.heic"));

/// A TIFF may end in notes (resolution, EXIF) that the pixels do not need.
TEST(TruncatedTiff, IsAnErrorOrLacksNoPixel)
{
    const TempFolder folder;
    for (const std::string name : {"alpha.tif", "orientation_1.tif"}) {
        const std::string bytes = bytesOf(photoData(name));
        const cv::Mat whole = readPicture(photoData(name), readFacts(photoData(name)), 1000).bgr;
        size_t errors = 0;
        for (size_t length = 0; length < bytes.size(); ++length) {
            const fs::path path = test::write(folder / name, bytes.substr(0, length));
            if (!errorOf(path).empty()) {
                ++errors;
                continue;
            }
            const cv::Mat cut = readPicture(path, readFacts(path), 1000).bgr;
            ASSERT_EQ(cv::norm(cut, whole, cv::NORM_INF), 0) << name << " cut to " << length;
        }
        EXPECT_GT(errors, bytes.size() / 2) << name;
    }
}

/// Half of a real-sized file of each format: libraries are laxer the more they got.
TEST(Truncated, InTheMiddleOfAPhotoIsAnError)
{
    const TempFolder folder;
    cv::Mat noise(400, 600, CV_8UC3);
    cv::RNG(7).fill(noise, cv::RNG::UNIFORM, 0, 256);
    const std::vector<std::pair<std::string, std::vector<int>>> kinds{
        {"baseline.jpg", {}},
        {"progressive.jpg", {cv::IMWRITE_JPEG_PROGRESSIVE, 1}},
        {"restart.jpg", {cv::IMWRITE_JPEG_RST_INTERVAL, 4}},
        {"photo.png", {}},
        {"lossy.webp", {cv::IMWRITE_WEBP_QUALITY, 80}},
        {"lossless.webp", {cv::IMWRITE_WEBP_QUALITY, 101}},
        {"raw.tif", {cv::IMWRITE_TIFF_COMPRESSION, 1}},
        {"lzw.tif", {cv::IMWRITE_TIFF_COMPRESSION, 5}},
        {"jpeg.tif", {cv::IMWRITE_TIFF_COMPRESSION, 7, 278 /* rows per strip */, 16}}};
    for (const auto& [name, options] : kinds) {
        const fs::path path = folder / name;
        ASSERT_TRUE(cv::imwrite(path.string(), noise, options)) << name;
        ASSERT_EQ(errorOf(path), "") << name;
        const std::string bytes = bytesOf(path);
        for (const double part : {0.1, 0.5, 0.9, 0.99})
            EXPECT_NE(errorOf(test::write(path, bytes.substr(0, static_cast<size_t>(bytes.size() * part)))),
                      "")
                << name << " " << part;
    }
}

TEST(DamagedJpeg, WhoseMiddleIsMissingIsAnError)
{
    const TempFolder folder;
    cv::Mat noise(400, 600, CV_8UC3);
    cv::RNG(7).fill(noise, cv::RNG::UNIFORM, 0, 256);
    const fs::path path = folder / "gap.jpg";
    cv::imwrite(path.string(), noise);
    std::string bytes = bytesOf(path);
    bytes.erase(bytes.size() / 2, bytes.size() / 4);  // the end mark is still there
    EXPECT_NE(errorOf(test::write(path, bytes)), "");
}

TEST(SoundJpeg, MayHaveMoreBehindItsEnd)
{
    const TempFolder folder;  // phones put a second picture or a short film there
    const std::string bytes = bytesOf(photoData("orientation_1.jpg"));
    EXPECT_EQ(errorOf(test::write(folder / "more.jpg", bytes + std::string(5000, '\0') + "film")), "");
}

/// Whatever the bytes, reading ends in a picture or an Error; with sanitizers on, without a bad access
/// either.
TEST(DamagedFile, WithAnyWrongBytesGivesAPictureOrAnError)
{
    const TempFolder folder;
    for (const std::string name :
         {"orientation_6.jpg", "cmyk.jpg", "orientation_6.png", "alpha.webp", "orientation_6.webp",
          "alpha.tif", "orientation_6.tif", "orientation_6.heic"}) {
        const std::string bytes = bytesOf(photoData(name));
        std::mt19937 random(1);
        int pictures = 0, errors = 0;
        for (int round = 0; round < 200; ++round) {
            std::string wrong = bytes;
            for (int i = 0; i < 1 + round % 4; ++i)
                wrong[random() % wrong.size()] = static_cast<char>(random());
            const fs::path path = test::write(folder / name, wrong);
            try {
                const PhotoFacts facts = readFacts(path, PhotoLimits{4});
                EXPECT_EQ(readPicture(path, facts, 100000).bgr.size(), facts.upright_size);
                ++pictures;
            } catch (const Error& error) {
                ++errors;
                EXPECT_NE(error.problem(), kNoMemoryForIt) << name << ", round " << round;
            }
        }
        // Wrong bytes of notes cost nothing, of headers all: both come up, so both were tried.
        EXPECT_GT(pictures, 0) << name;
        EXPECT_GT(errors, 0) << name;
    }
}

/// What its decoder says of a damaged HEIC stands in the Error alone. Byte 319 lies among the picture's
/// parameters (hvcC); that libde265 writes "SPS error" for 100 there was found by trying.
TEST(DamagedHeic, LeavesStderrToOthers)
{
    const TempFolder folder;
    std::string bytes = bytesOf(photoData("orientation_7.heic"));
    bytes.at(319) = 100;
    const fs::path path = test::write(folder / "a.heic", bytes);
    testing::internal::CaptureStderr();
    const std::string problem = errorOf(path);
    std::fputs("ours", stderr);
    std::fflush(stderr);
    EXPECT_EQ(testing::internal::GetCapturedStderr(), "ours");
    EXPECT_EQ(problem.find("damaged HEIC: "), 0U) << problem;
}

/// `bytes` with `with` in place of what stands `offset` bytes behind the only `mark`.
std::string patched(std::string bytes, const std::string& mark, size_t offset, const std::string& with)
{
    const auto at = bytes.find(mark);
    EXPECT_NE(at, std::string::npos);
    return bytes.replace(at + offset, with.size(), with);
}

/// A TIFF header and one directory: four entries of type LONG (TIFF 6, section 2), and one byte of pixels.
std::string tinyTiff(std::uint32_t width, std::uint32_t height)
{
    std::string bytes("II*\0\x08\0\0\0\x04\0", 10);
    const auto entry = [&](std::uint16_t tag, std::uint32_t value) {
        bytes += {static_cast<char>(tag & 0xff), static_cast<char>(tag >> 8), 4, 0, 1, 0, 0, 0};
        for (int shift = 0; shift < 32; shift += 8) bytes += static_cast<char>(value >> shift & 0xff);
    };
    entry(0x100, width);
    entry(0x101, height);
    entry(0x111, 62);  // where the one strip starts
    entry(0x117, 1);   // and how long it is
    return bytes + std::string("\0\0\0\0x", 5);
}

// By construction: tiny files whose headers claim 20000 x 20000 = 400 megapixels (TIFF, HEIC) or the like.
TEST(Bomb, IsRefusedBeforeAnyPixelIsDecoded)
{
    const TempFolder folder;
    const std::string k20000("\x4e\x20", 2);
    const std::string jpeg = patched(bytesOf(photoData("orientation_1.jpg")), "\xff\xc0", 5, k20000 + k20000);
    const std::string four("\0\0\x4e\x20", 4);
    const std::string heic = patched(bytesOf(photoData("exif_only_6.heic")), "ispe", 8, four + four);
    const std::string tiff = tinyTiff(20000, 20000);
    const std::string slow = tinyTiff(8900, 8900);  // 79 megapixels
    // The 14-bit width of a lossy WebP cannot say 20000; 16383 x 16383 is 268 megapixels.
    cv::imwrite((folder / "small.webp").string(), cv::Mat(8, 8, CV_8UC3, cv::Scalar(9, 9, 9)),
                {cv::IMWRITE_WEBP_QUALITY, 50});
    const std::string webp = patched(bytesOf(folder / "small.webp"), "\x9d\x01\x2a", 3, "\xff\x3f\xff\x3f");
    for (const auto& [name, bytes] :
         std::vector<std::pair<std::string, std::string>>{{"b.png", bytesOf(photoData("bomb.png"))},
                                                          {"b.jpg", jpeg},
                                                          {"b.heic", heic},
                                                          {"b.tif", tiff},
                                                          {"slow.tif", slow},
                                                          {"b.webp", webp}}) {
        const std::string problem = errorOf(test::write(folder / name, bytes));
        EXPECT_NE(problem.find("more than 65 megapixels"), std::string::npos) << name << ": " << problem;
    }
}

TEST(Bomb, IsWhatIsLargerThanTheCallerAllows)
{
    const fs::path path = photoData("orientation_1.jpg");  // 24 x 16 = 384 pixels
    EXPECT_NO_THROW(readFacts(path, PhotoLimits{384e-6}));
    EXPECT_THROW(readFacts(path, PhotoLimits{383e-6}), Error);
    EXPECT_NO_THROW(readFacts(path, PhotoLimits{65, 24}));
    EXPECT_THROW(readFacts(path, PhotoLimits{65, 23}), Error);
}

/// Built by libjpeg, one scan for each coefficient: how a small file keeps a reader busy for minutes.
TEST(Bomb, IsAJpegThatGoesOverItsPixelsAgainAndAgain)
{
    const auto saved = [](int coefficients) {
        std::vector<jpeg_scan_info> scans{{1, {0}, 0, 0, 0, 0}};
        for (int k = 1; k <= coefficients; ++k) scans.push_back({1, {0}, k, k, 0, 0});
        jpeg_compress_struct info{};
        jpeg_error_mgr errors{};
        info.err = jpeg_std_error(&errors);
        jpeg_create_compress(&info);
        unsigned char* bytes = nullptr;
        unsigned long size = 0;
        jpeg_mem_dest(&info, &bytes, &size);
        info.image_width = info.image_height = 16;
        info.input_components = 1;
        info.in_color_space = JCS_GRAYSCALE;
        jpeg_set_defaults(&info);
        info.scan_info = scans.data();
        info.num_scans = static_cast<int>(scans.size());
        jpeg_start_compress(&info, TRUE);
        std::array<JSAMPLE, 16> grey{};
        JSAMPROW row = grey.data();
        while (info.next_scanline < info.image_height) jpeg_write_scanlines(&info, &row, 1);
        jpeg_finish_compress(&info);
        std::string file(reinterpret_cast<const char*>(bytes), size);
        jpeg_destroy_compress(&info);
        std::free(bytes);
        // The same scan over and over, as no program saves it but a file may say.
        const std::string start("\xff\xda", 2);
        const size_t last = file.rfind(start);
        const std::string scan = file.substr(last, file.size() - 2 - last);
        return std::make_pair(file, scan);
    };
    const TempFolder folder;
    EXPECT_EQ(errorOf(test::write(folder / "careful.jpg", saved(30).first)), "");
    auto [file, scan] = saved(63);
    EXPECT_EQ(errorOf(test::write(folder / "full.jpg", file)), "");
    file.insert(file.size() - 2, scan);
    EXPECT_EQ(errorOf(test::write(folder / "again.jpg", file)),
              "damaged JPEG: it goes over its pixels more than 64 times");
}

TEST(NoPicture, IsToldApartByWhatIsWrongWithIt)
{
    const TempFolder folder;
    EXPECT_EQ(errorOf(test::write(folder / "text.jpg", "watered on Monday\n")),
              "is not a picture of a kind that can be read");
    EXPECT_EQ(errorOf(test::write(folder / "empty.jpg", "")), "is empty (0 bytes)");
    EXPECT_EQ(errorOf(folder / "missing.jpg"), "there is no such file");
    fs::create_directories(folder / "folder.jpg");
    EXPECT_EQ(errorOf(folder / "folder.jpg"), "is a folder, not a file");
    ASSERT_EQ(mkfifo((folder / "pipe.jpg").c_str(), 0600), 0);
    EXPECT_EQ(errorOf(folder / "pipe.jpg"), "is a pipe or a device, not a file");
}

TEST(NoPicture, IsAnAnimation)
{
    const TempFolder folder;
    const std::string animation = "is an animation, not a photo";
    // An extended WebP header (RIFF container specification) with the animation bit, 8 x 8, and nothing else.
    const std::string webp("RIFF\x16\0\0\0WEBPVP8X\x0a\0\0\0\x02\0\0\0\x07\0\0\x07\0\0", 30);
    EXPECT_EQ(errorOf(test::write(folder / "a.webp", webp)), animation);
    // PNG specification, 11.3: acTL before the pixels, two pictures, shown for ever. Its CRC is right.
    std::string png = bytesOf(photoData("orientation_1.png"));
    png.insert(8 + 25, std::string("\0\0\0\x08"
                                   "acTL\0\0\0\x02\0\0\0\0\xf3\x8d\x93\x70",
                                   20));
    EXPECT_EQ(errorOf(test::write(folder / "a.png", png)), animation);
    for (const char* brand : {"msf1", "hevc", "avis"}) {
        const std::string heif = bytesOf(photoData("orientation_1.heic")).replace(8, 4, brand);
        EXPECT_EQ(errorOf(test::write(folder / "a.heic", heif)), animation) << brand;
    }
    EXPECT_EQ(errorOf(test::write(folder / "a.jpg", "GIF89a and so on")),
              "is a GIF, as animations and drawings are, not a photo");
}

// EXIF 2.3 knows 1 to 8. A JPEG with another is shown as it is stored, and so is a TIFF.
TEST(Orientation, ThatIsNoneIsLeftAlone)
{
    const TempFolder folder;
    // Tag 0x0112, SHORT, one, 6 (TIFF 6, section 2).
    const std::string tiff = bytesOf(photoData("orientation_6.tif")),
                      six("\x12\x01\x03\0\x01\0\0\0\x06\0", 10);
    const fs::path path = test::write(folder / "a.tif", patched(tiff, six, 8, "\x63"));
    EXPECT_EQ(errorOf(path), "");
    EXPECT_EQ(readFacts(path).orientation, 1);
}

TEST(NoPicture, IsAFileThatMayNotBeRead)
{
    const TempFolder folder;
    const fs::path path = test::write(folder / "locked.jpg", bytesOf(photoData("orientation_1.jpg")));
    fs::permissions(path, fs::perms::none);
    const test::AsNobody nobody;
    EXPECT_EQ(errorOf(path), "cannot be opened: Permission denied");
}

}  // namespace
}  // namespace slipglass
