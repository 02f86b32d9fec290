#include "slipglass/season/medium_height.h"

#include <gtest/gtest.h>

#include <chrono>
#include <optional>

namespace slipglass {
namespace {

using namespace std::chrono_literals;

/// Photos of a tub, a week apart.
std::vector<Observation> photosOf(const std::vector<std::optional<double>>& heights)
{
    std::vector<Observation> photos;
    for (size_t i = 0; i < heights.size(); ++i) {
        Observation seen;
        seen.photo = "T01/" + std::to_string(i) + ".jpg";
        seen.tub = "T01";
        seen.taken.date = Date(std::chrono::sys_days(2026y / 1 / 5) + std::chrono::days(7 * i));
        seen.state = State::measured;
        seen.medium_height_mm = heights[i];
        photos.push_back(seen);
    }
    return photos;
}

/// Which of them are doubted.
std::vector<size_t> odd(const std::vector<std::optional<double>>& heights)
{
    std::vector<Observation> photos = photosOf(heights);
    std::vector<Problem> problems;
    doubtOddHeights(photos, problems);
    std::vector<size_t> which;
    for (size_t i = 0; i < photos.size(); ++i)
        if (photos[i].state == State::caution) which.push_back(i);
    EXPECT_EQ(problems.size(), which.size());
    return which;
}

using Which = std::vector<size_t>;

TEST(MediumHeight, IsDoubtedWhereThePhotosAroundAgreeOnAnother)
{
    EXPECT_EQ(odd({101, 54, 102, 101}), Which{1});
    EXPECT_EQ(odd({54, 102, 101, 102}), Which{0}) << "the first";
    EXPECT_EQ(odd({102, 101, 102, 113}), Which{3}) << "the last";
    EXPECT_EQ(odd({101, 102, 100, 104}), Which{}) << "as far as it is read right";
}

TEST(MediumHeight, MaySettleAndBeFilledUp)
{
    EXPECT_EQ(odd({110, 104, 99, 95, 92, 90}), Which{});
    EXPECT_EQ(odd({90, 90, 110, 110}), Which{}) << "more was put in";
    EXPECT_EQ(odd({90, 110}), Which{}) << "of two none is right";
    EXPECT_EQ(odd({90, 54, 110}), Which{}) << "those around do not agree";
}

TEST(MediumHeight, AsksOnlyPhotosThatTellIt)
{
    EXPECT_EQ(odd({101, {}, 54, {}, 102}), Which{2});
    std::vector<Observation> photos = photosOf({101, 54, 102});
    photos[1].state = State::retake;
    photos[2].tub = "T02";
    std::vector<Problem> problems;
    doubtOddHeights(photos, problems);
    EXPECT_TRUE(problems.empty());
}

TEST(MediumHeight, WidensTheIntervalOnce)
{
    std::vector<Observation> photos = photosOf({101, 54, 102});
    photos[1].coverage_percent = 4;
    photos[1].photos_read = 3;
    photos[1].parts.resize(1);
    photos[1].parts[0].coverage_percent = 10;
    std::vector<Problem> problems;
    doubtOddHeights(photos, problems);
    // Twice 0.1 + 0.13 of the coverage: docs/measured/intervals.md.
    EXPECT_NEAR(*photos[1].coverage_low, 4 - 1.24, 1e-9);
    EXPECT_NEAR(*photos[1].coverage_high, 4 + 1.24, 1e-9);
    EXPECT_NEAR(*photos[1].parts[0].coverage_high, 10 + 2.8, 1e-9);
    photos[1].coverage_low = 1;
    doubtOddHeights(photos, problems);
    EXPECT_EQ(photos[1].coverage_low, 1) << "caution already";
}

TEST(MediumHeight, SaysHowFarAndWhatToDo)
{
    std::vector<Observation> photos = photosOf({101, 54, 102});
    photos[1].notes = {"the picture is dark"};
    std::vector<Problem> problems;
    doubtOddHeights(photos, problems);
    ASSERT_EQ(problems.size(), 1U);
    EXPECT_EQ(problems[0].file, "T01/1.jpg");
    EXPECT_EQ(problems[0].tub, "T01");
    EXPECT_EQ(problems[0].state, "caution");
    EXPECT_EQ(problems[0].reason, "the medium's surface was read 48 mm lower than on the photos around it");
    EXPECT_EQ(photos[1].notes, (std::vector<std::string>{"the picture is dark", problems[0].reason}));
}

}  // namespace
}  // namespace slipglass
