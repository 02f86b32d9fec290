#include "slipglass/panel/colour.h"

#include <gtest/gtest.h>

#include <cmath>
#include <opencv2/core.hpp>
#include <stdexcept>

#include "../support/table.h"

namespace slipglass {
namespace {

// Source: tests/data/reference/01-srgb-lab.csv (IEC 61966-2-1, CIE 15), computed four ways.
// Tolerance: the four ways differ by up to 0.022, since they round the matrix and the white point
// differently.
constexpr double kMatrixRounding = 0.03;

TEST(Colour, MatchesIndependentLibraries)
{
    const auto rows = test::referenceTable("01-srgb-lab.csv");
    ASSERT_EQ(rows.size(), 19U);
    for (const auto& row : rows) {
        SCOPED_TRACE(row.at("name"));
        const auto level = [&](const char* c) { return static_cast<uchar>(test::number(row, c)); };
        const cv::Vec3f lab = labFromBgr(cv::Vec3b(level("B"), level("G"), level("R")));
        for (const char* way : {"iec4", "skimage", "colorspacious", "fullprec"}) {
            EXPECT_NEAR(lab[0], test::number(row, std::string("L_") + way), kMatrixRounding) << way;
            EXPECT_NEAR(lab[1], test::number(row, std::string("a_") + way), kMatrixRounding) << way;
            EXPECT_NEAR(lab[2], test::number(row, std::string("b_") + way), kMatrixRounding) << way;
        }
        const cv::Mat pixel(1, 1, CV_8UC3, cv::Scalar(level("B"), level("G"), level("R")));
        EXPECT_NEAR(lightnessFromBgr(pixel).at<float>(0), lab[0], 0.01);
    }
}

// Source: by definition, equal R, G and B have the hue of the white point. Tolerance: 01-srgb-lab.csv asks
// 0.02.
TEST(Colour, KeepsGreysGreyAndRising)
{
    double last = -1;
    for (int level = 0; level < 256; ++level) {
        const cv::Vec3f lab = labFromBgr(cv::Vec3b::all(static_cast<uchar>(level)));
        EXPECT_LT(std::abs(lab[1]), 0.02) << level;
        EXPECT_LT(std::abs(lab[2]), 0.02) << level;
        EXPECT_GT(lab[0], last) << level;
        last = lab[0];
    }
}

TEST(Colour, TreatsEachPixelOfAPictureLikeTheColourAlone)
{
    cv::Mat picture(2, 2, CV_8UC3, cv::Scalar(30, 42, 60));
    picture.at<cv::Vec3b>(1, 0) = {80, 120, 150};
    const cv::Mat lab = labFromBgr(picture);
    ASSERT_EQ(lab.type(), CV_32FC3);
    EXPECT_EQ(lab.at<cv::Vec3f>(1, 0), labFromBgr(cv::Vec3b(80, 120, 150)));
    EXPECT_EQ(lab.at<cv::Vec3f>(0, 1), labFromBgr(cv::Vec3b(30, 42, 60)));
}

TEST(Colour, TellsTheSameLightnessOfAnyColourByItself)
{
    cv::Mat picture(256, 256, CV_8UC3), lightness;
    cv::RNG(3).fill(picture, cv::RNG::UNIFORM, 0, 256);
    for (int level = 0; level < 256; ++level)
        picture.at<cv::Vec3b>(0, level) = cv::Vec3b::all(static_cast<uchar>(level));
    cv::extractChannel(labFromBgr(picture), lightness, 0);
    EXPECT_LT(cv::norm(lightnessFromBgr(picture), lightness, cv::NORM_INF), 0.01);
}

TEST(Colour, RefusesAGreyPicture)
{
    EXPECT_THROW(labFromBgr(cv::Mat(2, 2, CV_8UC1, cv::Scalar(0))), std::invalid_argument);
    EXPECT_THROW(lightnessFromBgr(cv::Mat(2, 2, CV_8UC1, cv::Scalar(0))), std::invalid_argument);
}

}  // namespace
}  // namespace slipglass
