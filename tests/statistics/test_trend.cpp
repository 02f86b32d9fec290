#include <gtest/gtest.h>

#include <algorithm>
#include <numeric>
#include <stdexcept>

#include "reference.h"
#include "slipglass/statistics/trend.h"

namespace slipglass {
namespace {

// Source and tolerances: tests/data/reference/05-theil-sen-mann-kendall.json; scores exact, variance 1e-9,
// z and p 1e-8, slope 1e-12, published limits to their two decimals.
nlohmann::json reference(const char* name)
{
    return referenceJson("05-theil-sen-mann-kendall.json")[name];
}

TEST(TheilSen, GivesSensWorkedExample)
{
    const auto sen = reference("sen1968");
    const auto x = sen["x"].get<std::vector<double>>(), y = sen["y"].get<std::vector<double>>();
    const auto trend = theilSen(x, y, 0.93);
    ASSERT_TRUE(trend);
    EXPECT_NEAR(trend->slope, 4, 1e-12);
    EXPECT_NEAR(trend->limits.low, 3.71, 0.01);
    EXPECT_NEAR(trend->limits.high, 4.38, 0.01);
    EXPECT_NEAR(trend->intercept, sen["intercept_median_y_minus_slope_times_median_x"].get<double>(), 1e-12);
}

TEST(TheilSen, GivesTheFallOfTheNile)
{
    const auto nile = reference("nile");
    const auto y = nile["y"].get<std::vector<double>>();
    std::vector<double> x(y.size());
    std::iota(x.begin(), x.end(), nile["first_year"].get<double>());
    const auto trend = theilSen(x, y);
    ASSERT_TRUE(trend);
    EXPECT_NEAR(trend->slope, nile["sen_slope"].get<double>(), 1e-12);
    EXPECT_LT(trend->limits.low, trend->slope);
    EXPECT_GT(trend->limits.high, trend->slope);
    EXPECT_LT(trend->limits.high, 0);
}

TEST(TheilSen, IsEmptyWithoutTwoPlacesInTime)
{
    EXPECT_FALSE(theilSen({}, {}));
    EXPECT_FALSE(theilSen({3}, {1}));
    EXPECT_FALSE(theilSen({3, 3}, {1, 2}));
    EXPECT_THROW(theilSen({3, 4}, {1}), std::invalid_argument);
}

TEST(TheilSen, IsNotMovedByOneWildValue)
{
    EXPECT_NEAR(theilSen({0, 7, 14, 21, 28}, {1, 2, 3, 4, 500})->slope, 1.0 / 7, 1e-12);
}

TEST(TheilSen, GivesLimitsThatAreSlopesHoweverFewThePoints)
{
    const auto trend = theilSen({0, 7}, {1, 2});
    ASSERT_TRUE(trend);
    EXPECT_DOUBLE_EQ(trend->limits.low, 1.0 / 7);
    EXPECT_DOUBLE_EQ(trend->limits.high, 1.0 / 7);
}

TEST(MannKendall, IsExactForTheTunaData)
{
    const auto tuna = reference("tuna");
    const auto x = tuna["x"].get<std::vector<double>>(), y = tuna["y"].get<std::vector<double>>();
    std::vector<size_t> order(x.size());
    std::iota(order.begin(), order.end(), size_t{0});
    std::sort(order.begin(), order.end(), [&](size_t a, size_t b) { return x[a] < x[b]; });
    std::vector<double> in_order;
    for (const size_t i : order) in_order.push_back(y[i]);
    const MannKendall test = mannKendall(in_order);
    EXPECT_EQ(test.s, 16);
    EXPECT_TRUE(test.exact);
    EXPECT_NEAR(test.p, tuna["p_exact_two_sided"].get<double>(), 1e-8);
}

// All seven rise: 2 of 7! orders.
TEST(MannKendall, IsExactForSensWorkedExample)
{
    const MannKendall test = mannKendall(reference("sen1968")["y"].get<std::vector<double>>());
    EXPECT_EQ(test.s, 21);
    EXPECT_NEAR(test.p, 2.0 / 5040, 1e-8);
}

TEST(MannKendall, AllowsForEqualValues)
{
    const auto table = reference("wisconsin_nr746");
    const MannKendall test = mannKendall(table["y"].get<std::vector<double>>());
    EXPECT_EQ(test.s, -5);
    EXPECT_NEAR(test.variance, table["var_tie_corrected"].get<double>(), 1e-9);
    EXPECT_NEAR(test.z, table["z_continuity"].get<double>(), 1e-8);
    // Truth by counting: of the 60 orders of 50 50 75 85 100, those with |s| >= 5, counted by brute force in
    // another language (Python itertools), are 20.
    EXPECT_TRUE(test.exact);
    EXPECT_NEAR(test.p, 20.0 / 60, 1e-12);
}

TEST(MannKendall, GivesTheFallOfTheNile)
{
    const auto nile = reference("nile");
    const MannKendall test = mannKendall(nile["y"].get<std::vector<double>>());
    EXPECT_EQ(test.s, nile["S"].get<int>());
    EXPECT_NEAR(test.variance, nile["var_tie_corrected"].get<double>(), 1e-6);
    EXPECT_NEAR(test.z, nile["z_continuity"].get<double>(), 1e-8);
    EXPECT_FALSE(test.exact);
    EXPECT_NEAR(test.p, nile["p_two_sided"].get<double>(), 1e-8);
}

TEST(MannKendall, GivesOneWhereNothingCanBeSaid)
{
    EXPECT_EQ(mannKendall({}).p, 1.0);
    EXPECT_EQ(mannKendall({3}).p, 1.0);
    EXPECT_EQ(mannKendall({3, 3, 3}).p, 1.0);
    EXPECT_EQ(mannKendall({1, 2}).p, 1.0);
}

}  // namespace
}  // namespace slipglass
