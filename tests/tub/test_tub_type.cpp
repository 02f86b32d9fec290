#include <gtest/gtest.h>

#include <numbers>
#include <string>
#include <vector>

#include "slipglass/error.h"
#include "slipglass/tub/tub_type.h"

namespace slipglass {
namespace {

// Source: NIST Handbook 44, Appendix C: gallon = 231 in3, inch = 2.54 cm exactly; quart = gallon / 4.
constexpr double kUsGallonMl = 231 * 2.54 * 2.54 * 2.54;
constexpr double kUsQuartMl = kUsGallonMl / 4;
// A trade name is not a measure: to the brim a tub must hold at least its nominal volume, and it holds more,
// since the lid's seat and some headspace come on top (common practice). A quarter more is generous; the
// limit catches a diameter taken for a radius, a tub measured in inches, or a pint or half-gallon under the
// wrong name.
constexpr double kMostOverNominal = 1.25;

TEST(TubTypes, AQuartHoldsAUsQuartAndSomeHeadspace)
{
    const double volume = tubType("quart", {}).volumeMl();
    EXPECT_GE(volume, kUsQuartMl);
    EXPECT_LE(volume, kUsQuartMl * kMostOverNominal);
}

TEST(TubTypes, AGallonHoldsAUsGallonAndSomeHeadspace)
{
    const double volume = tubType("gallon", {}).volumeMl();
    EXPECT_GE(volume, kUsGallonMl);
    EXPECT_LE(volume, kUsGallonMl * kMostOverNominal);
}

TEST(TubTypes, AStraightTubHasACylindersVolume)
{
    // By construction: inner radius 50, inner height 100 mm. Tolerance: rounding of doubles.
    const TubType pipe{"pipe", 102, 102, 101, 1};
    EXPECT_NEAR(pipe.volumeMl(), std::numbers::pi * 50 * 50 * 100 / 1000, 1e-9);
}

TEST(TubTypes, AUsersTypeOfAShippedNameWins)
{
    const std::vector<TubType> own = {{"quart", 110, 95, 130, 0.7}};
    EXPECT_EQ(tubType("quart", own).rim_diameter_mm, 110);
    EXPECT_EQ(tubType("gallon", own).rim_diameter_mm, 192);
}

TEST(TubTypes, AnUnknownNameGetsTheNearestKnownOne)
{
    try {
        tubType("galon", {});
        FAIL() << "nothing thrown";
    } catch (const Error& error) {
        EXPECT_STREQ(error.what(), "tub type \"galon\": is not known. Perhaps \"gallon\" is meant.");
    }
}

std::string complaint(const std::string& json)
{
    try {
        readTubTypes(json, "settings.json");
    } catch (const Error& error) {
        return error.what();
    }
    return "no complaint";
}

TEST(TubTypes, AreReadFromSettings)
{
    const auto types = readTubTypes(R"({"tub_types": [
        {"name": "pint", "rim_diameter_mm": 117, "base_diameter_mm": 95, "height_mm": 75},
        {"name": "box", "rim_diameter_mm": 200, "base_diameter_mm": 180.5, "height_mm": 90, "wall_mm": 1.2}]})",
                                    "settings.json");
    ASSERT_EQ(types.size(), 2U);
    EXPECT_EQ(types[0].name, "pint");
    EXPECT_EQ(types[0].wall_mm, 0.8);
    EXPECT_EQ(types[1].base_diameter_mm, 180.5);
    EXPECT_EQ(types[1].wall_mm, 1.2);
}

TEST(TubTypes, AreNoneWhenSettingsNameNone)
{
    EXPECT_TRUE(readTubTypes("{}", "settings.json").empty());
}

TEST(TubTypes, AreRefusedWhenTheSizeIsNoTub)
{
    EXPECT_EQ(
        complaint(R"({"tub_types": [{"name": "x", "rim_diameter_mm": 90, "base_diameter_mm": 117,
                        "height_mm": 140}]})"),
        "settings.json: tub type \"x\": the base is wider than the rim. Swap the two diameters, or measure "
        "again.");
    EXPECT_NE(complaint(R"({"tub_types": [{"name": "x", "rim_diameter_mm": 117, "base_diameter_mm": 90,
                        "height_mm": -1}]})")
                  .find("a size is not above 0"),
              std::string::npos);
    EXPECT_NE(complaint(R"({"tub_types": [{"name": "x", "rim_diameter_mm": 11.7, "base_diameter_mm": 9.0,
                        "height_mm": 14}]})")
                  .find("outside 20..1000 mm"),
              std::string::npos);
    EXPECT_NE(complaint(R"({"tub_types": [{"name": "x", "rim_diameter_mm": 117, "base_diameter_mm": 90,
                        "height_mm": 140, "wall_mm": 45}]})")
                  .find("the wall is thicker than the tub"),
              std::string::npos);
}

TEST(TubTypes, AreRefusedWhenMisspeltTwiceGivenOrIncomplete)
{
    const std::string pint =
        R"({"name": "pint", "rim_diameter_mm": 117, "base_diameter_mm": 95, "height_mm": 75})";
    EXPECT_NE(complaint(R"({"tub_types": [)" + pint + "," + pint + "]}").find("is given twice"),
              std::string::npos);
    EXPECT_NE(complaint(R"({"tub_types": [{"name": "x", "rim_mm": 117}]})").find("unknown key \"rim_mm\""),
              std::string::npos);
    EXPECT_NE(complaint(R"({"tub_types": [{"name": "x", "rim_diameter_mm": "117"}]})")
                  .find("has no number \"rim_diameter_mm\""),
              std::string::npos);
    EXPECT_NE(complaint(R"({"tub_types": {}})").find("is not a list"), std::string::npos);
}

}  // namespace
}  // namespace slipglass
