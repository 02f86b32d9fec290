// teach on renderings whose truth is known (sample-images/README.md), lit anew by the purple of a lamp for
// plants, under which the learned map does worse than in daylight: strokes where a careful person would draw
// them on three photos of a tub, by truth, and the other three photos judged by truth. Each photo is read by
// itself: read together, what is said on one photo spreads to the tub's others without teaching (last test).
#include "slipglass/teach.h"

#include <gtest/gtest.h>

#include <opencv2/imgcodecs.hpp>

#include "../support/purple_lamp.h"
#include "../support/samples.h"
#include "../support/scratch_folder.h"
#include "../support/season_folder.h"
#include "../support/strokes_from_truth.h"
#include "slipglass/error.h"

namespace slipglass {
namespace {

namespace fs = std::filesystem;

const std::vector<std::string> kCorrected = {"T03_2026-01-28", "T03_2026-02-12", "T03_2026-03-04"};
const std::vector<std::string> kOthers = {"T03_2026-01-15", "T03_2026-02-04", "T03_2026-02-22"};
constexpr Date kToday{std::chrono::year{2026} / 4 / 1};

cv::Mat maskOf(const fs::path& path)
{
    return cv::imread(path.string(), cv::IMREAD_GRAYSCALE);
}

/// Measured once for all tests; each test that changes it puts it back.
class Teaching : public testing::Test {
protected:
    static void SetUpTestSuite()
    {
        scratch_ = std::make_unique<test::ScratchFolder>();
        for (const auto* stems : {&kCorrected, &kOthers})
            for (const std::string& stem : *stems) {
                fs::create_directories(*scratch_ / "photos");
                test::writeUnderPurpleLamp(test::samplePhoto(stem), *scratch_ / "photos" / (stem + ".jpg"));
            }
        run();
        fs::create_directories(*scratch_ / "corrections");
        for (const std::string& stem : kCorrected) {
            Correction correction;
            const fs::path masks = out() / "masks";
            correction.strokes =
                test::strokesFromTruth(maskOf(masks / (stem + ".roots.png")),
                                       maskOf(test::kSamples / "truth" / (stem + ".roots.png")),
                                       maskOf(masks / (stem + ".wall.png")));
            scratch_->write("corrections/" + stem + ".json", correctionText(correction));
        }
    }
    static void TearDownTestSuite() { scratch_.reset(); }

    static fs::path out() { return *scratch_ / "out"; }

    static fs::path byItself()
    {
        return scratch_->write("settings.json", R"({"roots": {"history": false}})");
    }

    static MeasureResult run(std::vector<std::string>* warnings = nullptr)
    {
        MeasureOptions options;
        options.photos = {*scratch_ / "photos"};
        options.out = out();
        options.settings = byItself();
        options.batch = scratch_->write("batch.csv", "tub,tub_type\nT03,quart\n");
        options.threads = 2;
        options.today = kToday;
        MeasureEvents events;
        if (warnings) events.warn = [=](const std::string& w) { warnings->push_back(w); };
        return measure(options, events);
    }

    static TeachResult teachFrom(const fs::path& corrections, int threads = 2)
    {
        TeachOptions options;
        options.out = out();
        options.corrections = corrections;
        options.photos = {*scratch_ / "photos"};
        options.batch = *scratch_ / "batch.csv";
        options.settings = byItself();
        options.threads = threads;
        options.today = kToday;
        return teach(options, {});
    }

    /// Dice (1945) of the masks with truth, over the photos that were not corrected.
    static double diceOnOthers(const fs::path& season = out())
    {
        double both = 0, sum = 0;
        for (const std::string& stem : kOthers) {
            const cv::Mat wall = maskOf(test::kSamples / "truth" / (stem + ".wall.png")),
                          truth = maskOf(test::kSamples / "truth" / (stem + ".roots.png")) & wall,
                          found = maskOf(season / "masks" / (stem + ".roots.png")) & wall;
            both += cv::countNonZero(truth & found);
            sum += cv::countNonZero(truth) + cv::countNonZero(found);
        }
        return 2 * both / sum;
    }

    inline static std::unique_ptr<test::ScratchFolder> scratch_;
};

TEST_F(Teaching, MakesPhotosBetterThatWereNotCorrectedAndCanBeUndoneBitForBit)
{
    const double before = diceOnOthers();
    const auto files = test::filesBelow(out());
    const std::string season = test::seasonText(out());

    const TeachResult result = teachFrom(*scratch_ / "corrections");
    ASSERT_TRUE(result.in_use) << result.why_not;
    EXPECT_TRUE(result.problems.empty());
    EXPECT_EQ(result.taught.learnt_from.size(), 3u);
    EXPECT_EQ(result.taught.elsewhere.size(), 3u);
    EXPECT_GT(*result.taught.held_out_after.right, *result.taught.held_out_before.right);
    const std::string taught = test::readBytes(out() / "taught.json");

    EXPECT_EQ(run().measured, 6);
    const double after = diceOnOthers();
    std::cout << "Dice on photos that were not corrected: " << before << " -> " << after << "\n";
    EXPECT_GT(after, before + 0.01);
    EXPECT_EQ(run().measured, 0);

    // Again, on one thread, from a season that is measured with what was taught before: the same bytes.
    EXPECT_TRUE(teachFrom(*scratch_ / "corrections", 1).in_use);
    EXPECT_EQ(test::readBytes(out() / "taught.json"), taught);

    EXPECT_TRUE(forgetTaught(out()));
    EXPECT_FALSE(forgetTaught(out()));
    EXPECT_EQ(run().measured, 6);
    EXPECT_TRUE(test::filesBelow(out()) == files);
    EXPECT_EQ(test::seasonText(out()), season);
}

TEST_F(Teaching, OfAnotherRootMapOrDamagedIsNotUsedAndSaysSo)
{
    Taught other;
    other.model = "0000000000000000";
    other.layer = {std::vector<double>(8, 0.0), 5};
    for (const std::string& text : {taughtText(other), std::string("nonsense")}) {
        scratch_->write("out/taught.json", text);
        std::vector<std::string> warnings;
        EXPECT_EQ(run(&warnings).measured, 0) << "figures stay those of the shipped layer";
        ASSERT_EQ(warnings.size(), 1u);
        EXPECT_NE(warnings[0].find("taught.json"), std::string::npos);
        EXPECT_NE(warnings[0].find("--undo"), std::string::npos);
    }
    forgetTaught(out());
}

TEST_F(Teaching, FromOnePhotoKeepsTheMapAsItWas)
{
    const fs::path one = *scratch_ / "one";
    fs::create_directories(one);
    fs::copy_file(*scratch_ / "corrections" / (kCorrected[2] + ".json"), one / (kCorrected[2] + ".json"));
    const TeachResult result = teachFrom(one);
    EXPECT_FALSE(result.in_use);
    EXPECT_NE(result.why_not.find("two photos"), std::string::npos);
    EXPECT_FALSE(fs::exists(out() / "taught.json"));
}

TEST_F(Teaching, NeedsASeasonAndStrokes)
{
    const fs::path none = *scratch_ / "none";
    fs::create_directories(none);
    EXPECT_THROW(teachFrom(none), Error);
    TeachOptions options;
    options.out = none;
    options.corrections = *scratch_ / "corrections";
    options.photos = {*scratch_ / "photos"};
    options.today = kToday;
    EXPECT_THROW(teach(options, {}), Error);
    EXPECT_FALSE(fs::exists(none / "season.db"));
}

TEST_F(Teaching, IsNotNeededForTheSameTubWhosePhotosAreReadTogether)
{
    MeasureOptions options;
    options.photos = {*scratch_ / "photos"};
    options.batch = *scratch_ / "batch.csv";
    options.threads = 2;
    options.today = kToday;
    options.out = *scratch_ / "together";
    measure(options, {});
    const double before = diceOnOthers(options.out);
    options.corrections = *scratch_ / "corrections";
    EXPECT_EQ(measure(options, {}).measured, 3);
    const double after = diceOnOthers(options.out);
    std::cout << "Dice on photos that were not corrected, read together: " << before << " -> " << after
              << "\n";
    EXPECT_GT(after, before + 0.002);  // the program alone is little worse than truth by now
}

}  // namespace
}  // namespace slipglass
