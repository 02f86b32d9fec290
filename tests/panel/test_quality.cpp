#include "slipglass/panel/quality.h"

#include <gtest/gtest.h>

#include <opencv2/imgproc.hpp>

#include "../support/drawn_panel.h"

namespace slipglass {
namespace {

using test::DrawnTub;

DrawnTub someTub()
{
    DrawnTub drawn;
    drawn.pose = test::standing(6, 1, 4.6);
    return drawn;
}

Quality qualityIn(const DrawnTub& drawn, const cv::Mat& picture)
{
    const Tub tub = test::placed(drawn);
    return qualityOf(unrollWall(picture, 1, tub, {}), tub, picture, 1);
}

TEST(Quality, CallsABlurredPictureLessSharpWhateverItsNoise)
{
    const DrawnTub drawn = someTub();
    const cv::Mat picture = test::drawTub(drawn);
    for (const double noise_levels : {0.0, 4.0}) {
        double last = 2;
        for (const double sigma : {0.0, 0.9, 1.8, 3.0, 5.0, 9.0}) {
            cv::Mat blurred = picture.clone(), noise(picture.size(), CV_16SC3);
            if (sigma > 0) cv::GaussianBlur(picture, blurred, {}, sigma);
            cv::RNG random(3);
            random.fill(noise, cv::RNG::NORMAL, 0, noise_levels);
            cv::add(blurred, noise, blurred, cv::noArray(), CV_8U);
            const double sharpness = qualityIn(drawn, blurred).sharpness;
            EXPECT_LT(sharpness, last + (sigma > 6 ? 0.1 : 0)) << "sigma " << sigma;
            EXPECT_TRUE(sigma > 0 || sharpness > 0.45) << "no caution: " << sharpness;
            EXPECT_TRUE(sigma < 4 || sharpness < 0.25) << "another picture: " << sharpness;
            last = sharpness;
        }
    }
}

TEST(Quality, CountsGlareByItsShareOfTheWall)
{
    const DrawnTub drawn = someTub();
    const cv::Mat picture = test::drawTub(drawn);
    EXPECT_EQ(qualityIn(drawn, picture).glare_percent, 0);
    cv::Mat mirrored = picture.clone();
    cv::rectangle(mirrored, {400, 500, 100, 200}, cv::Scalar::all(255), cv::FILLED);
    const Panel panel = unrollWall(mirrored, 1, test::placed(drawn), {});
    const double share = 100.0 * cv::countNonZero(panel.wall & ~panel.visible) / cv::countNonZero(panel.wall);
    EXPECT_GT(share, 3);
    EXPECT_DOUBLE_EQ(qualityOf(panel, test::placed(drawn), mirrored, 1).glare_percent, share);
}

TEST(Quality, KnowsHowMuchOfTheFrontIsInThePicture)
{
    DrawnTub drawn = someTub();
    const cv::Mat picture = test::drawTub(drawn);
    EXPECT_DOUBLE_EQ(qualityIn(drawn, picture).in_frame, 1);
    drawn.pose = test::standing(6, 1, 4.6, 450);  // the picture ends in the middle of the tub
    EXPECT_NEAR(qualityIn(drawn, picture).in_frame, 0.5, 0.1);
}

}  // namespace
}  // namespace slipglass
