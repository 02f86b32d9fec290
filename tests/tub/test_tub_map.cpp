#include <gtest/gtest.h>

#include "../../src/tub/tub_map.h"

namespace slipglass {
namespace {

// By construction: a line drawn down fifteen rows of one column.
TEST(EdgePoints, LieWhereTheEdgeRuns)
{
    TubMap map;
    map.reduction = 4;
    map.origin = {100, 50};
    map.left = cv::Mat::zeros(30, 40, CV_32F);
    map.left.col(10).rowRange(5, 20).setTo(0.8);
    const auto points = edgePoints(map, map.left, true);
    ASSERT_EQ(points.size(), 15U);
    EXPECT_DOUBLE_EQ(points[0].at.x_px, 100 + 10.5 * 4 - 0.5);
    EXPECT_DOUBLE_EQ(points[0].at.y_px, 50 + 5.5 * 4 - 0.5);
    EXPECT_NEAR(points[0].weight, 0.8, 1e-6);
}

TEST(EdgePoints, AreNoneOnAStripTooNarrowForAPlace)
{
    const cv::Mat picture(400, 300, CV_8UC3, cv::Scalar::all(90));
    const TubMap map = tubMap(picture, picture.size(), std::nullopt, {0, 399, 300, 1});
    for (const bool upright : {true, false}) EXPECT_TRUE(edgePoints(map, map.foot, upright).empty());
}

}  // namespace
}  // namespace slipglass
