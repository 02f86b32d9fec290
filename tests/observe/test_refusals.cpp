// Tubs filled with what has no roots in it: photographs of gravel, bark, soil and the like (sources and
// licences: tests/data/negative-controls/ATTRIBUTION.md) and drawn patterns, laid round the tub of a
// rendering. Bare, the same photographs are refused (test_find_tub.cpp, test_measure.cpp); here everything
// but the medium says "tub". Figures for all fillings and more tubs: docs/measured/quality.md, "Tubs filled
// with something else".
#include <gtest/gtest.h>

#include "../support/earlier.h"
#include "../support/pasted_tub.h"
#include "slipglass/observe.h"
#include "slipglass/photo/read_photo.h"

namespace slipglass {
namespace {

constexpr const char* kFirst = "T01_2026-01-12";
constexpr const char* kLater = "T01_2026-02-09";  // other light, camera and turn of the tub

Look lookAtFilled(const test::Filling& filling, const std::string& stem,
                  const std::vector<EarlierView>& earlier)
{
    const auto path = test::samplePhoto(stem);
    const PhotoFacts facts = readFacts(path);
    Picture picture = readPicture(path, facts, kPictureSide);
    picture.bgr = test::filledWith(filling, picture.bgr, test::sampleWall(test::kSamples, stem),
                                   test::sampleTruth(stem));
    const Settings settings;
    TubInPhoto which{"T01", tubType("quart", {}), std::nullopt};
    for (const Label& label : labelsIn(picture, settings.label))
        if (label.tub == which.tub) which.label = label;
    return observe(picture, facts, stem + ".jpg", {}, which, earlier, settings);
}

struct Filled {
    Look first, later;
};

Filled lookAtFilled(const test::Filling& filling)
{
    Filled filled;
    filled.first = lookAtFilled(filling, kFirst, {});
    std::vector<EarlierView> earlier;
    if (filled.first.view) earlier.push_back(test::earlier(filled.first));
    filled.later = lookAtFilled(filling, kLater, earlier);
    return filled;
}

test::Filling photographed(const std::string& name)
{
    for (const test::Filling& filling :
         test::photographedFillings(std::filesystem::path(SLIPGLASS_TEST_DATA) / "negative-controls"))
        if (filling.name == name) return filling;
    throw std::invalid_argument(name);
}

test::Filling drawn(const std::string& name)
{
    for (const test::Filling& filling : test::drawnFillings())
        if (filling.name == name) return filling;
    throw std::invalid_argument(name);
}

/// Nothing above the limit may be said of a wall without roots that could be measured, nothing at all of one
/// that could not.
/// @return  whether it was measured.
bool expectNoRoots(const Look& look, const std::string& what)
{
    if (look.seen.state == State::retake) {
        EXPECT_FALSE(look.seen.coverage_percent || look.seen.root_length_mm) << what;
        return false;
    }
    EXPECT_LE(look.seen.coverage_percent.value_or(100), SeasonSettings{}.detection_limit_percent) << what;
    return true;
}

// Grains of any kind, once its side's reference panel shows that they were always there.
TEST(FilledTub, ShowsNoRootsAmongGrainsThatWereThereBefore)
{
    int measured = 0;
    std::vector<test::Filling> fillings;
    for (const char* name : {"gravel-grey", "pebbles", "fir-bark", "brown-soil", "leaf-litter-aspen"})
        fillings.push_back(photographed(name));
    fillings.push_back(drawn("white pebbles"));
    fillings.push_back(drawn("chequerboard, 4 mm"));
    for (const test::Filling& filling : fillings) {
        const Filled filled = lookAtFilled(filling);
        measured += expectNoRoots(filled.later, filling.name) ? 1 : 0;
    }
    // A refusal would be as right; but then this says nothing of that filling, so it has to be looked at.
    EXPECT_EQ(measured, 7);
}

TEST(FilledTub, ShowsNoRootsInPlainGreyAndInNoise)
{
    int measured = 0;
    for (const char* name : {"plain grey", "random noise"}) {
        const Filled filled = lookAtFilled(drawn(name));
        for (const Look* look : {&filled.first, &filled.later})
            measured += expectNoRoots(*look, name) ? 1 : 0;
    }
    EXPECT_EQ(measured, 4) << "as above";
}

}  // namespace
}  // namespace slipglass
