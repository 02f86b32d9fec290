// Photos of a tub that match help each other, whichever they are: a season of one drawn tub, turned by known
// angles between the photos.
#include <gtest/gtest.h>

#include <memory>
#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>

#include "../support/drawn_tub.h"
#include "../support/scratch_folder.h"
#include "../support/season_folder.h"
#include "slipglass/measure.h"

namespace slipglass {
namespace {

namespace fs = std::filesystem;

/// A photo of the tub T01 as files take it.
struct Shot {
    std::string date;
    double turn_deg;
    bool blurred = false;
};

/// The first is no use, the second shows the back; the next three are turned too far for the last to match
/// the first of them.
const std::vector<Shot> kShots = {
    {"2026-01-12", 0, true}, {"2026-01-19", 150}, {"2026-01-26", 0}, {"2026-02-02", 17}, {"2026-02-09", 34}};

class Sides : public testing::Test {
protected:
    static void SetUpTestSuite()
    {
        folder_ = std::make_unique<test::ScratchFolder>();
        fs::create_directories(*folder_ / "all");
        for (size_t i = 0; i < kShots.size(); ++i) {
            test::DrawnTub drawn;
            drawn.pose = test::standing(6, 1, 5.5, 0, 400);
            drawn.surface_mm = 105;
            drawn.texture = 0.8 * drawn.texture;
            drawn.turn_deg = kShots[i].turn_deg;
            cv::Mat picture = test::drawTub(drawn, 1.5, 100 + i);  // no two photos of a sensor are alike
            if (kShots[i].blurred) cv::GaussianBlur(picture, picture, {}, 9);
            cv::imwrite(fileOf(i).string(), picture);
        }
    }
    static void TearDownTestSuite() { folder_.reset(); }

    static fs::path fileOf(size_t i) { return *folder_ / "all" / ("T01_" + kShots[i].date + ".png"); }

    /// Measures these of the photos.
    static MeasureResult run(const std::string& out, const std::vector<size_t>& photos, int threads = 2)
    {
        MeasureOptions options;
        for (const size_t i : photos) options.photos.push_back(fileOf(i));
        options.out = *folder_ / out;
        options.batch = folder_->write("batch.csv", "tub,tub_type\nT01,drawn\n");
        options.settings = folder_->write("settings.json", R"({"tub_types": [
            {"name": "drawn", "rim_diameter_mm": 117, "base_diameter_mm": 90, "height_mm": 140, "wall_mm": 0.3}]})");
        options.threads = threads;
        options.today = *parseIsoDate("2026-04-01");
        return measure(options, {});
    }

    static void expectSame(const std::string& one, const std::string& other)
    {
        EXPECT_TRUE(test::filesBelow(*folder_ / one) == test::filesBelow(*folder_ / other));
        EXPECT_EQ(test::seasonText(*folder_ / one), test::seasonText(*folder_ / other));
    }

    inline static std::unique_ptr<test::ScratchFolder> folder_;
};

TEST_F(Sides, AreReadTogetherThoughTheFirstPhotoIsNoUseAndTheSecondShowsTheBack)
{
    const MeasureResult result = run("at once", {0, 1, 2, 3, 4});
    const auto& seen = result.season.observations;
    ASSERT_EQ(seen.size(), 5U);
    EXPECT_EQ(seen[0].state, State::retake);
    EXPECT_EQ(seen[1].photos_read, 1);
    for (const size_t i : {2U, 3U, 4U}) EXPECT_EQ(seen[i].photos_read, 3) << seen[i].photo;
    EXPECT_TRUE(fs::exists(*folder_ / "at once" / "growth" / "T01.png"));
    const std::string legend = test::readBytes(*folder_ / "at once" / "growth" / "T01.json");
    EXPECT_EQ(legend.find("2026-01-19"), std::string::npos) << "the map is of the side with most photos";
    EXPECT_NE(legend.find("2026-02-09"), std::string::npos);

    run("in another order", {4, 2, 0, 3, 1}, 3);
    expectSame("at once", "in another order");
    EXPECT_EQ(run("at once", {0, 1, 2, 3, 4}).measured, 0);
}

TEST_F(Sides, ComeOutTheSameWhenPhotosCameOneByOne)
{
    run("one by one", {1});
    EXPECT_EQ(run("one by one", {2}).measured, 1) << "without the one before, which is kept";
    EXPECT_EQ(run("one by one", {2, 3}).measured, 1);
    EXPECT_EQ(run("one by one", {4}).measured, 1);
    EXPECT_EQ(run("one by one", {1, 2, 3, 4}).measured, 0);
    run("four", {1, 2, 3, 4});
    expectSame("four", "one by one");
    // An older photo comes: all after it may have another past.
    EXPECT_EQ(run("one by one", {0, 1, 2, 3, 4}).measured, 4);
    run("five", {0, 1, 2, 3, 4});
    expectSame("five", "one by one");
}

}  // namespace
}  // namespace slipglass
