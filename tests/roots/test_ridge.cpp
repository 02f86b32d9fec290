#include "slipglass/roots/ridge.h"

#include <gtest/gtest.h>

#include <cmath>
#include <map>
#include <numbers>
#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>
#include <stdexcept>

#include "../support/table.h"

namespace slipglass {
namespace {

cv::Mat shape(const std::string& name)
{
    const cv::Mat grey =
        cv::imread(std::string(SLIPGLASS_TEST_DATA) + "/shapes/" + name + ".png", cv::IMREAD_GRAYSCALE);
    cv::Mat unit;
    grey.convertTo(unit, CV_32F, 1 / 255.0);
    return unit;
}

/// The centre (127.5, 127.5) of a shape lies between four pixels.
double atCentre(const cv::Mat& map)
{
    return cv::mean(map(cv::Rect(127, 127, 2, 2)))[0];
}

// Source: 07-ridge-scale-response.csv, scipy 1.10.1 Gaussian derivatives at the shapes' centre.
// Tolerance: scipy's sampled second derivative does not add up to exactly 0; it costs up to 0.0003 of 0.48.
TEST(Ridge, AnswersLikeAnIndependentLibrary)
{
    const auto rows = test::referenceTable("07-ridge-scale-response.csv");
    ASSERT_EQ(rows.size(), 54U);
    for (const auto& row : rows) {
        const RidgeMap ridge = ridgeStrength(shape(row.at("png")), test::number(row, "sigma"));
        EXPECT_NEAR(atCentre(ridge.strength), test::number(row, "gauss_hessian_centre"), 5e-4)
            << row.at("png") << " sigma " << row.at("sigma");
    }
}

// Source: closed form for an infinite bar of half-width a: largest at sigma = a, 0.483941.
TEST(Ridge, AnswersMostAtHalfTheWidth)
{
    std::map<std::string, std::pair<double, double>> best;  // name: strength, sigma
    for (const auto& row : test::referenceTable("07-ridge-scale-response.csv")) {
        const double sigma = test::number(row, "sigma");
        const double strength = atCentre(ridgeStrength(shape(row.at("png")), sigma).strength);
        auto& so_far = best[row.at("png")];
        so_far = std::max(so_far, {strength, sigma});
    }
    ASSERT_EQ(best.size(), 6U);
    for (const auto& [name, top] : best)
        EXPECT_EQ(top.second, name.starts_with("bar_w4") ? 2.0 : 5.0) << name;
}

// Source: the bars' construction, counter-clockwise in a picture with y up. Tolerance: cv::cartToPolar's 0.3
// degrees halved, and half a pixel of rasterisation over sigma.
TEST(Ridge, TellsWhichWayABarRuns)
{
    for (const auto& [name, turned] :
         std::map<std::string, double>{{"bar_w10_a17", 17}, {"bar_w10_a45", 45}}) {
        const RidgeMap ridge = ridgeStrength(shape(name), 5);
        EXPECT_NEAR(ridge.angle.at<float>(127, 127) * 180 / std::numbers::pi, 180 - turned, 1.0) << name;
    }
    const float flat = ridgeStrength(shape("bar_w10_a00"), 5).angle.at<float>(127, 127);
    EXPECT_LT(std::abs(std::sin(flat)), 0.01F);
}

TEST(Ridge, IsSilentOnDarkLinesAndFlatGround)
{
    cv::Mat dark(60, 60, CV_32F, cv::Scalar(0.8));
    cv::rectangle(dark, {0, 28, 60, 4}, cv::Scalar(0.2), cv::FILLED);
    EXPECT_LT(ridgeStrength(dark, 2).strength.at<float>(30, 30), 1e-6F);

    const cv::Mat flat(60, 60, CV_32F, cv::Scalar(0.8));
    EXPECT_LT(cv::norm(ridgeStrength(flat, 3).strength, cv::NORM_INF), 1e-5);  // also along the border
}

TEST(Ridge, RefusesOtherPicturesAndScales)
{
    EXPECT_THROW(ridgeStrength(cv::Mat(5, 5, CV_8UC1, cv::Scalar(0)), 2), std::invalid_argument);
    EXPECT_THROW(ridgeStrength(cv::Mat(5, 5, CV_32F, cv::Scalar(0)), 0), std::invalid_argument);
    EXPECT_TRUE(ridgeStrength(cv::Mat(0, 0, CV_32F), 2).strength.empty());
}

}  // namespace
}  // namespace slipglass
