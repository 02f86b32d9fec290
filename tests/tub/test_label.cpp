// Codes come from another generator (tests/data/labels/README.md), so that a mistake in ours cannot hide one
// in the reader. Where they lie in a test picture is truth by construction.
#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <fstream>
#include <functional>
#include <limits>
#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>
#include <sstream>
#include <string>
#include <vector>

#include "slipglass/tub/label.h"

namespace slipglass {
namespace {

const std::string kLabels = std::string(SLIPGLASS_TEST_DATA) + "/labels/";

// The corners give the scale. It errs by up to 1.6 % on the samples (test_find_tub.cpp), with all that can go
// wrong with a tub's place; a label alone may take 1 % of that.
constexpr double kBentTolerance = 0.01;
// Flat, noiseless codes: measured 0.0012, of which 0.0008 is a bias outwards of 1/60 module.
constexpr double kFlatTolerance = 0.003;

/// One of the generator's codes on white paper, a pixel a module.
cv::Mat codeOnPaper(const std::string& name)
{
    const cv::Mat code = cv::imread(kLabels + name + ".png", cv::IMREAD_GRAYSCALE);
    EXPECT_FALSE(code.empty()) << name;
    cv::Mat modules;
    cv::resize(code, modules, {}, 0.25, 0.25, cv::INTER_AREA);
    cv::copyMakeBorder(modules, modules, 4, 4, 4, 4, cv::BORDER_CONSTANT, cv::Scalar(240));
    modules.setTo(30, modules < 128);
    return modules;
}

/// Where a place of the label, in modules from the middle of the code, is seen; empty = hidden.
using Seen = std::function<cv::Point2d(cv::Point2d)>;
/// The other way round; NaN where no label is.
using Looked = std::function<cv::Point2d(cv::Point2d)>;

/// Lays a label into a picture, with 4 x 4 samples a pixel.
void lay(cv::Mat& picture, const cv::Mat& paper, const Looked& place)
{
    for (int y = 0; y < picture.rows; ++y)
        for (int x = 0; x < picture.cols; ++x) {
            double sum = 0;
            for (int k = 0; k < 16; ++k) {
                const int row_of_4 = k / 4;
                const cv::Point2d at = place({x + (k % 4 - 1.5) / 4, y + (row_of_4 - 1.5) / 4});
                // Before they are made whole numbers: NaN is none, and lies on no paper.
                const double col = std::floor(at.x + 0.5 * paper.cols),
                             row = std::floor(at.y + 0.5 * paper.rows);
                const bool on = col >= 0 && row >= 0 && col < paper.cols && row < paper.rows;
                sum += on ? paper.at<uchar>(static_cast<int>(row), static_cast<int>(col))
                          : picture.at<uchar>(y, x);
            }
            picture.at<uchar>(y, x) = cv::saturate_cast<uchar>(sum / 16);
        }
}

struct Flat {
    cv::Point2d centre;
    double px_per_module, turn_deg;

    cv::Point2d seen(cv::Point2d m) const
    {
        const double c = std::cos(turn_deg * CV_PI / 180), s = std::sin(turn_deg * CV_PI / 180);
        return centre + px_per_module * cv::Point2d(c * m.x - s * m.y, s * m.x + c * m.y);
    }
    cv::Point2d looked(cv::Point2d p) const
    {
        const double c = std::cos(turn_deg * CV_PI / 180), s = std::sin(turn_deg * CV_PI / 180);
        const cv::Point2d d = (p - centre) / px_per_module;
        return {c * d.x + s * d.y, -s * d.x + c * d.y};
    }
};

/// A label on an upright cylinder seen from far away and somewhat from above.
struct Bent {
    cv::Point2d axis;  ///< px: where the axis stands at the height of the label's middle
    double px_per_module, radius, turn_deg, pitch_deg;

    cv::Point2d seen(cv::Point2d m) const
    {
        const double angle = turn_deg * CV_PI / 180 + m.x / radius, pitch = pitch_deg * CV_PI / 180;
        return axis + px_per_module *
                          cv::Point2d(radius * std::sin(angle),
                                      m.y * std::cos(pitch) + radius * std::cos(angle) * std::sin(pitch));
    }
    cv::Point2d looked(cv::Point2d p) const
    {
        const double nowhere = std::numeric_limits<double>::quiet_NaN();
        const cv::Point2d d = (p - axis) / px_per_module;
        if (std::abs(d.x) >= radius) return {nowhere, nowhere};
        const double angle = std::asin(d.x / radius), pitch = pitch_deg * CV_PI / 180;
        return {radius * (angle - turn_deg * CV_PI / 180),
                (d.y - radius * std::cos(angle) * std::sin(pitch)) / std::cos(pitch)};
    }
};

cv::Mat emptyPicture(int width, int height)
{
    return {height, width, CV_8U, cv::Scalar(110)};
}

template <class Placement>
void lay(cv::Mat& picture, const std::string& code, const Placement& placement)
{
    lay(picture, codeOnPaper(code), [&](cv::Point2d p) { return placement.looked(p); });
}

cv::Mat noisy(const cv::Mat& picture, double sigma)
{
    cv::RNG random(20260112);
    cv::Mat noise(picture.size(), CV_16S), out;
    random.fill(noise, cv::RNG::NORMAL, 0, sigma);
    cv::add(picture, noise, out, cv::noArray(), CV_8U);
    return out;
}

std::vector<FoundLabel> found(const cv::Mat& grey)
{
    cv::Mat bgr;
    cv::cvtColor(grey, bgr, cv::COLOR_GRAY2BGR);
    return findLabels(bgr, LabelSettings{});
}

std::string ids(const std::vector<FoundLabel>& labels)
{
    std::string all;
    for (const auto& label : labels) all += (all.empty() ? "" : ",") + label.tub;
    return all;
}

std::array<cv::Point2d, 4> codeCorners(const std::string& code, const Seen& seen)
{
    const double h = 0.5 * (codeOnPaper(code).cols - 8);
    return {seen({-h, -h}), seen({h, -h}), seen({h, h}), seen({-h, h})};
}

/// Largest distance of a corner from its true place, as a share of the code's mean side.
double cornerError(const FoundLabel& label, const std::array<cv::Point2d, 4>& truth)
{
    double worst = 0, side = 0;
    for (std::size_t k = 0; k < 4; ++k) {
        worst = std::max(worst, cv::norm(label.corners[k] - truth[k]));
        side += cv::norm(truth[k] - truth[(k + 1) % 4]) / 4;
    }
    return worst / side;
}

template <class Placement>
void expectRead(const cv::Mat& picture, const std::string& tub, const std::string& code,
                const Placement& placement, double tolerance)
{
    const auto labels = found(picture);
    ASSERT_EQ(ids(labels), tub) << code;
    EXPECT_LT(cornerError(labels[0], codeCorners(code, [&](cv::Point2d m) { return placement.seen(m); })),
              tolerance)
        << code;
    EXPECT_EQ(labels[0].qr_side_mm, LabelSettings{}.qr_side_mm);  // a bare id: size from the settings
}

struct Fixture {
    const char *code, *tub;
};
class AnotherGenerator : public testing::TestWithParam<Fixture> {};

TEST_P(AnotherGenerator, IsReadFlat)
{
    const Flat flat{{200.3, 180.6}, 5, 7};
    cv::Mat picture = emptyPicture(400, 360);
    lay(picture, GetParam().code, flat);
    expectRead(picture, GetParam().tub, GetParam().code, flat, kFlatTolerance);
}

TEST_P(AnotherGenerator, IsReadBentRoundATub)
{
    // A 21 mm code on a quart: radius of the wall / side of the code = 52 / 21.
    const double modules = codeOnPaper(GetParam().code).cols - 8;
    const Bent bent{{250, 100}, 130 / modules, modules * 52 / 21, 20, 15};
    cv::Mat picture = emptyPicture(500, 400);
    lay(picture, GetParam().code, bent);
    expectRead(noisy(picture, 4), GetParam().tub, GetParam().code, bent, kBentTolerance);
}

INSTANTIATE_TEST_SUITE_P(
    AllLevels, AnotherGenerator,
    testing::Values(Fixture{"level-l-version-1", "T01"}, Fixture{"level-m-version-1", "T02"},
                    Fixture{"level-q-version-2", "T03"}, Fixture{"level-h-version-3", "Bench 2, tray 7"},
                    Fixture{"level-m-version-5", "Hardwood cuttings by the north window, shelf 3"},
                    Fixture{"umlaut", "S\u00fcd-3"}),
    [](const auto& fixture) {
        std::string name = fixture.param.code;
        std::replace(name.begin(), name.end(), '-', '_');
        return name;
    });

TEST(Labels, AreReadHoweverTurned)
{
    for (int turn = 0; turn < 360; turn += 24) {
        SCOPED_TRACE(turn);
        const Flat flat{{120, 120}, 4.3, static_cast<double>(turn)};
        cv::Mat picture = emptyPicture(240, 240);
        lay(picture, "level-l-version-1", flat);
        expectRead(noisy(picture, 3), "T01", "level-l-version-1", flat, kBentTolerance);
    }
}

TEST(Labels, AreReadAnywhereOnTheFrontOfATub)
{
    for (const double turn : {-45.0, -25.0, 0.0, 25.0, 45.0}) {
        SCOPED_TRACE(turn);
        const Bent bent{{280, 40}, 5, 52, turn, 20};
        cv::Mat picture = emptyPicture(560, 300);
        lay(picture, "level-m-version-1", bent);
        expectRead(noisy(picture, 5), "T02", "level-m-version-1", bent, kBentTolerance);
    }
}

TEST(Labels, AreReadWhenBlurred)
{
    const Flat flat{{150, 150}, 6, 12};
    cv::Mat picture = emptyPicture(300, 300);
    lay(picture, "level-m-version-1", flat);
    cv::GaussianBlur(picture, picture, {}, 3);  // half a module
    expectRead(noisy(picture, 2), "T02", "level-m-version-1", flat, kBentTolerance);
}

TEST(Labels, AreReadAtTwoPixelsAModule)
{
    const Flat flat{{60, 60}, 2, -8};
    cv::Mat picture = emptyPicture(120, 120);
    lay(picture, "level-m-version-1", flat);
    expectRead(noisy(picture, 4), "T02", "level-m-version-1", flat, kBentTolerance);
}

TEST(Labels, AreReadInALargePhoto)
{
    const Flat flat{{1900, 1300}, 17, 5};
    cv::Mat picture = emptyPicture(4000, 3000);
    cv::Mat part = picture(cv::Rect(1400, 800, 1000, 1000));
    lay(part, "level-m-version-1", Flat{{500, 500}, 17, 5});
    expectRead(noisy(picture, 6), "T02", "level-m-version-1", flat, kBentTolerance);
}

TEST(Labels, AreReadInDimUnevenLight)
{
    const Flat flat{{150, 150}, 5, 10};
    cv::Mat picture = emptyPicture(300, 300);
    lay(picture, "level-m-version-1", flat);
    for (int x = 0; x < picture.cols; ++x) picture.col(x) *= 0.15 + 0.6 * x / picture.cols;
    expectRead(noisy(picture, 2), "T02", "level-m-version-1", flat, kBentTolerance);
}

TEST(Labels, AreAllFoundWhenSeveralTubsAreInOnePhoto)
{
    cv::Mat picture = emptyPicture(900, 500);
    lay(picture, "level-m-version-1", Bent{{620, 60}, 5, 52, 10, 15});
    lay(picture, "level-l-version-1", Bent{{250, 60}, 3, 52, -10, 15});
    lay(picture, "level-q-version-2", Flat{{420, 380}, 5, 3});
    EXPECT_EQ(ids(found(noisy(picture, 4))), "T01,T02,T03");
}

TEST(Labels, OfTheSameTubAreBothReported)
{
    cv::Mat picture = emptyPicture(500, 250);
    lay(picture, "level-l-version-1", Flat{{120, 120}, 5, 0});
    lay(picture, "level-l-version-1", Flat{{370, 120}, 5, 4});
    const auto labels = found(picture);
    ASSERT_EQ(ids(labels), "T01,T01");
    EXPECT_NEAR(std::abs(labels[0].corners[0].x - labels[1].corners[0].x), 250, 10);
}

TEST(Labels, AreNotCodesOnBoughtPackages)
{
    cv::Mat picture = emptyPicture(500, 250);
    lay(picture, "level-l-version-1", Flat{{120, 120}, 5, 0});
    lay(picture, "address", Flat{{370, 120}, 5, 4});
    EXPECT_EQ(ids(found(picture)), "T01");
}

TEST(Labels, AreNotFoundWhereThereAreNone)
{
    EXPECT_TRUE(found(emptyPicture(900, 1200)).empty());
    EXPECT_TRUE(found(noisy(emptyPicture(600, 600), 60)).empty());
    EXPECT_TRUE(found(emptyPicture(1, 1)).empty());
    EXPECT_TRUE(found(emptyPicture(3, 2000)).empty());
    EXPECT_TRUE(findLabels(cv::Mat(0, 0, CV_8UC3), LabelSettings{}).empty());
}

TEST(Labels, ThatAreKnownToBeThereAreEnough)
{
    // One that can be read in a picture of half the size, and one that cannot.
    cv::Mat picture = emptyPicture(1400, 700);
    lay(picture, "level-l-version-1", Flat{{350, 350}, 9, 0});
    lay(picture, "level-m-version-1", Flat{{1100, 350}, 2.2, 4});
    cv::Mat bgr;
    cv::cvtColor(picture, bgr, cv::COLOR_GRAY2BGR);
    const auto read = [&](const std::vector<std::string>& tubs) {
        return ids(findLabels(bgr, LabelSettings{}, true, tubs));
    };
    EXPECT_EQ(read({}), "T01,T02");
    EXPECT_EQ(read({"T01"}), "T01");
    EXPECT_EQ(read({"T02"}), "T01,T02");
    EXPECT_EQ(read({"T02", "T01"}), "T01,T02");
    EXPECT_EQ(read({"another"}), "T01,T02");
}

TEST(Labels, CutOffByThePicturesEdgeAreNotFound)
{
    cv::Mat picture = emptyPicture(300, 300);
    lay(picture, "level-m-version-1", Flat{{270, 150}, 5, 0});
    EXPECT_TRUE(found(picture).empty());
}

TEST(Labels, AreFoundTheSameEveryTime)
{
    cv::Mat picture = emptyPicture(500, 300);
    lay(picture, "level-m-version-1", Bent{{250, 60}, 4, 52, 30, 15});
    picture = noisy(picture, 8);
    const auto first = found(picture);
    const auto second = found(picture);
    ASSERT_EQ(first.size(), 1U);
    ASSERT_EQ(second.size(), 1U);
    EXPECT_EQ(first[0].corners, second[0].corners);  // to the last bit
}

// Source: rendered scenes with the renderer's own corners (tests/data/labels/README.md).
TEST(Labels, OnRenderedTubsAreReadWithGoodCorners)
{
    std::ifstream csv(kLabels + "scene-corners.csv");
    std::string line;
    std::getline(csv, line);
    int pictures = 0;
    for (; std::getline(csv, line); ++pictures) {
        std::stringstream row(line);
        std::string picture, tub, number;
        std::getline(row, picture, ',');
        std::getline(row, tub, ',');
        std::array<cv::Point2d, 4> truth;
        for (auto& corner : truth) {
            std::getline(row, number, ',');
            corner.x = std::stod(number);
            std::getline(row, number, ',');
            corner.y = std::stod(number);
        }
        const auto labels = findLabels(cv::imread(kLabels + picture), LabelSettings{});
        ASSERT_EQ(ids(labels), tub) << picture;
        EXPECT_LT(cornerError(labels[0], truth), kBentTolerance) << picture;
    }
    EXPECT_EQ(pictures, 4);
}

TEST(LabelText, HoldsTheIdAndTheSide)
{
    EXPECT_EQ(labelText("T01", 21), "T01#21mm");
    EXPECT_EQ(labelText("T01", 12.5), "T01#12.5mm");
    EXPECT_EQ(labelText("T01", 33.333), "T01#33.33mm");
}

TEST(LabelText, IsReadBack)
{
    for (const char* tub : {"T01", "Bench 2, tray 7", "a#b", "a#5mm", "S\u00fcd-3"})
        for (const double side : {5.0, 12.25, 21.0, 33.33}) {
            const auto payload = parseLabelText(labelText(tub, side));
            ASSERT_TRUE(payload);
            EXPECT_EQ(payload->tub, tub);
            EXPECT_EQ(payload->qr_side_mm, side);
        }
}

TEST(LabelText, OfABareIdHasNoSide)
{
    for (const char* text :
         {"T01", "T#1", "T#mm", "T#-5mm", "T#0mm", "T#1e3mm", "T#nanmm", "T#5 mm", "5mm"}) {
        const auto payload = parseLabelText(text);
        ASSERT_TRUE(payload) << text;
        EXPECT_EQ(payload->tub, text);
        EXPECT_FALSE(payload->qr_side_mm) << text;
    }
}

TEST(LabelText, IsNoTubWhenItCannotBeAnId)
{
    EXPECT_FALSE(parseLabelText(""));
    EXPECT_FALSE(parseLabelText("#21mm"));
    EXPECT_FALSE(parseLabelText("T01\nT02"));
    EXPECT_FALSE(parseLabelText("https://example.org/p/1"));
    EXPECT_FALSE(parseLabelText(std::string(65, 'T')));
    EXPECT_TRUE(parseLabelText(std::string(64, 'T')));
    EXPECT_TRUE(parseLabelText(std::string(64, 'T') + "#21mm"));
}

}  // namespace
}  // namespace slipglass
