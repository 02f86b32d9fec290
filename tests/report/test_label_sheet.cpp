// The page is drawn by the same function to pixels, and the labels are read back from there by the reader,
// which is itself tested with another generator's codes (tests/tub/test_label.cpp).
#include <gtest/gtest.h>

#include <algorithm>
#include <memory>
#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>
#include <string>
#include <vector>

#include "../../src/report/label_drawing.h"
#include "slipglass/error.h"
#include "slipglass/report/label_sheet.h"

namespace slipglass {
namespace {

constexpr double kMmPerInch = 25.4;
constexpr double kDpi = 200;

std::vector<SheetLabel> someLabels(int count)
{
    std::vector<SheetLabel> labels;
    for (int k = 1; k <= count; ++k)
        labels.push_back(
            {std::string("T").append(std::to_string(k)), "Quince A", "peat/perlite 60/40", "2026-01-12"});
    return labels;
}

cv::Mat drawnPage(const std::vector<SheetLabel>& labels, int page, Paper paper, const LabelSettings& settings)
{
    const SheetLayout layout = layoutFor(paper, settings);
    const int width = static_cast<int>(layout.page_width / kMmPerInch * kDpi);
    const int height = static_cast<int>(layout.page_height / kMmPerInch * kDpi);
    const std::unique_ptr<cairo_surface_t, decltype(&cairo_surface_destroy)> surface(
        cairo_image_surface_create(CAIRO_FORMAT_RGB24, width, height), cairo_surface_destroy);
    const std::unique_ptr<cairo_t, decltype(&cairo_destroy)> context(cairo_create(surface.get()),
                                                                     cairo_destroy);
    cairo_set_source_rgb(context.get(), 1, 1, 1);
    cairo_paint(context.get());
    cairo_scale(context.get(), kDpi / 72, kDpi / 72);
    drawLabelPage(context.get(), labels, page, layout, settings);
    cairo_surface_flush(surface.get());
    cv::Mat picture;
    cv::cvtColor(cv::Mat(height, width, CV_8UC4, cairo_image_surface_get_data(surface.get()),
                         cairo_image_surface_get_stride(surface.get())),
                 picture, cv::COLOR_BGRA2BGR);
    return picture;
}

double sideMm(const FoundLabel& label, std::size_t k)
{
    return cv::norm(label.corners[k] - label.corners[(k + 1) % 4]) / kDpi * kMmPerInch;
}

/// Every label of a page is read, under its own id, at the size it says.
void expectAllReadBack(const std::vector<SheetLabel>& labels, const LabelSettings& settings, Paper paper)
{
    // Other settings than the printed size: the size has to come from the code itself.
    const auto read = findLabels(drawnPage(labels, 0, paper, settings), LabelSettings{99});
    std::vector<std::string> want, got;
    for (const auto& label : labels) want.push_back(label.tub);
    for (const auto& label : read) got.push_back(label.tub);
    std::sort(want.begin(), want.end());
    ASSERT_EQ(got, want);
    for (const auto& label : read) {
        EXPECT_NEAR(label.qr_side_mm, settings.qr_side_mm, 0.005);
        // 0.5 % is what a ruler shows on 100 mm; it leaves room for a pixel's rounding at 200 dpi.
        for (std::size_t k = 0; k < 4; ++k)
            EXPECT_NEAR(sideMm(label, k), settings.qr_side_mm, 0.005 * settings.qr_side_mm) << label.tub;
    }
}

TEST(LabelSheet, IsReadBackAtTrueSizeOnA4)
{
    expectAllReadBack(someLabels(13), LabelSettings{}, Paper::a4);
}

TEST(LabelSheet, IsReadBackAtTrueSizeOnUsLetter)
{
    expectAllReadBack(someLabels(7), LabelSettings{}, Paper::us_letter);
}

TEST(LabelSheet, IsReadBackAtOtherSizes)
{
    expectAllReadBack(someLabels(3), LabelSettings{35.5}, Paper::a4);
    expectAllReadBack(someLabels(3), LabelSettings{12}, Paper::a4);
}

TEST(LabelSheet, HoldsLongIdsAndAnyScript)
{
    std::vector<SheetLabel> labels = someLabels(2);
    labels[0] = {std::string(64, 'x'), std::string(300, 'v'), std::string(300, 'm'), "2026-01-12"};
    labels[1] = {"S\u00fcd-3, \u6a39", "\u0420\u043e\u0437\u0430", "", ""};
    expectAllReadBack(labels, LabelSettings{30}, Paper::a4);
}

TEST(LabelSheet, LongTextStaysOnItsOwnLabel)
{
    std::vector<SheetLabel> labels = someLabels(1);
    labels[0].variety = labels[0].medium = std::string(500, 'W');
    const cv::Mat page = drawnPage(labels, 0, Paper::a4, LabelSettings{});
    const SheetLayout layout = layoutFor(Paper::a4, LabelSettings{});
    const auto px = [](double mm) { return static_cast<int>(mm / kMmPerInch * kDpi); };
    const cv::Rect right_of_it(px(layout.left() + layout.label_width + 0.5), px(layout.top()),
                               px(layout.label_width), px(layout.label_height));
    EXPECT_EQ(cv::mean(page(right_of_it)), cv::Scalar(255, 255, 255));
}

TEST(LabelSheet, HasARulerOf100Mm)
{
    // The ruler's line is the lowest long dark row of the page; its run of dark pixels is measured.
    cv::Mat grey;
    cv::cvtColor(drawnPage(someLabels(1), 0, Paper::a4, LabelSettings{}), grey, cv::COLOR_BGR2GRAY);
    int longest = 0;
    for (int y = grey.rows / 2; y < grey.rows; ++y)
        for (int x = 0, run = 0; x < grey.cols; ++x) {
            run = grey.at<uchar>(y, x) < 160 ? run + 1 : 0;
            longest = std::max(longest, run);
        }
    EXPECT_NEAR(longest / kDpi * kMmPerInch, 100, 0.4);  // 3 px: both ends, and half a tick at each
}

TEST(LabelSheet, GivesTheSameBytesEveryTime)
{
    const auto labels = someLabels(40);
    EXPECT_EQ(labelSheetPdf(labels, Paper::a4, {}), labelSheetPdf(labels, Paper::a4, {}));
    EXPECT_NE(labelSheetPdf(labels, Paper::a4, {}), labelSheetPdf(labels, Paper::us_letter, {}));
    EXPECT_EQ(labelSheetPdf(labels, Paper::a4, {}).substr(0, 5), "%PDF-");
}

TEST(LabelSheet, GoesOnOverPages)
{
    // A4: 6 columns of 30 mm in 190 mm, 6 rows of 38 mm in what header and ruler leave of 277 mm.
    EXPECT_EQ(labelPages(36, Paper::a4, {}), 1);
    EXPECT_EQ(labelPages(37, Paper::a4, {}), 2);
    const auto read = findLabels(drawnPage(someLabels(37), 1, Paper::a4, {}), {});
    ASSERT_EQ(read.size(), 1U);
    EXPECT_EQ(read[0].tub, "T37");
}

TEST(LabelSheet, HasOneLabelATubInTheOrderOfThePlan)
{
    Plan plan;
    plan.cuttings.resize(3);
    plan.cuttings[0].tub = "B";
    plan.cuttings[0].variety = "Quince A";
    plan.cuttings[0].medium = "peat";
    plan.cuttings[0].stuck_on = parseIsoDate("2026-01-12");
    plan.cuttings[1].tub = "A";
    plan.cuttings[2] = plan.cuttings[0];
    plan.cuttings[2].variety = "Quince B";
    const auto labels = labelsOf(plan);
    ASSERT_EQ(labels.size(), 2U);
    EXPECT_EQ(labels[0].tub, "B");
    EXPECT_EQ(labels[0].variety, "Quince A, Quince B");
    EXPECT_EQ(labels[0].medium, "peat");
    EXPECT_EQ(labels[0].stuck_on, "2026-01-12");
    EXPECT_EQ(labels[1].tub, "A");
}

TEST(LabelSheet, RefusesWhatNoLabelCanHold)
{
    EXPECT_THROW(labelSheetPdf({}, Paper::a4, {}), Error);
    EXPECT_THROW(labelSheetPdf({{std::string(65, 'x'), "", "", ""}}, Paper::a4, {}), Error);
    EXPECT_THROW(labelSheetPdf({{"https://example.org", "", "", ""}}, Paper::a4, {}), Error);
    EXPECT_THROW(labelSheetPdf({{"A", "", "", ""}, {"A", "", "", ""}}, Paper::a4, {}), Error);
    EXPECT_THROW(labelSheetPdf(someLabels(1), Paper::a4, LabelSettings{180}), Error);
}

}  // namespace
}  // namespace slipglass
