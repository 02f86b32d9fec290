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

// Issue 2: at least 95 % of the photos.
TEST_F(Accuracy, MeasuresAllSamples)
{
    EXPECT_EQ(all_.photos, 36);
    EXPECT_EQ(all_.compared, 36);
    EXPECT_TRUE(problems_.empty());
    EXPECT_EQ(result_.measured, 36);
    EXPECT_EQ(result_.not_measured, 0);
}

// Issue 2: 0.90 in the median. A renderer's wall and ours cannot agree at the grains of the surface.
TEST_F(Accuracy, FindsTheWall)
{
    expectWithin(all_.wall_iou_median, 0.90, 0.995);
}

// Issue 2: 3 % in the median.
TEST_F(Accuracy, FindsTheScale)
{
    expectWithin(all_.scale_error_median, 0, 0.03);
}

// Issue 3 asks for a Dice of 0.82, for at most 0.3 points of coverage where there is no root, and for an error
// of 0.25 points. Two people's masks of thin things hardly agree beyond 0.95.
TEST_F(Accuracy, FindsTheRoots)
{
    expectWithin(all_.dice, 0.82, 0.95);
    expectWithin(all_.false_coverage_max, 0, 0.3);
    expectWithin(all_.coverage_error_median, 0, 0.25);
    EXPECT_GE(all_.rootless, 6);
}

// Issue 2: F1 0.85, 2 mm. A level is told to within a row of pixels at best, 0.17 mm.
TEST_F(Accuracy, FindsTheWater)
{
    expectWithin(all_.standing_f1, 0.95, 1);
    expectWithin(all_.water_error_median_mm, 0.02, 1);
    EXPECT_GE(all_.water_levels, 12);
}

// Of 90 % intervals two thirds to all must hold, on so few photos.
TEST_F(Accuracy, GivesIntervalsThatHold)
{
    expectWithin(all_.coverage_interval_hit_share, 0.65, 1);
    expectWithin(all_.water_interval_hit_share, 0.65, 1);
}

// Half a wall and a third of one are as good as a whole: errors and intervals as above, and where there is no
// root, none is seen on 19 of 20, which is what the detection limit promises.
TEST_F(Accuracy, MeasuresPartsOfAWallAsWellAsTheWhole)
{
    EXPECT_EQ(halves_.parts, 2 * 36);
    EXPECT_EQ(thirds_.parts, 3 * 36);
    for (const test::PartsScore& score : {halves_, thirds_}) {
        expectWithin(score.error_median, 0, 0.8);
        expectWithin(score.interval_hit_share, 0.8, 1);
        EXPECT_GE(score.rootless, 12);
        EXPECT_LE(score.above_limit, score.rootless / 20.0);
    }
}

}  // namespace
}  // namespace slipglass
