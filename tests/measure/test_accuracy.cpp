// How well the whole path does on the sample season. The samples are renderings, not photographs
// (sample-images/README.md): these figures say that the program still does what it did, not what it will do
// on a windowsill. Bounds are two-sided: a loss has to be put right, an unexplained gain has to be looked at.
#include <gtest/gtest.h>

#include "../support/samples.h"
#include "../support/scratch_folder.h"
#include "parts_truth.h"
#include "slipglass/measure.h"
#include "slipglass/verify/show.h"

namespace slipglass {
namespace {

class Accuracy : public testing::Test {
protected:
    static void SetUpTestSuite()
    {
        const test::ScratchFolder scratch;
        MeasureOptions options;
        options.photos = {test::kSamples / "photos"};
        options.batch = test::kSamples / "batch.csv";
        options.out = scratch.path() / "out";
        options.today = Date{std::chrono::year{2026} / 4 / 1};
        result_ = measure(options, {});
        const Verification verification = verify(options.out, test::kSamples / "truth", {});
        problems_ = verification.problems;
        all_ = summaryOf(verification.photos);
        std::cout << summaryTable(verification);
        halves_ = test::scoreParts(options, {"left", "right"}, {-2.0 / 3, 2.0 / 3});
        thirds_ = test::scoreParts(options, {"left", "middle", "right"}, {-2.0 / 3, 0, 2.0 / 3});
        for (const test::PartsScore& s : {halves_, thirds_})
            std::cout << s.parts << " parts of walls: coverage error " << s.error_median << " in the median, "
                      << s.error_ninth_decile << " nine in ten; roots seen on " << s.above_limit << " of "
                      << s.rootless << " without; interval holds on " << s.interval_hit_share << '\n';
    }

    static void expectWithin(const std::optional<double>& figure, double low, double high)
    {
        ASSERT_TRUE(figure);
        EXPECT_GE(*figure, low);
        EXPECT_LE(*figure, high);
    }

    inline static MeasureResult result_;
    inline static Summary all_;
    inline static std::vector<std::string> problems_;
    inline static test::PartsScore halves_, thirds_;
};

// Nothing is wrong with any of them that would be a reason to refuse it.
TEST_F(Accuracy, MeasuresAllSamples)
{
    EXPECT_EQ(all_.photos, 36);
    EXPECT_EQ(all_.compared, 36);
    EXPECT_TRUE(problems_.empty());
    EXPECT_EQ(result_.measured, 36);
    EXPECT_EQ(result_.not_measured, 0);
}

// Reached: 0.980 in the median, and a precision of 0.976 on nine of ten. Before maps changed they were 0.001
// and 0.002 lower (docs/measured/tub.md); a renderer's wall and ours cannot agree at the grains of the
// surface.
TEST_F(Accuracy, FindsTheWall)
{
    expectWithin(all_.wall_iou_median, 0.97, 0.99);
    expectWithin(all_.wall_precision_p10, 0.965, 0.987);
}

// Reached: 0.3 %; from half to twice of that.
TEST_F(Accuracy, FindsTheScale)
{
    expectWithin(all_.scale_error_median, 0.0015, 0.006);
}

// Reached: Dice 0.844, with 2 px of edge forgiven 0.964. Their lower bounds are the aims of
// docs/measured/agreement.md; upwards they may move by what the map of 2026-11-29 brought over that before it
// (0.829, 0.944: docs/measured/roots.md). Precision and recall, 0.806 and 0.885, forgiven 0.979 and 0.949,
// trade for each other, so they may move by twice as much.
TEST_F(Accuracy, FindsTheRoots)
{
    expectWithin(all_.dice, 0.83, 0.86);
    expectWithin(all_.precision, 0.776, 0.836);
    expectWithin(all_.recall, 0.855, 0.915);
    expectWithin(all_.tolerant_dice, 0.94, 0.984);
    expectWithin(all_.tolerant_precision, 0.95, 0.995);
    expectWithin(all_.tolerant_recall, 0.92, 0.98);
}

// Reached: 0.91 of the length, median. Two ways of calling roots, from 0.35 or 0.4 on, differ by 0.004
// (docs/measured/roots.md); 0.03 is what one side root of 30 mm is of a wall with a metre of root.
TEST_F(Accuracy, MeasuresTheLengthOfRoots)
{
    expectWithin(all_.root_length_ratio_median, 0.88, 0.94);
}

// Reached: an error of 0.01 points in the median, a figure's last decimal, so that only more is to be looked
// at; of 0.60 on nine of ten; 0.03 at most where there is no root. 0.8 and 0.2 are the aims of
// docs/measured/agreement.md; the map before reached 0.26 and 0.10 (docs/measured/roots.md).
TEST_F(Accuracy, MeasuresCoverage)
{
    EXPECT_LE(all_.coverage_error_median.value_or(9), 0.03);
    expectWithin(all_.coverage_error_p90, 0.4, 0.8);
    expectWithin(all_.false_coverage_max, 0.005, 0.1);
    EXPECT_EQ(all_.rootless, 13);
}

// Water stands on 16 photos, by 2 mm or more (sample-images/truth). Reached: 15 levels, 20 times none, and
// none of these wrong; of 1 it is not known (of 6 before the foot's heel was expected where it is seen). A
// wrong one is to be looked at, and so are more than two that are known now and were not, or the other way.
// Level: 0.2 mm off in the median and 0.4 on nine of ten, most of it the floor (docs/measured/agreement.md);
// a row of pixels is 0.17 mm.
TEST_F(Accuracy, FindsTheWater)
{
    EXPECT_EQ(all_.standing.fp, 0);
    EXPECT_EQ(all_.standing.fn, 0);
    EXPECT_NEAR(all_.standing.tp, 14, 2);
    EXPECT_NEAR(all_.standing.tn, 19, 2);
    EXPECT_EQ(all_.water_levels, all_.standing.tp);
    expectWithin(all_.water_error_median_mm, 0.03, 0.37);
    expectWithin(all_.water_error_p90_mm, 0.1, 0.7);
}

// 90 % intervals. Coverage: reached on 33 of 36; 30 to 35 of them: all 36, or fewer than 30, would come of 90
// % once in 44 and once in 16 times. Water: on 14 of 14, which comes of 90 % once in four times, so that only
// a lower bound says anything: fewer than 12 come once in 6 times.
TEST_F(Accuracy, GivesIntervalsThatHold)
{
    expectWithin(all_.coverage_interval_hit_share, 30 / 36.0, 35 / 36.0);
    EXPECT_GE(all_.water_interval_hit_share.value_or(0), 12 / 14.0);
}

// Half a wall and a third of one are as good as a whole: errors and intervals as above. Reached: 0.02 points
// in the median for both, 0.52 and 0.72 on nine of ten; intervals hold on 94 and 92 %; of 29 and 48 parts
// without a root none shows more than the detection limit, which promises 19 of 20. Two days before it was
// 0.03 and 0.02, 0.61 and 0.60, 93 and 92 % (docs/measured/intervals.md).
TEST_F(Accuracy, MeasuresPartsOfAWallAsWellAsTheWhole)
{
    EXPECT_EQ(halves_.parts, 2 * 36);
    EXPECT_EQ(thirds_.parts, 3 * 36);
    EXPECT_NEAR(halves_.rootless, 29, 2);
    EXPECT_NEAR(thirds_.rootless, 48, 2);
    for (const test::PartsScore& score : {halves_, thirds_}) {
        expectWithin(score.error_median, 0.01, 0.04);
        expectWithin(score.error_ninth_decile, 0.4, 0.8);
        expectWithin(score.interval_hit_share, 0.87, 0.97);
        EXPECT_LE(score.above_limit, score.rootless / 20.0);
    }
}

}  // namespace
}  // namespace slipglass
