#include "slipglass/water/fog.h"

#include <gtest/gtest.h>

#include <limits>
#include <opencv2/imgproc.hpp>

#include "../support/drawn_panel.h"
#include "slipglass/panel/colour.h"
#include "through_plastic.h"

namespace slipglass {
namespace {

// CIE 15: the lightness of half and of a quarter of the luminance of L* 80.
constexpr double kWhite = 80, kHalfOfWhite = 60.2, kQuarterOfWhite = 44.5;

/// A wall as it was drawn: the place of every photo of these tests.
Panel drawnWall()
{
    test::DrawnTub drawn;
    drawn.pose = test::standing(6, 1, 4.6);
    return test::panelOf(drawn);
}

struct Photo {
    Panel panel;
    std::optional<double> white = kWhite;
    std::optional<double> water_level_mm = std::nullopt;
};

/// @param turned_mm  the tub stands turned by so much against its first photo.
WallFog fogOn(const Photo& photo, double turned_mm = 0)
{
    cv::Mat lightness;
    cv::extractChannel(labFromBgr(photo.panel.bgr), lightness, 0);
    Drift to_reference{lightness.size(), {}, {}};
    to_reference.x[0] = turned_mm / photo.panel.unit_per_px;
    const cv::Mat no_roots = cv::Mat::zeros(lightness.size(), CV_8U);
    return fogOnReference(lightness, photo.panel, veilByColumns(lightness, photo.panel), no_roots,
                          photo.water_level_mm, photo.white, to_reference, lightness.size());
}

/// Where it is not known, no number: that is neither less nor more than any.
std::vector<double> shares(const std::vector<Photo>& photos)
{
    std::vector<WallFog> fogs;
    for (const Photo& photo : photos) fogs.push_back(fogOn(photo));
    std::vector<double> all;
    const auto condensation = condensationOf(fogs);
    EXPECT_EQ(condensation.size(), photos.size());
    for (const auto& share : condensation)
        all.push_back(share.value_or(std::numeric_limits<double>::quiet_NaN()));
    return all;
}

/// The wall under fog that lets that share of the grains' light pass and adds a pale grey of its own.
Panel fogged(const Panel& panel, double passes)
{
    Panel hazy = panel;
    hazy.bgr = panel.bgr.clone();
    test::throughPlastic(hazy.bgr, passes, 0.15 * (1 - passes));
    return hazy;
}

Panel lit(const Panel& panel, double times)
{
    Panel other = panel;
    other.bgr = panel.bgr.clone();
    test::throughPlastic(other.bgr, times, 0);
    return other;
}

TEST(Fog, IsSeenOverTheWholeWallWhereTheTubsOtherPhotosAreClear)
{
    const Panel clear = drawnWall();
    const Panel whole = fogged(clear, 0.4);
    EXPECT_LT(shares({{whole}})[0], 5) << "by itself it cannot be told";
    for (const std::vector<Photo>& photos : {std::vector<Photo>{{whole}, {clear}},
                                             {{whole}, {clear}, {clear}},
                                             {{whole}, {clear}, {clear}, {clear}}}) {
        const auto share = shares(photos);
        EXPECT_GT(share[0], 95) << photos.size();
        for (size_t i = 1; i < share.size(); ++i) EXPECT_LT(share[i], 5) << photos.size();
    }
    const auto both = shares({{clear}, {clear}, {whole}, {whole}, {clear}});
    EXPECT_GT(both[2], 95);
    EXPECT_GT(both[3], 95);
}

TEST(Fog, IsCountedByItsShareOfTheWall)
{
    const Panel clear = drawnWall();
    Panel part = clear;
    part.bgr = clear.bgr.clone();
    const cv::Rect left(0, 0, clear.bgr.cols / 2, clear.bgr.rows);
    fogged(clear, 0.4).bgr(left).copyTo(part.bgr(left));
    const double share = 100.0 * cv::countNonZero(clear.frontal(left)) / cv::countNonZero(clear.frontal);
    EXPECT_NEAR(shares({{clear}, {part}, {clear}})[1], share, 8) << "half a place on each side";
}

// Half of the light on grains and white alike is exposure.
TEST(Fog, IsNotSeenInAnotherExposure)
{
    const Panel clear = drawnWall();
    for (const double share :
         shares({{clear}, {lit(clear, 0.5), kHalfOfWhite}, {lit(clear, 0.25), kQuarterOfWhite}}))
        EXPECT_LT(share, 5);
}

// Wetting halves the light of the grains, of the pores too.
TEST(Fog, IsNotSeenOnMediumThatDriesOrIsWetted)
{
    const Panel wet = lit(drawnWall(), 0.7), dry = lit(drawnWall(), 1.4);
    for (const double share : shares({{wet}, {dry}, {wet}})) EXPECT_LT(share, 5);
    for (const double share : shares({{dry}, {wet}, {dry}})) EXPECT_LT(share, 5);
}

// A window mirrored over all of the wall: the plastic's few percent of bright light (from memory: Fresnel, 4
// % a surface).
TEST(Fog, IsNotSeenInAMirroredWindow)
{
    const Panel clear = drawnWall();
    Panel mirrored = clear;
    mirrored.bgr = clear.bgr.clone();
    test::throughPlastic(mirrored.bgr, 1, 0.08);
    for (const double share : shares({{clear}, {mirrored}, {clear}})) EXPECT_LT(share, 5);
}

// As much out of focus as a photo may be: a disc of 1.2 mm has a standard deviation of 0.3 mm.
TEST(Fog, IsNotSeenInABlurredPhoto)
{
    const Panel clear = drawnWall();
    Panel blurred = clear;
    cv::GaussianBlur(clear.bgr, blurred.bgr, {}, 0.3 / clear.unit_per_px);
    for (const double share : shares({{clear}, {blurred}, {clear}})) EXPECT_LT(share, 5);
}

// What it is compared with must have been taken against the same white, and show the medium.
TEST(Fog, IsLeftToEachPhotoWhereNothingCompares)
{
    const Panel clear = drawnWall();
    const Panel whole = fogged(clear, 0.4);
    EXPECT_LT(shares({{whole, std::nullopt}, {clear}})[0], 5) << "no white";
    EXPECT_LT(shares({{whole, 5}, {clear}})[0], 5) << "black";
    EXPECT_LT(shares({{whole}, {clear, kWhite, 500}})[0], 5) << "all under water then";
    const WallFog flooded = fogOn({whole, kWhite, 500});
    EXPECT_FALSE(flooded.places.empty());
    for (const FogPlace& place : flooded.places) EXPECT_FALSE(place.grains);
}

TEST(Fog, IsNotKnownWhereNothingIsVisible)
{
    Panel hidden = drawnWall();
    hidden.frontal.setTo(0);
    EXPECT_FALSE(condensationOf({fogOn({hidden})})[0]);
}

// The tub stands turned by 16 mm, two places: what one photo shows left of a place is compared with it.
TEST(Fog, ComparesPlacesOfTheFirstPanel)
{
    const Panel clear = drawnWall();
    const WallFog here = fogOn({clear}), there = fogOn({clear}, 16);
    ASSERT_EQ(here.columns, there.columns);
    const size_t middle = static_cast<size_t>(here.columns) * (here.places.size() / here.columns / 2) +
                          static_cast<size_t>(here.columns) / 2;
    ASSERT_TRUE(here.places[middle].grains && there.places[middle + 2].grains);
    EXPECT_NEAR(there.places[middle + 2].grains->mean / here.places[middle].grains->mean, 1, 0.05);
    EXPECT_NEAR(there.places[middle + 2].seen, here.places[middle].seen, 0.1 * here.places[middle].seen);
}

}  // namespace
}  // namespace slipglass
