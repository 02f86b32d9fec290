#include "slipglass/panel/panel_file.h"

#include <gtest/gtest.h>

#include <opencv2/imgcodecs.hpp>

#include "../support/drawn_panel.h"

namespace slipglass {
namespace {

Panel somePanel()
{
    test::DrawnTub drawn;
    drawn.pose = test::standing(7, 1, 4.6);
    return test::panelOf(drawn);
}

TEST(PanelFile, KeepsPictureVisibleWallAndScale)
{
    const Panel panel = somePanel();
    const auto kept = decodePanel(encodePanel(panel));
    ASSERT_TRUE(kept);
    ASSERT_EQ(kept->bgr.size(), panel.bgr.size());
    EXPECT_EQ(cv::countNonZero(kept->visible != panel.visible), 0);
    EXPECT_EQ(cv::countNonZero(kept->frontal != panel.frontal), 0);
    EXPECT_EQ(kept->unit_per_px, panel.unit_per_px);
    EXPECT_EQ(kept->top, panel.top);
    EXPECT_EQ(kept->in_mm, panel.in_mm);
    EXPECT_TRUE(kept->base_known);
    Panel guessed = panel;
    guessed.base_known = false;
    EXPECT_FALSE(decodePanel(encodePanel(guessed))->base_known);
    cv::Mat difference;
    cv::absdiff(kept->bgr, panel.bgr, difference);
    EXPECT_LT(cv::mean(difference, panel.visible)[1], 3) << "nearly lossless";
    EXPECT_LT(encodePanel(panel).bytes.size(), 600000U);
}

// As versions before 2026-12 kept it: one WebP, alpha 128 for what is visible, 255 from the front.
TEST(PanelFile, OfAnEarlierVersionIsRead)
{
    const Panel panel = somePanel();
    cv::Mat seen, with_alpha;
    cv::bitwise_and(panel.visible, 128, seen);
    seen.setTo(255, panel.frontal);
    cv::merge(std::vector<cv::Mat>{panel.bgr, seen}, with_alpha);
    std::vector<uchar> bytes;
    cv::imencode(".webp", with_alpha, bytes, {cv::IMWRITE_WEBP_QUALITY, 95});
    const auto kept =
        decodePanel({std::string(bytes.begin(), bytes.end()),
                     R"({"mm_per_px": 0.15, "top_mm": 100, "in_mm": true, "base_known": true})"});
    ASSERT_TRUE(kept);
    EXPECT_EQ(kept->bgr.size(), panel.bgr.size());
    EXPECT_EQ(cv::countNonZero(kept->visible != panel.visible), 0);
    EXPECT_EQ(cv::countNonZero(kept->frontal != panel.frontal), 0);
}

TEST(PanelFile, GivesTheSameBytesTwice)
{
    const Panel panel = somePanel();
    const PanelFile one = encodePanel(panel), two = encodePanel(panel);
    EXPECT_TRUE(one.bytes == two.bytes);
    EXPECT_EQ(one.meta, two.meta);
}

TEST(PanelFile, IsEmptyWhenItIsNoPanel)
{
    const PanelFile good = encodePanel(somePanel());
    EXPECT_FALSE(decodePanel({"", good.meta}));
    EXPECT_FALSE(decodePanel({"no picture", good.meta}));
    EXPECT_FALSE(decodePanel({good.bytes.substr(0, 60), good.meta}));
    for (const char* meta :
         {"", "{", "[]", "null", "{}", R"({"mm_per_px": 0.15})", R"({"mm_per_px": "wide", "top_mm": 100})",
          R"({"mm_per_px": null, "top_mm": 100})", R"({"mm_per_px": 0.15, "top_mm": 100, "in_mm": "yes"})"})
        EXPECT_FALSE(decodePanel({good.bytes, meta})) << meta;
    std::vector<uchar> opaque;
    cv::imencode(".png", cv::Mat(20, 20, CV_8UC3, cv::Scalar(1, 2, 3)), opaque);
    EXPECT_FALSE(decodePanel({std::string(opaque.begin(), opaque.end()), good.meta}));
}

}  // namespace
}  // namespace slipglass
