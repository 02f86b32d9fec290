#include <gtest/gtest.h>

#include "../support/season_maker.h"
#include "slipglass/flags/flags.h"

namespace slipglass {
namespace {

using test::covered;
using test::day;
using test::planned;
using test::unmeasured;
using test::watered;

std::vector<std::string> linesOf(const std::vector<Observation>& seen, const Plan& plan)
{
    const auto series = buildSeries(seen, plan, {});
    return tubSummaryLines(series, findFlags(series, {}));
}

TEST(TubSummary, HasALinePerTubMostUrgentFirst)
{
    Plan plan;
    plan.cuttings = {planned("T1", "T1"), planned("T2", "T2"), planned("T3", "T3"), planned("T10a", "T10"),
                     planned("T10b", "T10")};
    auto rooted = covered(7, 3.26, "T1");
    rooted.root_length_mm = 310.4;
    const auto lines = linesOf({covered(0, 0.5, "T1"), rooted, unmeasured(7, "dark", "T2"),
                                watered(0, 5, "T10"), watered(7, 6, "T10")},
                               plan);
    EXPECT_EQ(lines, (std::vector<std::string>{
                         "T10  act today  waterlogged since 2026-01-19; water 6 mm, day 7",
                         "T2   note       retake since 2026-01-19; day 7", "T3   note       no photo yet",
                         "T1   fine       struck by 2026-01-12; roots 3.3 %, length 310 mm, day 7"}));
}

TEST(TubSummary, SaysHowATubsCuttingLeft)
{
    Plan plan;
    plan.cuttings = {planned("T1", "T1"), planned("T2", "T2")};
    plan.cuttings[0].potted_up_on = day(20);
    plan.cuttings[1].given_up_on = day(20);
    const auto lines = linesOf({covered(0, 0.5, "T1"), covered(7, 1, "T1"), covered(7, 0, "T2")}, plan);
    ASSERT_EQ(lines.size(), 2U);
    EXPECT_EQ(lines[0], "T1  fine       potted up on 2026-02-01; roots 1.0 %, day 7");
    EXPECT_EQ(lines[1], "T2  fine       given up on 2026-02-01; roots 0.0 %, day 7");
}

TEST(TubSummary, StaysWithin80ColumnsUnlessIdsAreLong)
{
    Plan plan;
    plan.cuttings = {planned("Weidenkübel 7", "Weidenkübel 7")};
    auto seen = watered(50, 12, "Weidenkübel 7");
    seen.coverage_percent = 0.1;
    seen.root_length_mm = 5;
    const auto lines = linesOf({seen}, plan);
    ASSERT_EQ(lines.size(), 1U);
    EXPECT_LE(lines[0].size(), 81U);  // one letter has two bytes
    EXPECT_NE(lines[0].find("standing-water since 2026-03-03, no-roots-yet"), std::string::npos) << lines[0];
}

TEST(TubSummary, LetsNoIdPlayWithTheTerminal)
{
    const auto series = buildSeries({covered(0, 0, "T\x1b[2J\n1")}, std::nullopt, {});
    const auto lines = tubSummaryLines(series, {});
    ASSERT_EQ(lines.size(), 1U);
    EXPECT_EQ(lines[0].substr(0, 8), "T?[2J?1 ");
}

}  // namespace
}  // namespace slipglass
