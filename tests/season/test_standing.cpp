#include "slipglass/season/standing.h"

#include <gtest/gtest.h>

namespace slipglass {
namespace {

constexpr std::nullopt_t kNo = std::nullopt;

TEST(Standing, IsTheLevelAgainstTheLimit)
{
    EXPECT_EQ(stands({2.0, 1.7, 2.3}, 2), true);
    EXPECT_EQ(stands({2.4, 2.1, 2.9}, 3), false);
    EXPECT_EQ(stands({0.0, 0.0, 1.2}, 2), false);
    EXPECT_EQ(stands({0.0, 0.0, 2.6}, 2), false) << "the level was read, whatever its interval";
}

TEST(Standing, IsTheIntervalsWordWhereTheLevelIsNotKnown)
{
    EXPECT_EQ(stands({kNo, 2.5, 9.0}, 2), true);
    EXPECT_EQ(stands({kNo, 0.0, 1.9}, 2), false);
    EXPECT_EQ(stands({kNo, 0.0, 3.8}, 2), kNo);
    EXPECT_EQ(stands({kNo, 2.5, 9.0}, 3), kNo);
    EXPECT_EQ(stands({}, 2), kNo);
}

// No level below kLeastWaterMm is told from a wet base: 0 may be 1 mm then.
TEST(Standing, IsNotKnownBelowWhatCanBeTold)
{
    EXPECT_EQ(stands({0.0, 0.0, 1.9}, 1), kNo);
    EXPECT_EQ(stands({0.0, 0.0, 0.9}, 1), false);
    EXPECT_EQ(stands({2.2, 1.9, 2.5}, 1), true);
    EXPECT_EQ(stands({0.0, 0.0, 0.0}, 0.5), false) << "a person saw none";
}

TEST(Standing, IsSetOfEachPhotoAnew)
{
    std::vector<Observation> seen(2);
    seen[0].water = {5.0, 4.5, 5.5};
    seen[1].standing_water = true;  // of which nothing is known now
    setStanding(seen, {});
    EXPECT_EQ(seen[0].standing_water, true);
    EXPECT_EQ(seen[1].standing_water, kNo);
}

}  // namespace
}  // namespace slipglass
