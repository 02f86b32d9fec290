// A drawn plan as a file, read back by the reader that `measure` uses.
#include <gtest/gtest.h>

#include "slipglass/report/plan_csv.h"
#include "slipglass/season/draw_plan.h"

namespace slipglass {
namespace {

using namespace std::chrono_literals;
const Date kStuckOn = 2026y / 1 / 12, kLater = 2026y / 2 / 1;

void expectSame(const PlannedCutting& read, const PlannedCutting& drawn)
{
    EXPECT_EQ(read.cutting, drawn.cutting);
    EXPECT_EQ(read.tub, drawn.tub);
    EXPECT_EQ(read.position, drawn.position);
    EXPECT_EQ(read.variety, drawn.variety);
    EXPECT_EQ(read.medium, drawn.medium);
    EXPECT_EQ(read.treatment, drawn.treatment);
    EXPECT_EQ(read.tub_type, drawn.tub_type);
    EXPECT_EQ(read.note, drawn.note);
    EXPECT_EQ(read.stuck_on, drawn.stuck_on);
    EXPECT_EQ(read.own_columns, drawn.own_columns);
}

TEST(PlanCsv, IsReadBackAsItWasDrawnAndWithoutWarnings)
{
    for (int cuttings = 1; cuttings <= 3; ++cuttings) {
        BatchWish wish;
        wish.tubs = 12;
        wish.cuttings_per_tub = cuttings;
        const std::vector<std::string> varieties{"Quince Plot Nine", "Mulberry \"Top Gate\""};
        const std::vector<std::string> media{"peat, perlite", "thirds; sieved", "grün"};
        wish.factors.push_back({"variety", varieties});
        wish.factors.push_back({"medium", media});
        wish.stuck_on = kStuckOn;
        wish.tub_type = "quart";
        const Plan drawn = drawPlan(wish).plan;
        const Plan read = parsePlan(planCsv(drawn), "batch.csv", kLater);
        EXPECT_TRUE(read.warnings.empty()) << read.warnings.front();
        EXPECT_EQ(read.own_column_names, drawn.own_column_names);
        ASSERT_EQ(read.cuttings.size(), drawn.cuttings.size());
        for (size_t i = 0; i < read.cuttings.size(); ++i) expectSame(read.cuttings[i], drawn.cuttings[i]);
    }
}

TEST(PlanCsv, LeavesOutColumnsWithNothingInThem)
{
    Plan plan;
    plan.cuttings.push_back({});
    plan.cuttings.back().cutting = plan.cuttings.back().tub = "T01";
    plan.cuttings.back().stuck_on = kStuckOn;
    plan.own_column_names = {"block"};
    plan.cuttings.back().own_columns.emplace("block", "1");
    EXPECT_EQ(planCsv(plan), "cutting,tub,stuck_on,block\r\nT01,T01,2026-01-12,1\r\n");
}

}  // namespace
}  // namespace slipglass
