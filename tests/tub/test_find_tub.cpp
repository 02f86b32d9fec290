#include "slipglass/tub/find_tub.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>
#include <string>

#include "../support/drawn_tub.h"
#include "../support/sample_pose.h"
#include "slipglass/photo/read_photo.h"

namespace slipglass {
namespace {

namespace fs = std::filesystem;
using test::DrawnTub;
using test::kDegree;
using test::Table;

TubQuery queryFor(const cv::Mat& bgr, std::optional<TubType> type = std::nullopt)
{
    return {bgr, bgr.size(), 28.0, std::move(type), std::nullopt};
}

// Tolerances. Scale: a length errs by as much, so by a third of the tenth that root lengths fall short by
// anyway (docs/measured/agreement.md); 2.6 % is reached looking down by 15 degrees, 1.6 % by all others. A
// place within 1.5 mm keeps a level within its 90 % interval (1.5 reached). A roll within 1 degree tips a
// level line by less than 1 mm over a tub's half width (0.5 reached). Pitch only matters through those (0.8
// reached). Surface: a few grains; 0.7 mm too low to 3 too high is reached. Looked down on, the medium's own
// top shows over it, and its far edge must not be taken for its near one: at 22 degrees that is 18 mm too
// high.
void expectFound(const DrawnTub& drawn, const cv::Mat& picture, double scale_tolerance = 0.03)
{
    const TubFinding finding = findTub(queryFor(picture, test::drawnType()), TubSettings{});
    ASSERT_TRUE(finding.tub) << finding.reason;
    const Pose& found = finding.tub->pose;
    const View ours(found), truth(drawn.pose);
    const double px_per_mm = truth.pxPerUnit(drawn.surface_mm / 2);
    EXPECT_TRUE(finding.tub->in_mm);
    EXPECT_NEAR(ours.pxPerUnit(drawn.surface_mm / 2) / px_per_mm, 1, scale_tolerance);
    EXPECT_NEAR(found.roll / kDegree, drawn.pose.roll / kDegree, 1);
    EXPECT_NEAR(found.pitch / kDegree, drawn.pose.pitch / kDegree, 1.5);
    for (const double z : {5.0, drawn.surface_mm / 2}) {
        const PhotoPoint a = ours.photoFromWall({0, z}), b = truth.photoFromWall({0, z});
        EXPECT_LT(std::hypot(a.x_px - b.x_px, a.y_px - b.y_px) / px_per_mm, 1.5) << "at height " << z;
    }
    EXPECT_NEAR(finding.tub->surfaceMean(), drawn.surface_mm, 3);
}

void expectFound(const DrawnTub& drawn)
{
    expectFound(drawn, test::drawTub(drawn));
}

DrawnTub drawnAt(double pitch_deg, double roll_deg = 0, double px_per_mm = 4.4, double across_px = 0)
{
    DrawnTub drawn;
    drawn.pose = test::standing(pitch_deg, roll_deg, px_per_mm, across_px);
    return drawn;
}

class FindTubFromAbove : public testing::TestWithParam<double> {};
TEST_P(FindTubFromAbove, FindsTheTub)
{
    expectFound(drawnAt(GetParam()));
}
INSTANTIATE_TEST_SUITE_P(Pitches, FindTubFromAbove, testing::Values(2.0, 8.0, 15.0, 22.0));

// Steeper than the rest: the foot's curve and the medium's top outweigh the short sides. 5 %: what is
// reached.
TEST(FindTub, FindsATubSeenFromFarAbove)
{
    const DrawnTub drawn = drawnAt(30);
    const TubFinding finding = findTub(queryFor(test::drawTub(drawn), test::drawnType()), TubSettings{});
    ASSERT_TRUE(finding.tub) << finding.reason;
    EXPECT_NEAR(View(finding.tub->pose).pxPerUnit(56) / View(drawn.pose).pxPerUnit(56), 1, 0.05);
}

TEST(FindTub, FindsALeaningTub)
{
    for (const double roll : {6.0, -6.0, 10.0, -10.0}) {
        SCOPED_TRACE(roll);
        expectFound(drawnAt(10, roll));
    }
}

TEST(FindTub, FindsASmallTubOffTheMiddle)
{
    DrawnTub drawn = drawnAt(8, 2, 2.8, -190);
    drawn.surface_mm = 100;
    expectFound(drawn);
}

TEST(FindTub, FindsATubOnAWoodenTable)
{
    DrawnTub drawn = drawnAt(12, 1, 4.2, 60);
    drawn.table = Table::wood;
    expectFound(drawn);
}

TEST(FindTub, FindsATubOnACloth)
{
    DrawnTub drawn = drawnAt(12, -2);
    drawn.table = Table::cloth;
    expectFound(drawn);
}

TEST(FindTub, FindsATubInAPoorPicture)
{
    const DrawnTub drawn = drawnAt(9, 1);
    cv::Mat blurred;
    cv::GaussianBlur(test::drawTub(drawn), blurred, {}, 2);
    expectFound(drawn, blurred);
    DrawnTub dark = drawn;
    dark.light = 0.35;
    expectFound(dark);
}

// A fifth of the foot's width is outside the picture, on either side.
TEST(FindTub, FindsATubOfWhichASideIsCutOff)
{
    for (const double across_px : {220.0, -220.0}) {
        SCOPED_TRACE(across_px);
        expectFound(drawnAt(9, 0, 4.4, across_px));
    }
}

// An eighth of the tub, its foot, is under the picture's edge: the rim of a known type tells where it is.
TEST(FindTub, FindsAKnownTubOfWhichTheFootIsCutOff)
{
    DrawnTub drawn = drawnAt(9);
    drawn.pose = test::standing(9, 0, 4.4, 0, 520);
    expectFound(drawn);
    EXPECT_TRUE(findTub(queryFor(test::drawTub(drawn), test::drawnType()), {}).tub->base_known);
}

// Without its type nobody knows how high it stands, but the wall that is seen can be placed by its label.
TEST(FindTub, PlacesTheWallOfATubOfWhichTheFootIsCutOffAndSaysThatHeightsAreGuessed)
{
    DrawnTub drawn = drawnAt(9);
    drawn.pose = test::standing(9, 0, 4.4, 0, 520);
    TubQuery query = queryFor(test::drawTub(drawn));
    query.label = test::labelOn(drawn, 21, 21);
    const TubFinding finding = findTub(query, {});
    ASSERT_TRUE(finding.tub) << finding.reason;
    EXPECT_FALSE(finding.tub->base_known);
    EXPECT_TRUE(finding.tub->in_mm);
    const View ours(finding.tub->pose), truth(drawn.pose);
    // The base is where it cannot be seen.
    EXPECT_GT(ours.photoFromWall({0, 0}).y_px, query.full_size.height - 1);
    // Scale, and where the sides run, halfway up; tolerance as above.
    const PhotoPoint middle = truth.photoFromWall({0, drawn.surface_mm / 2});
    const auto place = ours.wallFromPhoto(middle);
    ASSERT_TRUE(place);
    EXPECT_NEAR(ours.pxPerUnit(place->z) / truth.pxPerUnit(drawn.surface_mm / 2), 1, 0.03);
    EXPECT_NEAR(place->angle, 0, 0.03);
    EXPECT_NEAR(ours.grazingAngle(), truth.grazingAngle(), 0.05);
}

// A seventh of the tub, its rim, is over the picture's edge.
TEST(FindTub, FindsATubOfWhichTheRimIsCutOff)
{
    DrawnTub drawn = drawnAt(9);
    drawn.pose = test::standing(9, 0, 4.4, 0, 120);
    expectFound(drawn);
    EXPECT_TRUE(findTub(queryFor(test::drawTub(drawn)), {}).tub);
}

// Two tubs beside each other: without a label the one in the middle of the picture.
TEST(FindTub, FindsTheTubInTheMiddleOfARow)
{
    const cv::Mat alone = test::drawTub(drawnAt(9, 0, 2.6));
    DrawnTub beside = drawnAt(9, 0, 2.6, 330);
    beside.texture = test::grainTexture(7);
    cv::Mat row = test::drawTub(beside);
    cv::Mat(alone, cv::Rect(0, 0, 615, 1200)).copyTo(cv::Mat(row, cv::Rect(0, 0, 615, 1200)));
    expectFound(drawnAt(9, 0, 2.6), row);
}

// Three tubs of one photo, each asked for by its own label: neighbours that the map shows too are left out.
TEST(FindTub, FindsTheLabelledTubOfARow)
{
    cv::Mat row;
    std::vector<DrawnTub> drawn;
    for (const double across_px : {-300.0, 0.0, 300.0}) {
        drawn.push_back(drawnAt(9, 0, 1.9, across_px));
        drawn.back().texture = test::grainTexture(5 + static_cast<int>(drawn.size()));
        const cv::Mat alone = test::drawTub(drawn.back());
        if (row.empty()) row = alone.clone();
        const cv::Rect third(cvRound((drawn.size() - 1) * alone.cols / 3.0), 0, alone.cols / 3, alone.rows);
        alone(third).copyTo(row(third));
    }
    for (const DrawnTub& asked : drawn) {
        const View view(asked.pose);
        const Label label = test::labelOn(asked, 21, 21);
        SCOPED_TRACE(label.corners[0].x_px);
        TubQuery query = queryFor(row, test::drawnType());
        query.label = label;
        const TubFinding finding = findTub(query, {});
        ASSERT_TRUE(finding.tub) << finding.reason;
        const PhotoPoint ours = View(finding.tub->pose).photoFromWall({0, 0}),
                         real = view.photoFromWall({0, 0});
        EXPECT_LT(std::hypot(ours.x_px - real.x_px, ours.y_px - real.y_px), 3 * 1.9);
        EXPECT_NEAR(View(finding.tub->pose).pxPerUnit(56) / view.pxPerUnit(56), 1, 0.04);
    }
}

TEST(FindTub, KnowsNoMillimetresWithoutATypeOrALabel)
{
    const DrawnTub drawn = drawnAt(9);
    const TubFinding finding = findTub(queryFor(test::drawTub(drawn)), TubSettings{});
    ASSERT_TRUE(finding.tub) << finding.reason;
    EXPECT_FALSE(finding.tub->in_mm);
}

TEST(FindTub, FindsTheSameTubTwice)
{
    const cv::Mat picture = test::drawTub(drawnAt(9));
    const TubFinding one = findTub(queryFor(picture), {}), two = findTub(queryFor(picture), {});
    ASSERT_TRUE(one.tub && two.tub);
    EXPECT_EQ(one.tub->pose.base, two.tub->pose.base);
    EXPECT_EQ(one.tub->pose.pitch, two.tub->pose.pitch);
    EXPECT_EQ(one.tub->surface_z, two.tub->surface_z);
}

double medianOf(std::vector<double> figures)
{
    std::nth_element(figures.begin(), figures.begin() + figures.size() / 2, figures.end());
    return figures[figures.size() / 2];
}

// Source: the samples' renderer. Bands lie round what is reached: scale 0.28 % off in the median and 1.6 % at
// worst, the foot of the wall 0.23 and 1.1 mm, roll 0.4 degrees. To half and twice as much in the median,
// less than a map trained anew has changed it by (docs/measured/tub.md: four times, foot). The worst may be a
// third worse.
TEST(FindTub, FindsTheTubsOfAllSamples)
{
    std::vector<double> scale_errors, place_errors;
    for (const std::string& stem : test::sampleStems()) {
        SCOPED_TRACE(stem);
        const auto truth = test::sampleTruth(stem);
        const PhotoFacts facts = readFacts(test::samplePhoto(stem));
        const Picture picture = readPicture(test::samplePhoto(stem), facts, 1200);
        const TubFinding finding = findTub(
            {picture.bgr, picture.full_size, facts.focal_35mm, tubType(truth["tub_type"], {}), std::nullopt},
            {});
        ASSERT_TRUE(finding.tub) << finding.reason;
        const Pose real = test::poseOfTruth(truth);
        const View ours(finding.tub->pose), theirs(real);
        const double middle = truth["medium_surface_mm"].get<double>() / 2;
        const double px_per_mm = theirs.pxPerUnit(middle);
        scale_errors.push_back(std::abs(ours.pxPerUnit(middle) / px_per_mm - 1));
        EXPECT_LT(scale_errors.back(), 0.021);
        const PhotoPoint a = ours.photoFromWall({0, 0}), b = theirs.photoFromWall({0, 0});
        place_errors.push_back(std::hypot(a.x_px - b.x_px, a.y_px - b.y_px) / px_per_mm);
        EXPECT_LT(place_errors.back(), 1.5);
        EXPECT_NEAR(finding.tub->pose.roll / kDegree, real.roll / kDegree, 0.55);
    }
    EXPECT_GT(medianOf(scale_errors), 0.0014);
    EXPECT_LT(medianOf(scale_errors), 0.0056);
    EXPECT_GT(medianOf(place_errors), 0.11);
    EXPECT_LT(medianOf(place_errors), 0.46);
}

void expectRefused(const cv::Mat& bgr, const std::string& what)
{
    for (const std::optional<TubType>& type :
         {std::optional<TubType>{}, std::optional<TubType>{shippedTubTypes().front()}}) {
        const TubFinding finding = findTub(queryFor(bgr, type), {});
        EXPECT_FALSE(finding.tub) << what << (type ? ", type given" : "");
        EXPECT_FALSE(finding.reason.empty()) << what;
        EXPECT_FALSE(finding.remedy.empty()) << what;
    }
}

// Source: tests/data/negative-controls/ATTRIBUTION.md, real photographs of anything but tubs.
TEST(FindTub, RefusesPhotographsOfOtherThings)
{
    int pictures = 0;
    for (const auto& entry : fs::directory_iterator(fs::path(SLIPGLASS_TEST_DATA) / "negative-controls")) {
        if (entry.path().extension() != ".jpg") continue;
        ++pictures;
        const cv::Mat whole = cv::imread(entry.path().string());
        expectRefused(whole, entry.path().filename().string());
        cv::Mat large, upright;
        cv::resize(whole, large, {}, 2.5, 2.5);
        expectRefused(large, entry.path().filename().string() + ", enlarged");
    }
    EXPECT_EQ(pictures, 12);
}

TEST(FindTub, RefusesAnEmptyTub)
{
    DrawnTub drawn = drawnAt(8);
    drawn.filled = false;
    expectRefused(test::drawTub(drawn), "an empty clear tub");
    drawn.table = Table::wood;
    expectRefused(test::drawTub(drawn), "an empty clear tub on wood");
}

TEST(FindTub, RefusesPicturesOfNothing)
{
    for (const cv::Size size : {cv::Size(1, 1), cv::Size(20, 20), cv::Size(900, 1200), cv::Size(3000, 8),
                                cv::Size(8, 3000), cv::Size(2, 1)})
        for (const int level : {0, 128, 255})
            expectRefused(cv::Mat(size, CV_8UC3, cv::Scalar::all(level)),
                          std::to_string(size.width) + "x" + std::to_string(size.height));
}

TEST(FindTub, RefusesNoise)
{
    cv::RNG random(5);
    for (const cv::Size size : {cv::Size(900, 1200), cv::Size(40, 40), cv::Size(4000, 10)}) {
        cv::Mat noise(size, CV_8UC3);
        random.fill(noise, cv::RNG::UNIFORM, 0, 256);
        expectRefused(noise, "noise " + std::to_string(size.width) + "x" + std::to_string(size.height));
    }
}

// A heap: texture that widens towards the table, as no tub does.
TEST(FindTub, RefusesAHeapOfMedium)
{
    DrawnTub heap = drawnAt(4);
    heap.pose.cone.slope = -0.25;
    heap.pose.cone.base_radius = 62;
    expectRefused(test::drawTub(heap), "a heap");
}

TEST(FindTub, InterpolatesTheSurfaceAndHoldsItsEnds)
{
    Tub tub;
    EXPECT_EQ(tub.surfaceAt(0), 0);
    tub.surface_angles = {-1, 0, 1};
    tub.surface_z = {100, 110, 90};
    EXPECT_DOUBLE_EQ(tub.surfaceAt(-2), 100);
    EXPECT_DOUBLE_EQ(tub.surfaceAt(-0.5), 105);
    EXPECT_DOUBLE_EQ(tub.surfaceAt(0.25), 105);
    EXPECT_DOUBLE_EQ(tub.surfaceAt(3), 90);
    EXPECT_DOUBLE_EQ(tub.surfaceMean(), 100);
}

}  // namespace
}  // namespace slipglass
