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

cv::Mat withNoise(const cv::Mat& picture, double levels)
{
    cv::Mat noise(picture.size(), CV_16SC3), noisy;
    cv::RNG random(3);
    random.fill(noise, cv::RNG::NORMAL, 0, levels);
    cv::add(picture, noise, noisy, cv::noArray(), CV_8U);
    return noisy;
}

TEST(Quality, CallsABlurredPictureLessSharpWhateverItsNoise)
{
    const DrawnTub drawn = someTub();
    const cv::Mat picture = test::drawTub(drawn);
    const QualitySettings limits;
    for (const double noise_levels : {0.0, 4.0}) {
        double last = 2;
        for (const double sigma : {0.0, 0.9, 1.8, 3.0, 5.0, 9.0}) {
            cv::Mat blurred = picture.clone();
            if (sigma > 0) cv::GaussianBlur(picture, blurred, {}, sigma);
            const double sharpness = qualityIn(drawn, withNoise(blurred, noise_levels)).sharpness;
            EXPECT_LT(sharpness, last + (sigma > 6 ? 0.1 : 0)) << "sigma " << sigma;
            EXPECT_TRUE(sigma > 0 || sharpness > limits.caution_sharpness) << "no caution: " << sharpness;
            EXPECT_TRUE(sigma < 4 || sharpness < limits.retake_sharpness) << "another picture: " << sharpness;
            last = sharpness;
        }
    }
}

// A line of L px has the spread of a disc of radius L / sqrt(3) px along itself, and none across: a root
// across its way is as hard to see.
TEST(Quality, CallsAShakenPictureNoSharperThanOneOutOfFocus)
{
    const DrawnTub drawn = someTub();
    const cv::Mat picture = test::drawTub(drawn);
    for (const double degrees : {0.0, 35.0, 90.0}) {
        cv::Mat path = cv::Mat::zeros(23, 23, CV_32F), shaken, blurred;
        const cv::Point2d half(10 * std::cos(degrees * CV_PI / 180), 10 * std::sin(degrees * CV_PI / 180));
        cv::line(path, cv::Point(cv::Point2d(11, 11) - half), cv::Point(cv::Point2d(11, 11) + half), 1);
        cv::filter2D(picture, shaken, -1, path / cv::sum(path)[0]);
        cv::GaussianBlur(picture, blurred, {}, 20 / std::sqrt(12.0));
        EXPECT_NEAR(qualityIn(drawn, withNoise(shaken, 2)).sharpness,
                    qualityIn(drawn, withNoise(blurred, 2)).sharpness, 0.08)
            << degrees;
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

/// What is said of a picture of which an eighth of the tub is cut off; empty where nothing is.
std::string cutAt(double across_px, double low_px, bool base_known = true)
{
    DrawnTub drawn = someTub();
    drawn.pose = test::standing(6, 1, 4.6, across_px, low_px);
    Tub tub = test::placed(drawn);
    tub.base_known = base_known;
    const cv::Mat picture = test::drawTub(drawn);
    const Quality quality = qualityOf(unrollWall(picture, 1, tub, {}), tub, picture, 1);
    std::string said;
    for (const Doubt& doubt : doubtsOf(quality, {}))
        if (doubt.why.find("outside") != std::string::npos) said += doubt.why;
    return said;
}

TEST(Quality, SaysWhichPartOfTheTubThePictureLacks)
{
    EXPECT_EQ(cutAt(0, 300), "");
    const auto says = [](const std::string& said, const std::string& part) {
        return said.rfind("part of the tub is outside the picture: its " + part + " (", 0) == 0;
    };
    EXPECT_TRUE(says(cutAt(-270, 300), "left side")) << cutAt(-270, 300);
    EXPECT_TRUE(says(cutAt(270, 300), "right side")) << cutAt(270, 300);
    EXPECT_TRUE(says(cutAt(0, 530), "foot")) << cutAt(0, 530);
    EXPECT_TRUE(says(cutAt(0, -100), "top")) << cutAt(0, -100);
    // No share of what nobody knows the height of.
    EXPECT_EQ(cutAt(0, 530, false), "part of the tub is outside the picture: its foot");
}

TEST(Quality, TellsADarkPictureFromALightOneAndFromABurntOne)
{
    const DrawnTub drawn = someTub();
    cv::Mat grey, picture;
    cv::cvtColor(test::drawTub(drawn), grey, cv::COLOR_BGR2GRAY);
    cv::cvtColor(grey, picture, cv::COLOR_GRAY2BGR);
    const cv::Mat dark = 0.1 * picture, burnt = 6 * picture;
    const Quality usual = qualityIn(drawn, picture);
    EXPECT_LT(qualityIn(drawn, dark).lightness, 0.3 * usual.lightness);
    EXPECT_EQ(usual.burnt_percent, 0);
    // By construction: six times lighter, what was above 251 / 6 is within 4 of 255.
    const Panel panel = unrollWall(picture, 1, test::placed(drawn), {});
    cv::Mat pale;
    cv::inRange(panel.bgr, cv::Scalar::all(42), cv::Scalar::all(255), pale);
    PanelSettings no_glare;
    no_glare.glare_lightness = 1000;
    const Panel lost = unrollWall(burnt, 1, test::placed(drawn), no_glare);
    const double share = 100.0 * cv::countNonZero(pale & panel.frontal) / cv::countNonZero(panel.frontal);
    ASSERT_GT(share, 20);
    // A panel pixel between a burnt and a whole one of the photo may count as either: some 5 % of them lie
    // so.
    EXPECT_NEAR(qualityOf(lost, test::placed(drawn), burnt, 1).burnt_percent, share, 6);
}

Quality goodPicture()
{
    Quality good;
    good.sharpness = 0.75;
    good.px_per_mm = 8;
    return good;
}

TEST(Doubts, AreNoneAboutAGoodPicture)
{
    EXPECT_TRUE(doubtsOf(goodPicture(), {}).empty());
    Quality no_scale = goodPicture();
    no_scale.px_per_mm.reset();
    EXPECT_TRUE(doubtsOf(no_scale, {}).empty());
}

/// Every number, spoilt a little and more, is said once, with a way to do better, first as caution and, where
/// it can be so bad that nothing can be measured, then as retake.
TEST(Doubts, GrowWithEveryNumber)
{
    const QualitySettings s;
    struct Case {
        double Quality::*number;
        double slight, grave;
        State at_worst;
    };
    const Case cases[] = {
        {&Quality::sharpness, s.caution_sharpness - 0.01, s.retake_sharpness - 0.01, State::retake},
        {&Quality::lightness, s.caution_lightness - 0.1, s.retake_lightness - 0.1, State::retake},
        {&Quality::burnt_percent, s.caution_burnt_percent + 0.1, s.retake_burnt_percent + 0.1, State::retake},
        {&Quality::glare_percent, s.caution_glare_percent + 0.1, s.retake_glare_percent + 0.1, State::retake},
        {&Quality::tilt_deg, -s.caution_tilt_deg - 0.1, s.caution_tilt_deg + 30, State::caution},
        {&Quality::confidence, s.caution_confidence - 0.01, 0, State::caution}};
    for (const Case& c : cases)
        for (const auto& [value, state] :
             {std::pair(c.slight, State::caution), std::pair(c.grave, c.at_worst)}) {
            Quality quality = goodPicture();
            quality.doubt = "something else looks like it";
            quality.*c.number = value;
            const auto doubts = doubtsOf(quality, s);
            ASSERT_EQ(doubts.size(), 1U) << value;
            EXPECT_EQ(doubts[0].state, state) << doubts[0].why;
            EXPECT_FALSE(doubts[0].why.empty());
            EXPECT_FALSE(doubts[0].remedy.empty());
        }
    Quality small = goodPicture();
    small.px_per_mm = s.caution_px_per_mm - 0.01;
    EXPECT_EQ(doubtsOf(small, s).at(0).state, State::caution);
    small.px_per_mm = s.retake_px_per_mm - 0.01;
    EXPECT_EQ(doubtsOf(small, s).at(0).state, State::retake);
}

// A tub halved by a strip of glare: one half was taken for a slim tub full to the rim.
TEST(Doubts, AskWhetherATubFullToTheRimIsAWholeOne)
{
    const DrawnTub drawn = someTub();
    const cv::Mat picture = test::drawTub(drawn);
    Tub tub = test::placed(drawn);
    ASSERT_GT(tub.pose.cone.height, 0);
    EXPECT_LT(qualityIn(drawn, picture).filled.value_or(9), QualitySettings{}.caution_filled);
    Quality tall = goodPicture();
    tall.filled = 0.97;
    EXPECT_EQ(doubtsOf(tall, {}).at(0).state, State::caution);
    tub.pose.cone.height = 0;  // no type
    EXPECT_FALSE(qualityOf(unrollWall(picture, 1, tub, {}), tub, picture, 1).filled);
}

TEST(Doubts, PutTheGravestFirst)
{
    Quality quality = goodPicture();
    quality.px_per_mm = QualitySettings{}.caution_px_per_mm - 0.01;
    quality.glare_percent = 99;
    const auto doubts = doubtsOf(quality, {});
    ASSERT_EQ(doubts.size(), 2U);
    EXPECT_EQ(doubts[0].state, State::retake);
    EXPECT_EQ(doubts[1].state, State::caution);
}

}  // namespace
}  // namespace slipglass
