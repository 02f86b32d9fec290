// Both halves of waterLevel by themselves. What speaks for each height: evidence so plain that the sum can be
// done by hand. What is said of it: profiles written down height by height.
#include "../../src/water/level_profile.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <functional>

#include "made_evidence.h"

namespace slipglass {
namespace {

using test::evenEvidence;
using test::logistic;

/// One column of cells in the middle of the front: no tilt changes what it says.
Panel strip()
{
    return test::wallPanel(17);
}

constexpr double kCellMm = 4 * 0.15;

const LevelSupport& at(const LevelProfile& profile, double level_mm)
{
    return *std::min_element(profile.heights.begin(), profile.heights.end(),
                             [&](const auto& a, const auto& b) {
                                 return std::abs(a.level - level_mm) < std::abs(b.level - level_mm);
                             });
}

/// What speaks for a height more than for a lower one, by each cell between them.
double perCell(const LevelProfile& profile, double from_mm, double to_mm)
{
    const LevelSupport &low = at(profile, from_mm), &high = at(profile, to_mm);
    return (high.support - low.support) / ((high.level - low.level) / kCellMm);
}

/// How much the cells from one height to another count in the mean, against those at the foot: as much as
/// they face the camera, since a slanting one takes up less of the picture.
double facing(const Panel& panel, double from_mm, double to_mm)
{
    const View view(panel.inner);
    double sum = 0;
    constexpr int kPlaces = 100;
    for (int i = 0; i < kPlaces; ++i)
        sum += view.viewCosine({0, from_mm + (to_mm - from_mm) * (i + 0.5) / kPlaces});
    return sum / kPlaces / view.viewCosine({0, 2.7});  // the highest of the foot's cells
}

// Tolerance, here and below: that cell's own height, a cell more or less.
constexpr double kCell = 0.01;

TEST(LevelProfile, AddsUpTheLogOddsOfTheCellsBelowAHeight)
{
    const Panel panel = strip();
    const LevelProfile profile = levelProfile(panel, evenEvidence(panel, logistic(1)));
    for (const auto& [from, to] : {std::pair(3, 90), std::pair(20, 30), std::pair(80, 90)})
        EXPECT_NEAR(perCell(profile, from, to) / facing(panel, from, to), 1, kCell) << from;
    EXPECT_EQ(at(profile, 50).tilt.right, 0) << "nothing speaks for a tilt";
    EXPECT_EQ(at(profile, 50).tilt.near, 0);
    // The lowest height, half a millimetre, has a cell below it at most.
    EXPECT_NEAR(profile.heights[1].support, 0.5, 0.5);
}

// However sure the network is, a cell says no more than log-odds of 3.
TEST(LevelProfile, TakesNoCellsWordForMoreThanItsLimit)
{
    const Panel panel = strip();
    const auto each = [&](double log_odds) {
        return perCell(levelProfile(panel, evenEvidence(panel, logistic(log_odds))), 10, 90) /
               facing(panel, 10, 90);
    };
    EXPECT_NEAR(each(2.9), 2.9, 2.9 * kCell);
    EXPECT_NEAR(each(12), 3, 3 * kCell);
}

// Down to 5 mm below a height what seems dry counts in full, deeper a tenth of it; without that: not at all.
TEST(LevelProfile, CountsLittleWhatSeemsDryDeepDown)
{
    const Panel panel = strip();
    const LevelProfile profile = levelProfile(panel, evenEvidence(panel, logistic(-1)));
    EXPECT_NEAR(perCell(profile, 2, 5), -1, 2 * kCell);
    for (const double level : {20.0, 90.0}) {
        const double near = -5 / kCellMm * facing(panel, level - 5, level),
                     deep = -(level - 5) / kCellMm * facing(panel, 0, level - 5);
        EXPECT_NEAR(at(profile, level).from_near / near, 1, 2 * kCell) << level;
        // A tenth of a cell: the base shows up to half a millimetre, and the lowest cell ends there or below.
        EXPECT_NEAR(at(profile, level).support, near + 0.1 * deep, 0.1 + std::abs(near) * 2 * kCell) << level;
    }
    // What seems wet counts however deep it is.
    const LevelProfile wet = levelProfile(panel, evenEvidence(panel, logistic(1)));
    EXPECT_EQ(at(wet, 60).from_near, at(wet, 60).support);
}

// One row of cells shows a line with log-odds of 1, all others none: log-odds of -1.5 or less say nothing.
TEST(LevelProfile, AddsTheLineWhereItRuns)
{
    const Panel panel = strip();
    WaterEvidence evidence = evenEvidence(panel, 0.5);
    const int row = static_cast<int>(panel.rowAt(31)) / WaterEvidence::kPx;
    evidence.line.row(row).setTo(logistic(1));
    const double line_mm = panel.pointAt(0, row * WaterEvidence::kPx + 1.5).y;
    const LevelProfile profile = levelProfile(panel, evidence);
    const auto best = std::max_element(profile.heights.begin(), profile.heights.end(),
                                       [](const auto& a, const auto& b) { return a.support < b.support; });
    // Levels are 0.15 mm apart, so that the best lies at most half of that, an eighth of a cell, off the
    // line.
    EXPECT_NEAR(best->level, line_mm, 0.076);
    const double on_line = 2.5 * facing(panel, line_mm - 0.3, line_mm + 0.3);
    EXPECT_GT(best->support, 0.874 * on_line);
    EXPECT_LT(best->support, 1.01 * on_line);
    EXPECT_NEAR(at(profile, line_mm + kCellMm + 0.15).support, 0, 1e-6);
    EXPECT_NEAR(at(profile, line_mm - kCellMm - 0.15).support, 0, 1e-6);
}

TEST(LevelProfile, ReachesFromNoneToTheMediumsSurface)
{
    const Panel panel = strip();
    const LevelProfile profile = levelProfile(panel, test::dry(panel));
    ASSERT_GT(profile.heights.size(), 2U);
    EXPECT_EQ(profile.heights[0].level, 0);
    EXPECT_EQ(profile.heights[0].support, 0) << "all others are told against it";
    EXPECT_EQ(profile.heights[1].level, 0.5);
    for (size_t i = 2; i < profile.heights.size(); ++i)
        EXPECT_NEAR(profile.heights[i].level - profile.heights[i - 1].level, 0.15, 1e-9);
    // The medium's highest row may end a row above, the last step as much below.
    EXPECT_NEAR(profile.heights.back().level, test::kMediumTopMm, 2 * 0.15);
}

TEST(LevelProfile, HasNoHeightsWhereNothingOfTheWallIsSeen)
{
    Panel panel = strip();
    test::hide(panel, 0, 110);
    EXPECT_TRUE(levelProfile(panel, test::poured(panel, 12)).heights.empty());
}

// By construction: of the columns seen at less than 70 degrees, as far as they face the camera.
TEST(LevelProfile, TellsHowMuchOfTheFootIsSeen)
{
    const auto seen = [](const std::function<bool(double)>& hidden) {
        Panel panel = test::wallPanel();
        test::hide(panel, 0, 6, hidden);
        return levelProfile(panel, test::dry(panel)).foot_seen;
    };
    EXPECT_EQ(seen([](double) { return false; }), 1);
    EXPECT_NEAR(seen([](double x) { return x < 0; }), 0.5, 0.01);
    EXPECT_EQ(seen([](double) { return true; }), 0);
    const View view(test::wallPanel().inner);
    const double third = CV_PI / 6;
    double within = 0, all = 0;
    for (double angle = -1.3; angle < 1.3; angle += 0.001) {
        const double cosine = view.viewCosine({angle, 1.5});
        if (cosine < std::cos(70 * test::kDegree)) continue;
        all += cosine;
        if (std::abs(angle) < third) within += cosine;
    }
    ASSERT_LT(within, 0.8 * all);
    // Tolerance: a cell on either side, of some 80 within 30 degrees.
    const double edge_mm = third * test::wallPanel().inner.cone.radiusAt(1.5);
    EXPECT_NEAR(seen([&](double x) { return std::abs(x) > edge_mm; }), within / all, 0.02);
}

/// A profile of heights 0.1 mm apart, from none to 100 mm, with what speaks for each of them.
LevelProfile written(
    const std::function<double(double)>& support,
    const std::function<double(double)>& from_near = [](double) { return 0.0; })
{
    LevelProfile profile;
    profile.foot_seen = 1;
    profile.heights.push_back({});
    for (int i = 5; i <= 1000; ++i)
        profile.heights.push_back({i / 10.0, {}, support(i / 10.0), from_near(i / 10.0)});
    return profile;
}

/// Of 4 px a millimetre: a pixel of the photo is 0.25 mm.
Panel sharpPanel()
{
    Panel panel = strip();
    panel.px_per_unit = 4;
    return panel;
}

constexpr double kError = 0.3 + 0.25;  // WaterSettings::level_error_mm and a pixel of the photo

/// So much for 20 mm, `per_mm` less for each millimetre beside it.
std::function<double(double)> peak(double high, double per_mm = 2, double peak_mm = 20)
{
    return [=](double level_mm) { return high - per_mm * std::abs(level_mm - peak_mm); };
}

TEST(WaterReading, GivesALevelFromWaterSupportOn)
{
    const WaterSettings settings;
    LevelProfile profile = written(peak(settings.water_support));
    for (LevelSupport& height : profile.heights) height.tilt = {0.01 * height.level, -0.02};
    const WaterReading enough = readingOf(profile, sharpPanel(), settings);
    EXPECT_EQ(enough.level, 20.0);
    EXPECT_NEAR(enough.tilt.right, 0.2, 1e-12) << "that height's own";
    EXPECT_EQ(enough.note, "");
    const WaterReading less = readingOf(written(peak(settings.water_support - 0.01)), sharpPanel(), settings);
    EXPECT_FALSE(less.level);
    EXPECT_EQ(less.low, 0.0);
    EXPECT_NEAR(less.high.value_or(0), 20 + 0.75 / 2 + kError, 0.1);
    EXPECT_EQ(less.note, "water between 0 and 21 mm or none: look");
}

// It has to be said against the best of none and of films below 2 mm.
TEST(WaterReading, TellsWaterFromAFilm)
{
    const WaterSettings settings;
    const auto film = [&](double level_mm) {
        return level_mm < 2 ? 3.0 : peak(3 + settings.water_support - 0.01)(level_mm);
    };
    EXPECT_FALSE(readingOf(written(film), sharpPanel(), settings).level);
}

TEST(WaterReading, SaysNoneOnlyWhereMoreSpeaksAgainstIt)
{
    WaterSettings settings;
    settings.dry_support = 1;
    const WaterReading against = readingOf(written(peak(-1.01)), sharpPanel(), settings);
    EXPECT_EQ(against.level, 0.0);
    EXPECT_EQ(against.low, 0.0);
    EXPECT_NEAR(against.high.value_or(9), kError, 1e-9) << "nothing but none is likely";
    EXPECT_EQ(against.note, "");
    EXPECT_FALSE(readingOf(written(peak(-0.99)), sharpPanel(), settings).level);
}

// By construction: 2 less a millimetre, so that 0.75 less is 0.375 mm beside the peak. Tolerance: a step.
TEST(WaterReading, HasAnIntervalOfTheHeightsForWhichNearlyAsMuchSpeaks)
{
    const WaterReading reading = readingOf(written(peak(9)), sharpPanel(), {});
    EXPECT_NEAR(reading.low.value_or(0), 20 - 0.375 - kError, 0.1);
    EXPECT_NEAR(reading.high.value_or(0), 20 + 0.375 + kError, 0.1);
    Panel coarse = sharpPanel();
    coarse.px_per_unit = 0.5;
    const WaterReading by_coarse = readingOf(written(peak(9)), coarse, {});
    EXPECT_NEAR(by_coarse.high.value_or(0) - reading.high.value_or(0), 2 - 0.25, 1e-9);
    const WaterReading shallow = readingOf(written(peak(9, 20, 2.1)), coarse, {});
    EXPECT_EQ(shallow.level, 2.1);
    EXPECT_EQ(shallow.low, 0.0) << "not below the base";
}

// Between two heights that are hidden all are as likely.
TEST(WaterReading, HasAnIntervalAloneWhereItIsWide)
{
    const auto hidden = [](double from_mm, double to_mm) {
        return written([=](double level_mm) { return level_mm >= from_mm && level_mm <= to_mm ? 9.0 : 0.0; });
    };
    const WaterReading wide = readingOf(hidden(30, 37), sharpPanel(), {});
    EXPECT_FALSE(wide.level);
    EXPECT_NEAR(wide.low.value_or(0), 30 - kError, 1e-9);
    EXPECT_NEAR(wide.high.value_or(0), 37 + kError, 1e-9);
    EXPECT_EQ(wide.note, "water between 29 and 38 mm behind the label or glare");
    EXPECT_TRUE(readingOf(hidden(30, 36.8), sharpPanel(), {}).level) << "7.9 mm: within widest_mm";
    Panel no_scale = sharpPanel();
    no_scale.in_mm = false;
    EXPECT_EQ(readingOf(hidden(30, 37), no_scale, {}).note, "water behind the label or glare");
}

// The wall is wet right below 55 mm, and seems dry further down. 20 is what a wall wet over 5 mm has.
TEST(WaterReading, DoesNotSayNoneWhereTheWallIsWetUnderAHeightFarUp)
{
    const auto wet = [](double from_near) {
        return written([](double) { return -5.0; },
                       [=](double level_mm) { return level_mm == 55 ? from_near : -9; });
    };
    const WaterReading reading = readingOf(wet(20.1), sharpPanel(), {});
    EXPECT_FALSE(reading.level);
    EXPECT_EQ(reading.low, 0.0);
    EXPECT_NEAR(reading.high.value_or(0), 55 + kError, 1e-9);
    EXPECT_EQ(reading.note, "water between 0 and 56 mm or none: look");
    EXPECT_EQ(readingOf(wet(19.9), sharpPanel(), {}).level, 0.0);
}

// Grains stick out of the surface by up to 4 mm.
TEST(WaterReading, SaysSoWhereItStandsAtTheMediumsSurface)
{
    EXPECT_EQ(readingOf(written(peak(9, 2, 96.1)), sharpPanel(), {}).note,
              "water stands at the medium's surface");
    EXPECT_EQ(readingOf(written(peak(9, 2, 95.9)), sharpPanel(), {}).note, "");
}

TEST(WaterReading, IsEmptyWhereTheFootIsNotInSight)
{
    const WaterSettings settings;
    const auto expectNothing = [&](const LevelProfile& profile, const Panel& panel, const char* what) {
        const WaterReading reading = readingOf(profile, panel, settings);
        EXPECT_FALSE(reading.level || reading.low || reading.high) << what;
        EXPECT_EQ(reading.note, "water not known: the tub's foot is not in sight") << what;
    };
    LevelProfile profile = written(peak(9));
    profile.foot_seen = settings.least_foot;
    EXPECT_TRUE(readingOf(profile, sharpPanel(), settings).level);
    profile.foot_seen = settings.least_foot - 0.01;
    expectNothing(profile, sharpPanel(), "too little of it");
    profile.foot_seen = 1;
    Panel guessed = sharpPanel();
    guessed.base_known = false;
    expectNothing(profile, guessed, "its height is a guess");
    profile.heights.resize(16);  // up to 1.9 mm
    expectNothing(profile, sharpPanel(), "a wall lower than water is told from");
    expectNothing({1, {}}, sharpPanel(), "no wall");
}

}  // namespace
}  // namespace slipglass
