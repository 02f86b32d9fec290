// Truth by construction: evidence laid on a panel as a perfect network would give it for a known surface,
// then hidden, weakened or contradicted.
#include "slipglass/water/water_level.h"

#include <gtest/gtest.h>

#include <cmath>
#include <functional>

#include "made_evidence.h"

namespace slipglass {
namespace {

using test::dry;
using test::hide;
using test::logistic;
using test::poured;
using test::wallPanel;

WaterReading told(const Panel& panel, const WaterEvidence& evidence)
{
    return waterLevel(panel, evidence, 1, {});
}

void expectWithin(const WaterReading& reading, double level_mm)
{
    EXPECT_LE(reading.low.value_or(999), level_mm);
    EXPECT_GE(reading.high.value_or(-999), level_mm);
}

void expectNothingKnown(const WaterReading& reading)
{
    EXPECT_FALSE(reading.level);
    EXPECT_FALSE(reading.low);
    EXPECT_FALSE(reading.high);
    EXPECT_NE(reading.note.find("not known"), std::string::npos) << reading.note;
}

void expectNoWater(const WaterReading& reading)
{
    ASSERT_TRUE(reading.level && reading.low && reading.high) << reading.note;
    EXPECT_EQ(*reading.level, 0);
    EXPECT_EQ(*reading.low, 0);
    EXPECT_GT(*reading.high, 0);
    EXPECT_LT(*reading.high, 2.5);  // a film cannot be told from none
    EXPECT_EQ(reading.note, "");
}

class WaterAtHeight : public testing::TestWithParam<double> {};

// Tolerance: a third of a cell. From a film to the medium's surface.
TEST_P(WaterAtHeight, IsFoundThere)
{
    const Panel panel = wallPanel();
    const WaterReading reading = told(panel, poured(panel, GetParam()));
    ASSERT_TRUE(reading.level) << reading.note;
    EXPECT_NEAR(*reading.level, GetParam(), 0.2);
    expectWithin(reading, GetParam());
    EXPECT_LT(*reading.high - *reading.low, 3);
}
INSTANTIATE_TEST_SUITE_P(Heights, WaterAtHeight, testing::Values(2.5, 3.0, 4.0, 6.1, 12.0, 26.0, 55.0, 95.0));

TEST(WaterLevel, IsZeroWithAnIntervalWhereNoneStands)
{
    const Panel panel = wallPanel();
    expectNoWater(told(panel, dry(panel)));
}

TEST(WaterLevel, SaysSoWhereItStandsAtTheSurface)
{
    const Panel panel = wallPanel();
    EXPECT_EQ(told(panel, poured(panel, 98)).note, "water stands at the medium's surface");
    EXPECT_EQ(told(panel, poured(panel, 80)).note, "");
}

// Of a phone that is rolled or a pose that is off, by a degree or two.
TEST(WaterLevel, FollowsASurfaceThatSlants)
{
    const Panel panel = wallPanel();
    const double radius = panel.inner.cone.radiusAt(18);
    for (const Tilt tilt : {Tilt{0.03, 0}, Tilt{-0.03, 0}, Tilt{0, 0.03}, Tilt{0.02, -0.03}}) {
        const WaterReading reading =
            told(panel, poured(panel, [&](double x) { return 18 + tilt.riseAt(x / radius, radius); }));
        EXPECT_NEAR(reading.level.value_or(-1), 18, 0.3);
        EXPECT_NEAR(reading.tilt.right, tilt.right, 0.011);  // steps of 0.01
        EXPECT_NEAR(reading.tilt.near, tilt.near, 0.025);
    }
}

TEST(WaterLevel, IsFoundBesideALabelThatHidesHalfOfIt)
{
    Panel panel = wallPanel();
    hide(panel, 0, 40, [](double x) { return x < 0 && x > -40; });
    for (const double level : {3.5, 14.0}) {
        const WaterReading reading = told(panel, poured(panel, level));
        EXPECT_NEAR(reading.level.value_or(-1), level, 0.3) << reading.note;
        expectWithin(reading, level);
    }
    expectNoWater(told(panel, dry(panel)));
}

TEST(WaterLevel, TakesNoNoticeOfWhatIsSeenInLabelsOrAtTheVerySides)
{
    Panel panel = wallPanel();
    hide(panel, 20, 60, [](double x) { return std::abs(x) < 25; });
    const double side = 72 * CV_PI / 180 * panel.inner.cone.radiusAt(50);
    WaterEvidence evidence = dry(panel);
    for (int r = 0; r < evidence.below.rows; ++r)
        for (int c = 0; c < evidence.below.cols; ++c) {
            const PanelPoint at = panel.pointAt(4 * c + 1.5, 4 * r + 1.5);
            const bool hidden = at.y > 21 && at.y < 59 && std::abs(at.x) < 24;
            if (hidden || std::abs(at.x) > side) evidence.below.at<float>(r, c) = 0.98F;
        }
    expectNoWater(told(panel, evidence));
}

// Wet below a label that goes round the front, dry above it.
TEST(WaterLevel, HasAnIntervalAloneWhereItsSurfaceIsHidden)
{
    Panel panel = wallPanel();
    hide(panel, 30, 68);
    const WaterReading reading = told(panel, poured(panel, 45));
    EXPECT_FALSE(reading.level);
    EXPECT_NEAR(reading.low.value_or(-1), 30, 1.5);
    EXPECT_NEAR(reading.high.value_or(-1), 68, 1.5);
    EXPECT_NE(reading.note.find("mm"), std::string::npos) << reading.note;
}

TEST(WaterLevel, IsNotKnownWhenTheFootCannotBeSeen)
{
    Panel cut = wallPanel(), mostly = wallPanel(), hidden = wallPanel();
    hide(cut, 0, 6);
    hide(mostly, 0, 6, [](double x) { return x < 25; });
    hide(hidden, 0, 110);
    Panel guessed = wallPanel();
    guessed.base_known = false;
    for (const Panel& panel : {cut, mostly, hidden, guessed})
        for (const WaterEvidence& evidence : {dry(panel), poured(panel, 12)})
            expectNothingKnown(told(panel, evidence));
}

TEST(WaterLevel, IsNotKnownWhereTheTubsPlaceIsInDoubt)
{
    const Panel panel = wallPanel();
    expectNothingKnown(waterLevel(panel, poured(panel, 12), 0.3, {}));
    expectNothingKnown(waterLevel(panel, dry(panel), 0.3, {}));
}

// Ten rows of cells, each of which says so much for water that together they lie between the limits.
TEST(WaterLevel, IsNotKnownWhereAsMuchSpeaksForItAsAgainst)
{
    const Panel panel = wallPanel();
    const WaterSettings settings;
    const double each = (settings.water_support - settings.dry_support) / 2 / 10;
    const WaterReading reading = told(panel, poured(
                                                 panel, [](double) { return 6.0; }, logistic(each), 0));
    EXPECT_FALSE(reading.level);
    EXPECT_EQ(reading.low.value_or(-1), 0);
    EXPECT_GE(reading.high.value_or(-1), 6);
    EXPECT_NE(reading.note.find("or none: look"), std::string::npos) << reading.note;
}

TEST(WaterLevel, AsksForMoreThanALine)
{
    const Panel panel = wallPanel();
    WaterEvidence ridge = dry(panel);
    ridge.line = poured(panel, 20).line;
    const WaterReading reading = told(panel, ridge);
    EXPECT_EQ(reading.level.value_or(0), 0);
    EXPECT_EQ(reading.low.value_or(-1), 0);
}

TEST(WaterLevel, AsksForMoreThanAFewColumns)
{
    const Panel panel = wallPanel();
    expectNoWater(told(panel, poured(panel, [](double x) { return x > 30 ? 15.0 : -9.0; })));
}

TEST(WaterLevel, HasAWiderIntervalWhereColumnsDisagree)
{
    const Panel panel = wallPanel();
    const WaterReading agreed = told(panel, poured(panel, 20)),
                       torn = told(panel, poured(panel, [](double x) {
                                       return std::fmod(x + 200, 20) < 10 ? 18.8 : 21.2;
                                   }));
    ASSERT_TRUE(agreed.low && agreed.high && torn.low && torn.high);
    EXPECT_GT(*torn.high - *torn.low, *agreed.high - *agreed.low + 0.5);
    expectWithin(torn, 18.8);
    expectWithin(torn, 21.2);
}

TEST(WaterLevel, HasAWiderIntervalWhereTheEvidenceIsWeakOrThePhotoCoarse)
{
    Panel panel = wallPanel();
    const WaterReading sharp = told(panel, poured(panel, 20)),
                       weak = told(panel, poured(
                                              panel, [](double) { return 20.0; }, 0.7, 0.05));
    panel.px_per_unit = 1.9;
    const WaterReading coarse = told(panel, poured(panel, 20));
    for (const WaterReading& reading : {sharp, weak, coarse}) {
        ASSERT_TRUE(reading.level && reading.low && reading.high) << reading.note;
        EXPECT_NEAR(*reading.level, 20, 0.5);
    }
    EXPECT_GT(*weak.high - *weak.low, *sharp.high - *sharp.low + 0.2);
    EXPECT_GT(*coarse.high - *coarse.low, *sharp.high - *sharp.low + 0.2);
}

}  // namespace
}  // namespace slipglass
