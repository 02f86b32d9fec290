// Truth: another program's reading of the same bytes, that of OpenCV's imgcodecs.
#include <gtest/gtest.h>

#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>

#include "slipglass/photo/picture_bytes.h"

namespace slipglass {
namespace {

cv::Mat noise(cv::Size size, int type)
{
    cv::Mat picture(size, type);
    cv::RNG random(7);
    random.fill(picture, cv::RNG::UNIFORM, 0, picture.depth() == CV_16U ? 65536 : 256);
    return picture;
}

cv::Mat byOther(const std::string& bytes)
{
    return cv::imdecode(std::vector<uchar>(bytes.begin(), bytes.end()), cv::IMREAD_UNCHANGED);
}

double difference(const cv::Mat& a, const cv::Mat& b)
{
    return a.type() == b.type() && a.size() == b.size() ? cv::norm(a, b, cv::NORM_INF) : 1e9;
}

class Png : public testing::TestWithParam<int> {};

TEST_P(Png, HoldsEveryPixelAsItIs)
{
    const cv::Mat picture = noise({37, 23}, GetParam());
    for (const PngPacking packing : {PngPacking::fast, PngPacking::small}) {
        const std::string bytes = pngBytes(picture, packing);
        EXPECT_EQ(difference(byOther(bytes), picture), 0);
        EXPECT_EQ(difference(pictureIn(bytes), picture), 0);
    }
}
INSTANTIATE_TEST_SUITE_P(Each, Png, testing::Values(CV_8UC1, CV_8UC3, CV_8UC4, CV_16UC1));

TEST(MaskBytes, AreThoseOfTheMaskAtItsNewSize)
{
    const cv::Mat mask = noise({41, 30}, CV_8UC1) > 127;
    for (const cv::Size size : {cv::Size(41, 30), cv::Size(82, 60), cv::Size(81, 59), cv::Size(20, 11)}) {
        cv::Mat there;
        cv::resize(mask, there, size, 0, 0, cv::INTER_NEAREST);
        const std::string bytes = maskBytes(mask, size);
        EXPECT_EQ(difference(byOther(bytes), there), 0) << size;
        EXPECT_EQ(difference(pictureIn(bytes), there), 0) << size;
    }
}

TEST(JpegBytes, AreReadBackAsByOthers)
{
    cv::Mat picture = noise({64, 48}, CV_8UC3);
    cv::GaussianBlur(picture, picture, {}, 4);
    const std::string bytes = jpegBytes(picture, 90);
    EXPECT_EQ(difference(byOther(bytes), pictureIn(bytes)), 0);
    // Quality 90 rounds each part of a block to a few grey levels; a channel mixed up would be off by dozens.
    EXPECT_LT(cv::norm(pictureIn(bytes), picture, cv::NORM_L1) / static_cast<double>(picture.total() * 3), 4);
    EXPECT_LT(jpegBytes(picture, 40).size(), bytes.size());
}

TEST(PictureIn, IsEmptyWhereThereIsNoneOrItIsDamaged)
{
    EXPECT_TRUE(pictureIn("").empty());
    EXPECT_TRUE(pictureIn("no picture").empty());
    EXPECT_TRUE(pictureFrom("/nowhere/at/all.png").empty());
    const cv::Mat picture = noise({37, 23}, CV_8UC3);
    for (const std::string& bytes : {pngBytes(picture), jpegBytes(picture, 80)})
        for (size_t left = 0; left < bytes.size(); left += 7)
            EXPECT_TRUE(pictureIn(std::string_view(bytes).substr(0, left)).empty()) << left;
}

}  // namespace
}  // namespace slipglass
