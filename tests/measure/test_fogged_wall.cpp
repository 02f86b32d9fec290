// Fog over a whole wall, and wetness, as a season tells them: both compare a tub's photos with each other.
#include <gtest/gtest.h>

#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>

#include "../support/samples.h"
#include "../support/scratch_folder.h"
#include "../support/season_folder.h"
#include "slipglass/measure.h"

namespace slipglass {
namespace {

namespace fs = std::filesystem;

/// The sample with fog over all of its wall, that takes three fifths of the grains' light and adds a pale
/// grey: by a power of 2.2 in place of sRGB's curve, the drawing need not be exact.
void paintFogged(const std::string& sample, const fs::path& to)
{
    cv::Mat light, wall;
    cv::imread(test::samplePhoto(sample).string()).convertTo(light, CV_32F, 1 / 255.0);
    wall = cv::imread((test::kSamples / "truth" / (sample + ".wall.png")).string(), cv::IMREAD_GRAYSCALE);
    cv::pow(light, 2.2, light);
    const cv::Mat fog = 0.4 * light + cv::Scalar::all(0.14);
    fog.copyTo(light, wall);
    cv::pow(light, 1 / 2.2, light);
    light.convertTo(light, CV_8U, 255);
    cv::imwrite(to.string(), light, {cv::IMWRITE_JPEG_QUALITY, 95});
}

MeasureOptions optionsFor(const fs::path& photos, const fs::path& out, const test::ScratchFolder& scratch)
{
    MeasureOptions options;
    options.photos = {photos};
    options.out = out;
    options.batch = scratch.write("batch.csv", "tub,tub_type\nT01,quart\n");
    options.threads = 2;
    options.today = Date{std::chrono::year{2026} / 4 / 1};
    return options;
}

TEST(FoggedWall, IsToldWhereverInTheSeasonItWasAndHowEverThePhotosCame)
{
    const test::ScratchFolder scratch;
    const fs::path photos = scratch / "photos", out = scratch / "out";
    fs::create_directories(photos);
    paintFogged("T01_2026-02-17", photos / "T01_2026-02-17.jpg");
    const auto alone = measure(optionsFor(photos, out, scratch), {}).season.observations;
    ASSERT_EQ(alone.size(), 1U);
    EXPECT_LT(alone[0].condensation_percent.value_or(100), 10) << "nothing to compare it with";
    EXPECT_FALSE(alone[0].wetness);

    for (const char* sample : {"T01_2026-01-12", "T01_2026-01-26", "T01_2026-02-24"})
        fs::copy_file(test::samplePhoto(sample), photos / (std::string(sample) + ".jpg"));
    const auto seen = measure(optionsFor(photos, out, scratch), {}).season.observations;
    ASSERT_EQ(seen.size(), 4U);
    EXPECT_GT(seen[2].condensation_percent.value_or(0), 80);
    EXPECT_FALSE(seen[2].wetness) << "fog hides the medium";
    for (const size_t i : {0U, 1U, 3U}) {
        EXPECT_LT(seen[i].condensation_percent.value_or(100), 5) << seen[i].photo;
        EXPECT_NEAR(seen[i].wetness.value_or(-1), 0.5, 0.2) << "settings 0.55, 0.5, 0.5";
    }
    EXPECT_EQ(measure(optionsFor(photos, out, scratch), {}).measured, 0) << "nothing is new";
    measure(optionsFor(photos, scratch / "anew", scratch), {});
    EXPECT_EQ(test::seasonText(out), test::seasonText(scratch / "anew"));
    EXPECT_EQ(test::filesBelow(out).at("observations.csv"),
              test::filesBelow(scratch / "anew").at("observations.csv"));
}

}  // namespace
}  // namespace slipglass
