#include "slipglass/verify/summary.h"

#include <gtest/gtest.h>

#include <opencv2/imgproc.hpp>
#include <stdexcept>

#include "../support/table.h"

namespace slipglass {
namespace {

// Source: 12-segmentation-agreement.csv (Dice 1945, Jaccard 1901), by formula and scikit-learn 1.2.1; an
// empty cell is 0/0. Tolerance: the table prints ten decimals.
constexpr double kTablePrecision = 1e-10;

void expectCell(const std::optional<double>& value, const test::Row& row, const std::string& column)
{
    const std::string& cell = row.at(column);
    if (cell.empty()) {
        EXPECT_FALSE(value.has_value()) << row.at("name") << ": " << column;
        return;
    }
    ASSERT_TRUE(value.has_value()) << row.at("name") << ": " << column;
    EXPECT_NEAR(*value, std::stod(cell), kTablePrecision) << row.at("name") << ": " << column;
}

TEST(Agreement, MatchesPublishedDefinitions)
{
    const auto rows = test::referenceTable("12-segmentation-agreement.csv");
    ASSERT_EQ(rows.size(), 9U);
    for (const auto& row : rows) {
        const auto px = [&](const char* column) { return static_cast<long>(test::number(row, column)); };
        Overlap overlap;
        overlap.both = px("tp");
        overlap.found = px("tp") + px("fp");
        overlap.drawn = px("tp") + px("fn");
        const Shares shares = sharesOf(overlap);
        expectCell(shares.dice, row, "dice_f1");
        expectCell(shares.iou, row, "iou_jaccard");
        expectCell(shares.precision, row, "precision");
        expectCell(shares.recall, row, "recall");
    }
}

// The same tables, drawn as masks.
TEST(Agreement, CountsPixelsOfMasks)
{
    for (const auto& row : test::referenceTable("12-segmentation-agreement.csv")) {
        cv::Mat found, drawn;
        for (const auto& [column, is_found, is_drawn] : {std::tuple("tp", 255, 255), std::tuple("fp", 255, 0),
                                                         std::tuple("fn", 0, 255), std::tuple("tn", 0, 0)}) {
            const int count = std::stoi(row.at(column));
            if (count == 0) continue;
            found.push_back(cv::Mat(count, 1, CV_8UC1, cv::Scalar(is_found)));
            drawn.push_back(cv::Mat(count, 1, CV_8UC1, cv::Scalar(is_drawn)));
        }
        const Overlap overlap = overlapOf(found, drawn, 0);
        expectCell(sharesOf(overlap).dice, row, "dice_f1");
        expectCell(tolerantSharesOf(overlap).dice, row, "dice_f1");  // nothing to forgive with 0 px
        expectCell(tolerantSharesOf(overlap).precision, row, "precision");
        expectCell(tolerantSharesOf(overlap).recall, row, "recall");
    }
}

cv::Mat line(int y)
{
    cv::Mat mask = cv::Mat::zeros(40, 60, CV_8UC1);
    cv::line(mask, {5, y}, {54, y}, cv::Scalar(255));
    return mask;
}

// By construction: a line 2 px beside the drawn one is right within 2 px and wrong within 1.
TEST(Agreement, ForgivesAnEdgeWithinTheTolerance)
{
    EXPECT_EQ(tolerantSharesOf(overlapOf(line(20), line(22), 2)).dice, 1.0);
    EXPECT_EQ(tolerantSharesOf(overlapOf(line(20), line(22), 2)).iou, 1.0);
    EXPECT_EQ(tolerantSharesOf(overlapOf(line(20), line(22), 1)).dice, 0.0);
    EXPECT_EQ(sharesOf(overlapOf(line(20), line(22), 2)).dice, 0.0);
}

TEST(Agreement, DoesNotForgiveALineThatIsNotThere)
{
    const Shares shares = tolerantSharesOf(overlapOf(line(10) | line(30), line(10), 2));
    EXPECT_EQ(shares.precision, 0.5);
    EXPECT_EQ(shares.recall, 1.0);
}

TEST(Agreement, RefusesMasksOfTwoSizes)
{
    EXPECT_THROW(overlapOf(line(1), cv::Mat::zeros(3, 3, CV_8UC1), 2), std::invalid_argument);
}

// By construction: 1200 of 60 x 40 px are shared wall, the drawn line has 50 px in it, the found one 25.
TEST(Agreement, ComparesRootsInsideTheSharedWallOnly)
{
    cv::Mat upper = cv::Mat::zeros(40, 60, CV_8UC1);
    upper.rowRange(0, 30) = 255;
    cv::Mat lower = cv::Mat::zeros(40, 60, CV_8UC1);
    lower.rowRange(10, 40) = 255;
    cv::Mat found = line(20) | line(35);  // the second lies outside the drawn wall
    found.colRange(30, 60) = 0;
    const Masks drawn_masks{line(20) | line(5), upper}, found_masks{found, lower};

    const PhotoAgreement seen = agreementOn("a", {}, drawn_masks, {}, found_masks, {});
    EXPECT_EQ(seen.outcome, "compared");
    ASSERT_TRUE(seen.roots.has_value());
    EXPECT_EQ(seen.roots->both, 25);
    EXPECT_EQ(seen.roots->found, 25);
    EXPECT_EQ(seen.roots->drawn, 50);
    EXPECT_DOUBLE_EQ(seen.mask_coverage_percent.value(), 100.0 * 25 / 1200);
    EXPECT_DOUBLE_EQ(seen.true_mask_coverage_percent.value(), 100.0 * 50 / 1200);
    EXPECT_DOUBLE_EQ(seen.wall_iou.value(), 0.5);
    EXPECT_DOUBLE_EQ(seen.wall_precision.value(), 1200.0 / 1800);
    EXPECT_EQ(cv::countNonZero(lower), 1800);  // what was passed in is as it was
}

TEST(Agreement, SaysWhenTheWallsDoNotMeet)
{
    cv::Mat top = cv::Mat::zeros(40, 60, CV_8UC1), bottom = top.clone();
    top.rowRange(0, 10) = 255;
    bottom.rowRange(30, 40) = 255;
    const PhotoAgreement seen = agreementOn("a", {}, {line(5), top}, {}, {line(35), bottom}, {});
    EXPECT_EQ(seen.outcome, "wrong place");
    EXPECT_FALSE(seen.dice.has_value());
    EXPECT_EQ(summaryOf({seen}).compared, 0);
}

TEST(Agreement, ComparesWithoutADrawnWall)
{
    const cv::Mat wall(40, 60, CV_8UC1, cv::Scalar(255));
    const PhotoAgreement seen = agreementOn("a", {}, {line(20), {}}, {}, {line(20), wall}, {});
    EXPECT_EQ(seen.dice, 1.0);
    EXPECT_FALSE(seen.wall_iou.has_value());
}

// Source: numpy.quantile's documentation, method 'linear': of (1, 2, 3, 10) the 0.5 quantile is 2.5, the 0.9
// one 7.9.
TEST(Agreement, InterpolatesQuantiles)
{
    EXPECT_DOUBLE_EQ(quantile({10, 1, 3, 2}, 0.5).value(), 2.5);
    EXPECT_DOUBLE_EQ(quantile({10, 1, 3, 2}, 0.9).value(), 7.9);
    EXPECT_DOUBLE_EQ(quantile({4}, 0.9).value(), 4);
    EXPECT_FALSE(quantile({}, 0.5).has_value());
}

TEST(Agreement, LeavesEmptyWhatNoPhotoCanSay)
{
    const Summary none = summaryOf({});
    EXPECT_EQ(none.photos, 0);
    EXPECT_FALSE(none.measured_share.has_value());
    EXPECT_FALSE(none.dice.has_value());
    EXPECT_FALSE(none.standing_f1.has_value());
    EXPECT_FALSE(none.false_coverage_max.has_value());
}

}  // namespace
}  // namespace slipglass
