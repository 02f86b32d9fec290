// What the network is shown, against the same by OpenCV's own filters, pixel by pixel.
#include "../../src/roots/shown_planes.h"

#include <gtest/gtest.h>

#include <opencv2/imgproc.hpp>

#include "slipglass/network/network.h"

namespace slipglass {
namespace {

Panel panelOf(const cv::Mat& bgr)
{
    Panel panel;
    panel.bgr = bgr;
    panel.visible = cv::Mat(bgr.size(), CV_8U, cv::Scalar(255));
    return panel;
}

cv::Mat smoothNoise(cv::Size size, uint64_t seed)
{
    cv::Mat bgr(size, CV_8UC3);
    cv::RNG(seed).fill(bgr, cv::RNG::UNIFORM, 1, 255);
    cv::GaussianBlur(bgr, bgr, {}, 3);
    return bgr;
}

/// Mean over 3 x 3 blocks of 32 px, nothing beyond the ends, between blocks by bilinear interpolation.
cv::Mat around(const cv::Mat& plane)
{
    cv::Mat blocks;
    cv::resize(plane, blocks, plane.size() / 32, 0, 0, cv::INTER_AREA);
    cv::blur(blocks, blocks, {3, 3}, {-1, -1}, cv::BORDER_CONSTANT);
    return blocks;
}

cv::Mat wide(const cv::Mat& blocks, cv::Size size)
{
    cv::Mat made;
    cv::resize(blocks, made, size, 0, 0, cv::INTER_LINEAR);
    return made;
}

/// The seven evened planes by definition.
std::vector<cv::Mat> evened(const std::vector<cv::Mat>& colours)
{
    std::vector<cv::Mat> made(7), seen(6), mean(6);
    const cv::Size size = colours[0].size();
    for (size_t c = 0; c < 6; ++c) {
        cv::Mat visible;
        cv::Mat(colours[c] > 0).convertTo(visible, CV_32F, 1.0 / 255);
        seen[c] = around(visible);
        mean[c] = wide(around(colours[c]) / (seen[c] + 0.001), size);
        made[c] = colours[c] - mean[c].mul(visible);
    }
    for (size_t c = 0; c < 6; ++c) {
        const size_t of = c / 3 * 3;
        const cv::Mat luma = 0.114 * mean[of] + 0.587 * mean[of + 1] + 0.299 * mean[of + 2];
        made[c] = 0.5 * made[c] / (luma + 0.04);
    }
    made[6] = wide((seen[3] + seen[4] + seen[5]) / 3, size);
    return made;
}

/// Thirteen planes of this size from what Network::run calls by fours; nothing lies beyond the ends.
std::vector<cv::Mat> planesFrom(const cv::Mat& by_fours, cv::Size size)
{
    EXPECT_EQ(by_fours.type(), CV_8SC(52));
    EXPECT_EQ(by_fours.size(), size / 2 + cv::Size(1, 1));
    std::vector<cv::Mat> fours, planes;
    cv::split(by_fours, fours);
    for (size_t i = 0; i < 13; ++i) {
        cv::Mat wide(by_fours.size() * 2, CV_8S);  // with a pixel more on each side
        for (int y = 0; y < wide.rows; ++y)
            for (int x = 0; x < wide.cols; ++x)
                wide.at<schar>(y, x) =
                    fours[static_cast<size_t>(y % 2 * 2 + x % 2) * 13 + i].at<schar>(y / 2, x / 2);
        const cv::Rect inner({1, 1}, size);
        planes.push_back(wide(inner).clone());
        wide(inner).setTo(0);
        EXPECT_EQ(cv::norm(wide, cv::NORM_INF), 0) << "plane " << i;
    }
    return planes;
}

TEST(ShownPlanes, AreThePairAndItsEvenedLight)
{
    const cv::Size size(150, 90), padded(160, 96);
    Panel today = panelOf(smoothNoise(size, 3));
    today.bgr(cv::Rect(0, 0, 40, 90)).setTo(0);
    EarlierPanel past{smoothNoise(size, 5), cv::Mat(size, CV_8U, cv::Scalar(255))};
    past.visible(cv::Rect(100, 20, 50, 50)).setTo(0);
    const std::vector<cv::Mat> planes = planesFrom(shownPlanes(today, past), padded);

    cv::Mat hidden = past.bgr.clone();
    hidden.setTo(0, past.visible == 0);
    std::vector<cv::Mat> colours;
    for (const cv::Mat& bgr : {today.bgr, hidden}) {
        cv::Mat whole;
        cv::copyMakeBorder(bgr, whole, 0, padded.height - size.height, 0, padded.width - size.width,
                           cv::BORDER_CONSTANT);
        std::vector<cv::Mat> three;
        cv::split(whole, three);
        for (cv::Mat& plane : three) {
            plane.convertTo(plane, CV_32F, 1.0 / 255);
            colours.push_back(plane);
        }
    }
    const std::vector<cv::Mat> expected = evened(colours);
    for (size_t i = 0; i < 13; ++i) {
        // Of evened colours the half; what steps do not reach, and only that, is cut off.
        cv::Mat exact = i < 6 ? colours[i] : i < 12 ? cv::Mat(0.5 * expected[i - 6]) : expected[6];
        exact = cv::max(cv::min(exact, 1.0), -1.0);
        cv::Mat told;
        planes[i].convertTo(told, CV_32F, kPlaneStep);
        EXPECT_LT(cv::norm(told, exact, cv::NORM_INF), 0.5001 * kPlaneStep + 1e-5) << "plane " << i;
    }
}

TEST(ShownPlanes, WithoutAPastAreZeroThere)
{
    const std::vector<cv::Mat> planes =
        planesFrom(shownPlanes(panelOf(smoothNoise({64, 64}, 3)), std::nullopt), {64, 64});
    for (const size_t i : {3, 4, 5, 9, 10, 11, 12})
        EXPECT_EQ(cv::norm(planes[i], cv::NORM_INF), 0) << "plane " << i;
}

}  // namespace
}  // namespace slipglass
