#include <gtest/gtest.h>

#include "../support/season_maker.h"
#include "slipglass/season/series.h"
#include "slipglass/season/tub_parts.h"

namespace slipglass {
namespace {

using test::covered;
using test::planned;

Plan planOf(const std::vector<std::string>& positions)
{
    Plan plan;
    for (size_t i = 0; i < positions.size(); ++i) {
        plan.cuttings.push_back(planned(std::string("c").append(std::to_string(i)), "T01"));
        plan.cuttings.back().position = positions[i];
    }
    return plan;
}

TEST(TubParts, GiveEachCuttingItsPlaceFromLeftToRight)
{
    const TubParts parts = partsOfTub(planOf({"Right", "CENTRE", "left"}), "T01");
    ASSERT_EQ(parts.parts.size(), 3U);
    EXPECT_EQ(partsText(parts), "left middle right");
    EXPECT_EQ(parts.parts[0].cutting, "c2");
    EXPECT_EQ(parts.parts[1].cutting, "c1");
    EXPECT_EQ(parts.parts[2].cutting, "c0");
    EXPECT_TRUE(parts.shared.empty());
    EXPECT_EQ(partsText(partsOfTub(planOf({"center", "right"}), "T01")), "middle right");
}

TEST(TubParts, LeavePlacesOnTheSillAlone)
{
    const TubParts one = partsOfTub(planOf({"shed sill, far left"}), "T01");
    EXPECT_TRUE(one.parts.empty());
    EXPECT_TRUE(one.shared.empty());
    const TubParts two = partsOfTub(planOf({"shed sill, far left", "shed sill, left"}), "T01");
    EXPECT_TRUE(two.parts.empty());
    EXPECT_EQ(two.shared, "the position of c0 is not left, middle or right");
    EXPECT_TRUE(positionWarnings(planOf({"shed sill, far left", "shed sill, left"})).empty());
    EXPECT_TRUE(positionWarnings(planOf({"", ""})).empty());
}

TEST(TubParts, AreSharedAndWarnedOfWhenTwoCuttingsHaveOnePosition)
{
    const Plan plan = planOf({"left", "LEFT", "right"});
    EXPECT_TRUE(partsOfTub(plan, "T01").parts.empty());
    const auto warnings = positionWarnings(plan);
    ASSERT_EQ(warnings.size(), 1U);
    EXPECT_EQ(
        warnings[0],
        "T01: c0 and c1 have the same position, left, so the roots of its cuttings cannot be told apart; "
        "give each its own of left, middle and right, as seen on the photo");
    EXPECT_EQ(positionWarnings(planOf({"by the door", "by the door"})).size(), 1U);
    EXPECT_EQ(positionWarnings(planOf({"left", "rihgt"})).size(), 1U);
    EXPECT_TRUE(positionWarnings(planOf({"left", "right"})).empty());
}

/// Roots of 1 % on the left and 4 % on the right half, 2.5 % in all.
Observation halves(int day)
{
    Observation seen = covered(day, 2.5);
    PartFigures left, right;
    left.place = "left";
    left.coverage_percent = 1;
    left.root_length_mm = 20;
    right.place = "right";
    right.coverage_percent = 4;
    seen.root_length_mm = 100;
    seen.lost_root_mm = 3;
    seen.wetness = 0.5;
    seen.parts = {left, right};
    return seen;
}

TEST(TubParts, GiveACuttingTheRootsOfItsPartAndTheWaterOfItsTub)
{
    const TubParts parts = partsOfTub(planOf({"left", "right"}), "T01");
    const Observation left = seenOfCutting(halves(0), parts, "c0"),
                      right = seenOfCutting(halves(0), parts, "c1");
    EXPECT_EQ(left.coverage_percent, 1);
    EXPECT_EQ(left.root_length_mm, 20);
    EXPECT_EQ(left.wetness, 0.5);
    EXPECT_EQ(right.coverage_percent, 4);
    EXPECT_FALSE(right.root_length_mm) << "not known of the part, so not the tub's instead";
    EXPECT_FALSE(right.lost_root_mm);
    EXPECT_TRUE(right.notes.empty());
}

TEST(TubParts, KnowNothingOfRootsWhereThePhotoDoesNotTellThemApart)
{
    const TubParts thirds = partsOfTub(planOf({"left", "middle", "right"}), "T01");
    const Observation seen = seenOfCutting(halves(0), thirds, "c0");
    EXPECT_FALSE(seen.coverage_percent) << "halves were measured before the plan had three cuttings";
    ASSERT_EQ(seen.notes.size(), 1U);
    EXPECT_EQ(seen.notes[0], "the cuttings' parts of the wall could not be told apart on this photo");
    EXPECT_EQ(seen.wetness, 0.5);
}

}  // namespace
}  // namespace slipglass
