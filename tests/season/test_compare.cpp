#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "compare_maker.h"
#include "slipglass/error.h"

namespace slipglass {
namespace {

using test::byMedium;
using test::cuttings;
using test::failedOn;
using test::notYet;
using test::struckBetween;
using test::withoutPhotos;
using test::operator+;

constexpr double kNever = std::numeric_limits<double>::infinity();

bool warns(const Comparison& all, const std::string& of)
{
    return std::any_of(all.warnings.begin(), all.warnings.end(),
                       [&](const Said& line) { return english(line).find(of) != std::string::npos; });
}

/// Every number of it is one.
void expectNoNan(const Comparison& all)
{
    for (const ComparedGroup& group : all.groups) {
        EXPECT_FALSE(std::isnan(group.strike_rate.low) || std::isnan(group.strike_rate.high));
        EXPECT_GT(group.cuttings, 0);
        EXPECT_EQ(group.cuttings, group.struck + group.not_yet + group.failed);
        if (group.median_days) {
            EXPECT_FALSE(std::isnan(group.median_days->left) || std::isnan(group.median_days->right));
        }
    }
    for (const auto& test : {all.rates, all.days}) {
        if (!test) continue;
        EXPECT_GT(test->chance.p, 0);
        EXPECT_LE(test->chance.p, 1);
    }
    for (const ComparedPair& pair : all.pairs) {
        EXPECT_LE(pair.difference.limits.low, pair.difference.value);
        EXPECT_GE(pair.difference.limits.high, pair.difference.value);
        EXPECT_GE(pair.p_adjusted, pair.test.chance.p);
    }
}

std::string problemOf(const std::vector<NamedSeason>& seasons, const CompareWish& wish)
{
    try {
        compare(seasons, wish);
    } catch (const Error& error) {
        return error.what();
    }
    return "no error";
}

// Source: 9 of 10 against 5 of 10 has 2 (C(10,9)C(10,5) + C(10,10)C(10,4)) / C(20,14) = 0.14, counted by
// hand.
TEST(Compare, CountsAndTestsTwoGroups)
{
    const Comparison all = byMedium(cuttings("vermiculite", 5, 10) + cuttings("peat-perlite", 9, 10));
    ASSERT_EQ(all.groups.size(), 2U);
    EXPECT_EQ(all.groups[0].value, "peat-perlite");  // best first
    EXPECT_EQ(all.groups[0].struck, 9);
    EXPECT_EQ(all.groups[0].not_yet, 1);
    ASSERT_TRUE(all.rates);
    EXPECT_NEAR(all.rates->chance.p, 2.0 * (10 * 252 + 1 * 210) / 38760, 1e-9);
    EXPECT_EQ(all.rates->method, "Fisher's exact test");
    ASSERT_EQ(all.pairs.size(), 1U);
    EXPECT_NEAR(all.pairs[0].difference.value, 0.4, 1e-12);
    EXPECT_EQ(all.pairs[0].p_adjusted, all.rates->chance.p);  // one comparison: nothing to adjust
    EXPECT_TRUE(all.warnings.empty());
    expectNoNan(all);
}

TEST(Compare, AdjustsThreePairsByHolm)
{
    const Comparison all = byMedium(cuttings("a", 10, 10) + cuttings("b", 5, 10) + cuttings("c", 0, 10));
    ASSERT_EQ(all.pairs.size(), 3U);
    const ComparedPair& farthest = all.pairs[1];  // a - c
    EXPECT_NEAR(farthest.p_adjusted, 3 * farthest.test.chance.p, 1e-12);
    EXPECT_LT(all.rates->chance.p, 0.001);
    expectNoNan(all);
}

TEST(Compare, GivesTheMedianAsTheSpanBetweenTwoPhotos)
{
    const Comparison all =
        byMedium({struckBetween("a", 7, 14), struckBetween("a", 14, 21), struckBetween("a", 14, 21),
                  notYet("b", 42), struckBetween("b", 7, 14), notYet("b", 42)});
    ASSERT_TRUE(all.groups[0].median_days && all.groups[1].median_days);
    EXPECT_EQ(all.groups[0].median_days->left, 14);
    EXPECT_EQ(all.groups[0].median_days->right, 21);
    EXPECT_EQ(all.groups[1].median_days->left, 42);
    EXPECT_EQ(all.groups[1].median_days->right, kNever);
}

// Truth by construction: 'late' are as good as 'early', only stuck later, so none of them had struck by its
// last photo at 14 days, as none of the others had at 14. Rates tell them apart, days do not.
TEST(Compare, IsFairToCuttingsThatAreYounger)
{
    std::vector<Series> series;
    for (int i = 0; i < 8; ++i) series.push_back(struckBetween("early", 21, 28));
    for (int i = 0; i < 8; ++i) series.push_back(notYet("late", 14));
    const Comparison all = byMedium(series);
    EXPECT_LT(all.rates->chance.p, 0.001);
    ASSERT_TRUE(all.days);
    EXPECT_EQ(all.days->chance.p, 1.0);
    EXPECT_TRUE(
        warns(all, "'late' was followed for 14 days, others for 35, and 8 of its cuttings may still strike"));
}

TEST(Compare, SeesADifferenceInDaysWhereAllHaveStruck)
{
    std::vector<Series> series;
    for (int i = 0; i < 8; ++i) series.push_back(struckBetween("quick", 7, 14));
    for (int i = 0; i < 8; ++i) series.push_back(struckBetween("slow", 28, 35));
    const Comparison all = byMedium(series);
    EXPECT_EQ(all.rates->chance.p, 1.0);
    EXPECT_NEAR(all.days->chance.p, 2.0 / 12870, 1e-9);  // 2 of C(16,8) ways
}

// Giving up early must not make a treatment look as if it had struck as soon as the other.
TEST(Compare, TakesAFailedCuttingAsNeverToStrike)
{
    const Comparison all = byMedium({struckBetween("a", 14, 21), struckBetween("a", 14, 21),
                                     struckBetween("b", 14, 21), failedOn("b", 7), failedOn("b", 7)});
    EXPECT_EQ(all.groups[1].failed, 2);
    EXPECT_EQ(all.groups[1].median_days->right, kNever);
    EXPECT_EQ(all.groups[1].median_days->left, 21);  // the longest anyone was followed
}

TEST(Compare, ReckonsChanceByTheTubWhereCuttingsShareOne)
{
    std::vector<Series> series;
    for (const char* medium : {"a", "b"}) {
        for (int tub = 0; tub < 3; ++tub) {
            for (Series one : cuttings(medium, *medium == 'a' ? 3 : 0, 3)) {
                one.cutting.tub = medium + std::to_string(tub);
                one.cuttings_in_tub = 3;
                one.part = "left";
                series.push_back(one);
            }
        }
    }
    const Comparison all = byMedium(series);
    EXPECT_NEAR(all.rates->chance.p, 2.0 / 20, 1e-12);  // 3 + 3 tubs, not 9 + 9 cuttings
    EXPECT_NE(all.rates->method.find("tubs exchanged whole"), std::string::npos);
    EXPECT_TRUE(warns(all, "6 tubs hold several cuttings"));
    EXPECT_FALSE(warns(all, "cannot be told apart"));
    for (Series& one : series) one.part.clear();
    EXPECT_TRUE(warns(byMedium(series), "cannot be told apart"));
}

// Two varieties in each tub, the same two: the tub is the block, and its level does not matter.
TEST(Compare, ComparesInsideTheTubWhereATubHoldsSeveralGroups)
{
    std::vector<Series> series;
    for (int tub = 0; tub < 5; ++tub) {
        series.push_back(struckBetween("a", 14, 21));
        series.push_back(notYet("b", 42));
        for (size_t i = series.size() - 2; i < series.size(); ++i)
            series[i].cutting.tub = "T" + std::to_string(tub);
    }
    EXPECT_NEAR(byMedium(series).rates->chance.p, 2.0 / 32, 1e-12);  // all five the same way round
}

// Truth by construction: within each kind of tub the two media do the same; 'a' was given the good tubs.
TEST(Compare, KeepsApartWhatItIsToldTo)
{
    std::vector<Series> series;
    const auto add = [&](const std::string& medium, const std::string& type, int struck, int of) {
        for (Series one : cuttings(medium, struck, of)) {
            one.cutting.tub_type = type;
            series.push_back(one);
        }
    };
    add("a", "quart", 9, 9);
    add("b", "quart", 3, 3);
    add("a", "gallon", 0, 3);
    add("b", "gallon", 0, 9);
    EXPECT_LT(byMedium(series).rates->chance.p, 0.05);
    const Comparison within = compare({{"winter", series, {}}}, {"medium", "tub_type"});
    EXPECT_EQ(within.rates->chance.p, 1.0);
    EXPECT_EQ(within.pairs.at(0).difference.value, 0.0);
    EXPECT_EQ(within.kept_apart, std::vector<std::string>{"tub_type"});
    ASSERT_EQ(within.blocks.size(), 2U);
    EXPECT_EQ(within.blocks[1].name, "quart");
    expectNoNan(within);
}

TEST(Compare, KeepsSeasonsApartUnlessTheyAreCompared)
{
    const std::vector<NamedSeason> seasons{{"2025", cuttings("a", 8, 8) + cuttings("b", 2, 2), {}},
                                           {"2026", cuttings("a", 0, 2) + cuttings("b", 0, 8), {}}};
    const Comparison media = compare(seasons, {"medium", std::nullopt});
    EXPECT_EQ(media.kept_apart, std::vector<std::string>{"season"});
    EXPECT_EQ(media.rates->chance.p, 1.0);
    const Comparison years = compare(seasons, {"season", std::nullopt});
    EXPECT_TRUE(years.kept_apart.empty());
    EXPECT_EQ(years.groups[0].value, "2025");
    EXPECT_LT(years.rates->chance.p, 1e-4);
    EXPECT_EQ(compare(seasons, {"season", "medium"}).kept_apart, std::vector<std::string>{"medium"});
    EXPECT_EQ(compare(seasons, {"medium", "season"}).kept_apart, std::vector<std::string>{"season"});
}

TEST(Compare, SaysWhenNothingWithinABlockCanBeCompared)
{
    const std::vector<NamedSeason> seasons{{"2025", cuttings("a", 2, 4), {}},
                                           {"2026", cuttings("b", 1, 4), {}}};
    const Comparison all = compare(seasons, {"medium", std::nullopt});
    EXPECT_FALSE(all.rates);
    EXPECT_FALSE(all.days);
    EXPECT_TRUE(all.pairs.empty());
    expectNoNan(all);
}

TEST(Compare, TakesOwnColumnsAndNamesAsInThePlan)
{
    std::vector<Series> series = cuttings("a", 1, 2);
    series[0].cutting.own_columns["heat mat"] = "on";
    const NamedSeason winter{"winter", series, {"heat mat"}};
    const Comparison all = compare({winter}, {"Heat-Mat", std::nullopt});
    EXPECT_EQ(all.by, "heat mat");
    ASSERT_EQ(all.groups.size(), 2U);
    EXPECT_EQ(all.groups[0].value, "on");
    EXPECT_EQ(all.groups[1].value, kNotGiven);
    EXPECT_EQ(compare({winter}, {"Stuck on", std::nullopt}).groups[0].value, "2026-01-12");
}

TEST(Compare, NamesTheNearestColumnWhenItKnowsNone)
{
    const std::vector<NamedSeason> one{{"winter", cuttings("a", 1, 2), {"plot"}}};
    const std::string problem = problemOf(one, {"meduim", std::nullopt});
    EXPECT_NE(problem.find("--by meduim: the plan has no such column. The nearest is 'medium'"),
              std::string::npos)
        << problem;
    EXPECT_NE(problem.find("plot"), std::string::npos);
    EXPECT_EQ(problem.find('\n'), std::string::npos);
    EXPECT_NE(problemOf(one, {"season", std::nullopt}).find("one season only"), std::string::npos);
    EXPECT_NE(problemOf(one, {"medium", "medium"}).find("Name another column"), std::string::npos);
    EXPECT_NE(problemOf(one, {"medium", "zzz"}).find("--within zzz"), std::string::npos);
}

TEST(Compare, AnswersAGroupWithOneMember)
{
    const Comparison all = byMedium(cuttings("a", 3, 4) + cuttings("b", 0, 1));
    EXPECT_NEAR(all.rates->chance.p, 0.4, 1e-9);  // b is one of the two not struck of five
    EXPECT_TRUE(warns(all, "one cutting only: 'b'"));
    expectNoNan(all);
    const Comparison single = byMedium(cuttings("a", 1, 1) + cuttings("b", 0, 1));
    EXPECT_EQ(single.rates->chance.p, 1.0);
    EXPECT_TRUE(warns(single, "nothing can be told from chance"));
    EXPECT_TRUE(single.pairs.empty());
    expectNoNan(single);
}

TEST(Compare, AnswersAllStruckAndNoneStruck)
{
    for (const int struck : {0, 5}) {
        const Comparison all = byMedium(cuttings("a", struck, 5) + cuttings("b", struck, 5));
        EXPECT_EQ(all.rates->chance.p, 1.0);
        EXPECT_EQ(all.days->chance.p, 1.0);
        EXPECT_EQ(all.pairs[0].difference.value, 0.0);
        EXPECT_LT(all.pairs[0].difference.limits.low, 0);
        expectNoNan(all);
    }
}

TEST(Compare, AnswersOneGroup)
{
    const Comparison all = byMedium(cuttings("a", 3, 4));
    EXPECT_EQ(all.groups.size(), 1U);
    EXPECT_FALSE(all.rates);
    EXPECT_FALSE(all.days);
    EXPECT_TRUE(all.pairs.empty());
    expectNoNan(all);
}

TEST(Compare, AnswersOnePhotoOnly)
{
    // On the day of sticking, so nobody has been followed at all.
    const Comparison all = byMedium({notYet("a", 0), notYet("a", 0), notYet("b", 0)});
    EXPECT_EQ(all.days->chance.p, 1.0);
    EXPECT_EQ(all.groups[0].median_days->left, 0);
    EXPECT_EQ(all.groups[0].median_days->right, kNever);
    expectNoNan(all);
}

TEST(Compare, CountsCuttingsWithoutStuckOnInTheRatesOnly)
{
    std::vector<Series> series = cuttings("a", 2, 3) + cuttings("b", 1, 3);
    for (Series& one : series) one.cutting.stuck_on.reset();
    const Comparison all = byMedium(series);
    EXPECT_TRUE(all.rates);
    EXPECT_FALSE(all.days);
    EXPECT_FALSE(all.groups[0].median_days);
    EXPECT_TRUE(warns(all, "6 cuttings have no stuck_on"));
    expectNoNan(all);
}

TEST(Compare, LeavesOutOfTheDaysWhatHadRootsWhenItWasStuck)
{
    const Comparison all = byMedium({struckBetween("a", 0, 0), struckBetween("a", 7, 14), notYet("b", 21)});
    EXPECT_EQ(all.groups[0].struck, 2);
    EXPECT_EQ(all.groups[0].median_days->left, 7);
    EXPECT_TRUE(warns(all, "1 cutting has roots on the day of sticking"));
}

TEST(Compare, LeavesOutCuttingsWithoutPhotosAndNamesThem)
{
    const Series unseen = withoutPhotos("b");
    const Comparison all = byMedium(cuttings("a", 1, 2) + std::vector<Series>{unseen});
    EXPECT_EQ(all.left_out, 1);
    EXPECT_EQ(all.groups.size(), 1U);
    EXPECT_TRUE(warns(all, "left out: " + unseen.cutting.cutting));
    EXPECT_NE(problemOf({{"winter", {unseen}, {}}}, {"medium", std::nullopt}).find("no cutting has a photo"),
              std::string::npos);
    EXPECT_NE(problemOf({{"winter", {}, {}}}, {"medium", std::nullopt}).find("no cutting has a photo"),
              std::string::npos);
}

TEST(Compare, TakesEmptyValuesAsAGroupOfTheirOwn)
{
    const Comparison all = byMedium(cuttings("", 1, 4) + cuttings("a", 3, 4));
    EXPECT_EQ(all.groups[1].value, kNotGiven);
    EXPECT_EQ(all.groups[1].cuttings, 4);
}

TEST(Compare, WarnsWhenAnotherColumnGoesAlong)
{
    std::vector<Series> series = cuttings("a", 3, 4) + cuttings("b", 1, 4);
    for (Series& one : series) one.cutting.variety = one.cutting.medium == "a" ? "Quince" : "Mulberry";
    EXPECT_TRUE(warns(byMedium(series), "each medium comes with one variety only"));
    series[0].cutting.variety = "Mulberry";
    EXPECT_FALSE(warns(byMedium(series), "comes with"));
}

TEST(Compare, WarnsOfValuesThatDifferInCapitalsOnly)
{
    EXPECT_TRUE(warns(byMedium(cuttings("Peat", 1, 2) + cuttings("peat", 1, 2)), "differ in capitals only"));
}

TEST(Compare, DoesNotCompareManyGroupsTwoByTwo)
{
    std::vector<Series> series;
    for (char c = 'a'; c <= 'i'; ++c) series = series + cuttings(std::string(1, c), 1, 2);
    const Comparison all = byMedium(series);
    EXPECT_EQ(all.groups.size(), 9U);
    EXPECT_TRUE(all.pairs.empty());
    EXPECT_TRUE(all.too_many_pairs);
    EXPECT_TRUE(all.rates);
}

TEST(Compare, GivesMedianCoverageAndMeanWaterDays)
{
    std::vector<Series> series = cuttings("a", 3, 3);
    const std::vector<double> coverage{1, 2, 9};
    const std::vector<int> water{0, 0, 6};
    for (size_t i = 0; i < 3; ++i) {
        SeriesPoint point;
        point.seen = test::watered(28, 0);
        point.seen.coverage_percent = coverage[i];
        series[i].points = {point};
        series[i].standing_water_days = water[i];
    }
    const Comparison all = byMedium(series + cuttings("b", 1, 2));
    EXPECT_EQ(all.groups[0].coverage_percent, 2.0);
    EXPECT_EQ(all.groups[0].water_days, 2.0);
    EXPECT_FALSE(all.groups[1].coverage_percent);  // no photo told
    EXPECT_FALSE(all.groups[1].water_days);
}

}  // namespace
}  // namespace slipglass
