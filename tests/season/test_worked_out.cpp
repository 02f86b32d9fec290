#include "slipglass/season/worked_out.h"

#include <gtest/gtest.h>

#include <limits>

#include "slipglass/season/forecast.h"

namespace slipglass {
namespace {

const std::vector<GrowthPoint> kGrowing{{0, 0.1, 0.2},  {7, 0.5, 0.2},  {14, 1.4, 0.3}, {21, 2.9, 0.4},
                                        {28, 4.6, 0.6}, {35, 5.9, 0.7}, {42, 6.5, 0.8}};

TEST(WorkedOut, IsAskedOnceForTheSameNumbers)
{
    WorkedOut worked_out;
    int reckoned = 0;
    const auto reckon = [&] {
        ++reckoned;
        return WorkedOut::Numbers{7};
    };
    EXPECT_EQ(worked_out.of({1, 2}, reckon), WorkedOut::Numbers{7});
    const WorkedOut::All asked = worked_out.asked();
    EXPECT_EQ(asked.size(), 1U);
    worked_out.know(asked);
    EXPECT_TRUE(worked_out.asked().empty());
    EXPECT_EQ(worked_out.of({1, 2}, reckon), WorkedOut::Numbers{7});
    EXPECT_EQ(reckoned, 1);
    worked_out.of({1, 2.0000000000000004}, reckon);
    EXPECT_EQ(reckoned, 2) << "other numbers, if only by the last bit";
}

TEST(WorkedOut, KeepsNothingThatIsNoNumber)
{
    WorkedOut worked_out;
    worked_out.of({1}, [] { return WorkedOut::Numbers{std::numeric_limits<double>::infinity()}; });
    EXPECT_TRUE(worked_out.asked().empty());
}

TEST(WorkedOut, ChangesNothingOfWhatComesOut)
{
    workedOut().know({});
    const Crossing fresh = whenCrossed(kGrowing, 6, 8);
    const Growth fresh_growth = describeGrowth(kGrowing);
    ASSERT_FALSE(fresh_growth.curves.empty());
    const WorkedOut::All asked = workedOut().asked();
    EXPECT_EQ(asked.size(), 2U);
    workedOut().know(asked);
    const Crossing known = whenCrossed(kGrowing, 6, 8);
    EXPECT_EQ(known.earliest, fresh.earliest);
    EXPECT_EQ(known.likely, fresh.likely);
    EXPECT_EQ(known.latest, fresh.latest);
    EXPECT_EQ(known.chance, fresh.chance);
    const Growth known_growth = describeGrowth(kGrowing);
    ASSERT_EQ(known_growth.curves.size(), fresh_growth.curves.size());
    for (size_t i = 0; i < known_growth.curves.size(); ++i) {
        const CurveFit &a = known_growth.curves[i], &b = fresh_growth.curves[i];
        EXPECT_EQ(a.kind, b.kind);
        EXPECT_EQ(a.parameters, b.parameters);
        EXPECT_EQ(a.standard_errors, b.standard_errors);
        EXPECT_EQ(a.points, b.points);
        EXPECT_EQ(a.residual_ss, b.residual_ss);
        EXPECT_EQ(a.aicc, b.aicc);
    }
}

}  // namespace
}  // namespace slipglass
