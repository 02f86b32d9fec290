#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <numeric>
#include <stdexcept>

#include "reference.h"
#include "slipglass/statistics/survival.h"

namespace slipglass {
namespace {

constexpr double kNever = std::numeric_limits<double>::infinity();

std::vector<Followed> freireich()
{
    std::vector<Followed> patients;
    for (const auto& row : referenceTable("03-freireich-6mp.csv"))
        patients.push_back(
            {number(row, "weeks"), row.at("relapse") == "1", row.at("group") == "6-MP" ? 0 : 1, 0});
    return patients;
}

std::vector<TimeSpan> cosmesis(const std::string& treatment)
{
    std::vector<TimeSpan> patients;
    for (const auto& row : referenceTable("03-cosmesis-interval-censored.csv"))
        if (treatment == "All" || row.at("treatment") == treatment)
            patients.push_back({number(row, "left"), number(row, "right")});
    return patients;
}

// Source: Freireich et al. 1963; R survival, ten decimals. Tolerance: 1e-8, a hundred units of the last.
TEST(KaplanMeier, GivesTheLeukaemiaTrial)
{
    for (const auto& [name, group] : {std::pair{"6-MP", 0}, {"placebo", 1}}) {
        std::vector<Followed> patients;
        for (const Followed& one : freireich())
            if (one.group == group) patients.push_back(one);
        size_t next = 0;
        const auto steps = kaplanMeier(patients);
        for (const auto& row : referenceTable("03-freireich-km.csv")) {
            if (row.at("group") != name) continue;
            ASSERT_LT(next, steps.size());
            const SurvivalStep& step = steps[next++];
            EXPECT_EQ(step.time, number(row, "time"));
            EXPECT_EQ(step.at_risk, number(row, "n_risk"));
            EXPECT_EQ(step.events, number(row, "n_event"));
            EXPECT_EQ(step.censored, number(row, "n_censor"));
            EXPECT_NEAR(step.survival, number(row, "survival"), 1e-8);
            ASSERT_EQ(step.standard_error.has_value(), !row.at("greenwood_se").empty());
            if (step.standard_error) {
                EXPECT_NEAR(*step.standard_error, number(row, "greenwood_se"), 1e-8);
            }
        }
        EXPECT_EQ(next, steps.size());
    }
}

// Source: the same trial; R survdiff. Tolerance: 1e-6 on chi-square, as in README-statistics.md's source.
TEST(LogRank, GivesTheLeukaemiaTrial)
{
    const auto reference = referenceJson("03-freireich-tests.json");
    const auto test = logRank(freireich());
    ASSERT_TRUE(test);
    EXPECT_NEAR(test->chi_square, reference["logrank_chisq"].get<double>(), 1e-6);
    EXPECT_EQ(test->degrees, 1);
    EXPECT_NEAR(test->p, reference["logrank_p"].get<double>(), 1e-10);
    EXPECT_EQ(test->observed, (std::vector<double>{9, 21}));
    EXPECT_NEAR(test->expected[0], reference["expected"]["6-MP"].get<double>(), 1e-8);
}

// Truth by construction: the same trial twice, as two blocks, has twice the difference and twice the
// variance.
TEST(LogRank, AddsUpOverBlocks)
{
    auto twice = freireich();
    for (Followed one : freireich()) {
        one.block = 1;
        one.time += 100;
        twice.push_back(one);
    }
    const double once = logRank(freireich())->chi_square;
    EXPECT_NEAR(logRank(twice)->chi_square, 2 * once, 1e-8);
}

TEST(LogRank, TakesThreeGroupsAndIgnoresOneThatIsNotThere)
{
    auto patients = freireich();
    for (Followed& one : patients) one.group *= 2;
    EXPECT_NEAR(logRank(patients)->chi_square, 16.7929409892, 1e-6);
    EXPECT_EQ(logRank(patients)->degrees, 1);
    patients.push_back({10, true, 1, 0});
    EXPECT_EQ(logRank(patients)->degrees, 2);
}

TEST(LogRank, IsEmptyWhereNothingCanBeCompared)
{
    EXPECT_FALSE(logRank({}));
    EXPECT_FALSE(logRank({{3, true, 0, 0}, {4, true, 0, 0}}));
    EXPECT_FALSE(logRank({{3, false, 0, 0}, {4, false, 1, 0}}));
}

// Source: Finkelstein and Wolfe 1985; masses by EM to 1e-15 with the optimality condition checked.
// Tolerance: 1e-4 on masses, 1e-6 on the log-likelihood.
TEST(TurnbullEstimate, GivesTheCosmesisTrial)
{
    for (const char* treatment : {"Rad", "RadChem", "All"}) {
        const Turnbull estimate = turnbull(cosmesis(treatment));
        size_t next = 0;
        for (const auto& row : referenceTable("03-cosmesis-npmle.csv")) {
            if (row.at("treatment") != treatment) continue;
            ASSERT_LT(next, estimate.masses.size()) << treatment;
            const Mass& mass = estimate.masses[next++];
            EXPECT_EQ(mass.span.left, number(row, "left_open")) << treatment;
            EXPECT_EQ(mass.span.right, number(row, "right_closed")) << treatment;
            EXPECT_NEAR(mass.share, number(row, "mass"), 1e-4) << treatment;
            EXPECT_NEAR(estimate.log_likelihood, number(row, "loglik"), 1e-6) << treatment;
        }
        EXPECT_EQ(next, estimate.masses.size()) << treatment;
        EXPECT_LT(estimate.gap, 1e-8);  // the condition of optimality
    }
}

// Truth: with exact times, given as spans too short to matter, it is Kaplan and Meier's estimate.
TEST(TurnbullEstimate, IsKaplanMeierForExactTimes)
{
    std::vector<Followed> patients;
    std::vector<TimeSpan> spans;
    for (const Followed& one : freireich()) {
        if (one.group != 0) continue;
        patients.push_back(one);
        spans.push_back(one.event ? TimeSpan{one.time - 0.5, one.time} : TimeSpan{one.time, kNever});
    }
    double later = 1;
    size_t next = 0;
    const Turnbull estimate = turnbull(spans);
    for (const SurvivalStep& step : kaplanMeier(patients)) {
        if (step.events == 0) continue;
        later -= estimate.masses.at(next).share;
        EXPECT_EQ(estimate.masses[next++].span.right, step.time);
        EXPECT_NEAR(later, step.survival, 1e-6);
    }
    EXPECT_EQ(next, 7U);                      // 03-freireich-km.csv: remissions of 6-MP ended at seven times
    EXPECT_EQ(medianOf(estimate).right, 23);  // published median, weeks
}

TEST(TurnbullEstimate, GivesAMedianThatMayNotHaveComeYet)
{
    EXPECT_EQ(medianOf(turnbull({{7, 14}, {21, kNever}, {21, kNever}})).right, kNever);
    EXPECT_EQ(medianOf(turnbull({{7, 14}, {21, kNever}, {21, kNever}})).left, 21);
    EXPECT_EQ(medianOf(turnbull({{0, 14}})).right, 14);
    // Half of them exactly: the first span that reaches one half.
    EXPECT_EQ(medianOf(turnbull({{7, 14}, {14, 21}})).right, 14);
    EXPECT_THROW(turnbull({}), std::invalid_argument);
    EXPECT_THROW(turnbull({{7, 7}}), std::invalid_argument);
    EXPECT_THROW(turnbull({{-1, 7}}), std::invalid_argument);
}

// Truth by calculus: the score is the derivative of log(S(left)^t - S(right)^t) at t = 1, taken here by
// differences of the log-likelihood, with a step whose error is about 1e-9.
TEST(LogRankScores, AreTheDerivativeOfTheLikelihood)
{
    const auto spans = cosmesis("All");
    const auto scores = logRankScores(spans);
    const Turnbull estimate = turnbull(spans);
    const auto later = [&](double time) {
        double share = 0;
        for (const Mass& mass : estimate.masses)
            if (mass.span.left >= time) share += mass.share;
        return share;
    };
    for (size_t i = 0; i < spans.size(); ++i) {
        const auto likelihood = [&](double t) {
            return std::log(std::pow(later(spans[i].left), t) - std::pow(later(spans[i].right), t));
        };
        EXPECT_NEAR(scores[i], (likelihood(1 + 1e-5) - likelihood(1 - 1e-5)) / 2e-5, 1e-6);
    }
    // At the maximum no rate for all would be better. Tolerance: what the estimate's own gap leaves.
    EXPECT_NEAR(std::accumulate(scores.begin(), scores.end(), 0.0), 0.0, 1e-4);
}

// Source: the trial's published conclusion: with chemotherapy retraction came sooner. Sum of scores and p
// computed with another program (Python, from the reference masses; 200 000 lots: p 0.00699, known to
// 0.00019). Tolerance: 1e-3 on the sum, what 1e-8 in the masses can do; four standard errors of both p.
TEST(LogRankScores, FindTheDifferenceOfTheCosmesisTrial)
{
    const auto spans = cosmesis("All");
    const auto scores = logRankScores(spans);
    std::vector<Unit> units;
    double rad = 0;
    for (size_t i = 0; i < spans.size(); ++i) {
        units.push_back({i < 46 ? 0 : 1, 0, scores[i], 1});
        if (i < 46) rad += scores[i];
    }
    EXPECT_NEAR(rad, -9.944182, 1e-3);  // later than by chance
    const auto chance = permutationTest(units);
    ASSERT_TRUE(chance && chance->standard_error);
    EXPECT_NEAR(chance->p, 0.00699, 4 * std::hypot(*chance->standard_error, 0.00019));
}

// Truth by construction: everybody in the same span can differ in nothing.
TEST(LogRankScores, AreAllZeroWhenAllSpansAreTheSame)
{
    for (const double score : logRankScores({{7, 14}, {7, 14}, {7, 14}})) EXPECT_NEAR(score, 0, 1e-12);
    for (const double score : logRankScores({{7, kNever}, {7, kNever}})) EXPECT_NEAR(score, 0, 1e-12);
}

}  // namespace
}  // namespace slipglass
