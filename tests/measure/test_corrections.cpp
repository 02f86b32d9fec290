// measure --corrections: which photo a correction belongs to, and what is measured again when one comes or
// goes.
#include <gtest/gtest.h>

#include <algorithm>

#include "../support/samples.h"
#include "../support/scratch_folder.h"
#include "../support/season_folder.h"
#include "slipglass/error.h"
#include "slipglass/measure.h"

namespace slipglass {
namespace {

namespace fs = std::filesystem;

constexpr const char* kDry = R"({"schema": 1, "water_line": []})";

/// Two photos of T01 and one of T02, measured by rules, which are quicker.
class Corrections : public testing::Test {
protected:
    Corrections()
    {
        for (const char* sample : {"T01_2026-01-12", "T01_2026-02-02", "T02_2026-01-12"}) {
            fs::create_directories(scratch_ / "photos");
            fs::copy_file(test::samplePhoto(sample), scratch_ / "photos" / (std::string(sample) + ".jpg"));
        }
        fs::create_directories(folder());
    }

    fs::path folder() const { return scratch_ / "corrections"; }
    fs::path out() const { return scratch_ / "out"; }
    void correct(const std::string& name, const std::string& json) const
    {
        scratch_.write("corrections/" + name, json);
    }

    MeasureResult run(bool with_corrections = true, const std::set<std::string>& without = {}) const
    {
        MeasureOptions options;
        options.photos = {scratch_ / "photos"};
        options.out = out();
        options.settings = scratch_.write("settings.json", R"({"roots": {"learned": false}})");
        options.batch = scratch_.write("batch.csv", "tub,tub_type\nT01,quart\nT02,quart\n");
        if (with_corrections) options.corrections = folder();
        options.without = without;
        options.threads = 2;
        options.today = Date{std::chrono::year{2026} / 4 / 1};
        return measure(options, {});
    }

    static std::string notesOf(const MeasureResult& result, const std::string& photo)
    {
        std::string all;
        for (const Observation& seen : result.season.observations)
            if (seen.photo == photo)
                for (const std::string& note : seen.notes) all += note + "; ";
        return all;
    }

    static std::vector<std::string> problemsOf(const MeasureResult& result)
    {
        std::vector<std::string> lines;
        for (const Problem& p : result.season.problems)
            if (p.state == "not measured") lines.push_back(p.file + ": " + p.reason);
        return lines;
    }

    test::ScratchFolder scratch_;
};

TEST_F(Corrections, MeasureJustTheirPhotoAgainWhenTheyComeChangeAndGo)
{
    EXPECT_EQ(run().measured, 3);
    const auto files = test::filesBelow(out());
    const std::string season = test::seasonText(out());

    correct("T01_2026-02-02.json", kDry);
    const MeasureResult with = run();
    EXPECT_EQ(with.measured, 1);
    EXPECT_EQ(with.kept, 2);
    EXPECT_EQ(with.not_measured, 0);
    EXPECT_NE(notesOf(with, "T01_2026-02-02.jpg").find("water line set by hand"), std::string::npos);
    EXPECT_EQ(run().measured, 0);

    correct("T01_2026-02-02.json", R"({"water_line": [], "schema": 1 })");
    EXPECT_EQ(run().measured, 0) << "it says the same";
    correct("T01_2026-02-02.json", R"({"schema": 1, "water_line": [[300, 900], [600, 900]]})");
    EXPECT_EQ(run().measured, 1);

    fs::remove(folder() / "T01_2026-02-02.json");
    EXPECT_EQ(run().measured, 1);
    EXPECT_TRUE(test::filesBelow(out()) == files) << "as if there had been none";
    EXPECT_EQ(test::seasonText(out()), season);
}

TEST_F(Corrections, OfATubsFirstPhotoMeasureThatTubAgain)
{
    run();
    correct("T01_2026-01-12.json", kDry);
    EXPECT_EQ(run().measured, 2);
    EXPECT_EQ(run().measured, 0);
    EXPECT_EQ(run(false, {"corrections"}).measured, 2);
}

TEST_F(Corrections, GiveTheSameWhetherTheyWereThereFromTheStartOrCameLater)
{
    run();
    correct("T01_2026-01-12.json", kDry);
    run();
    const std::string later = test::seasonText(out());
    fs::remove_all(out());
    run();
    EXPECT_EQ(test::seasonText(out()), later);
}

TEST_F(Corrections, ThatCannotBeUsedGetOneLineEachAndTheRestGoesOn)
{
    correct("T01_2026-01-12.json", "{\"schema\": 1, ");
    correct("T02_2026-01-12.json", kDry);
    correct("T03_2026-01-12.json", kDry);
    correct("else.json", R"({"schema": 1, "photo": "T09.jpg", "water_line": []})");
    correct("outside.json",
            R"({"schema": 1, "photo": "T01_2026-02-02.jpg", "water_line": [[5000, 1], [6000, 1]]})");
    correct("empty.json", "");
    correct("tub.json", R"({"schema": 1, "photo": "T01_2026-02-02.jpg", "tub": "T02", "water_line": []})");
    const MeasureResult result = run();
    EXPECT_EQ(result.measured, 3);
    EXPECT_EQ(result.not_measured, 6);
    EXPECT_NE(notesOf(result, "T02_2026-01-12.jpg").find("by hand"), std::string::npos);
    EXPECT_EQ(notesOf(result, "T01_2026-02-02.jpg").find("by hand"), std::string::npos);
    const std::vector<std::string> lines = problemsOf(result);
    ASSERT_EQ(lines.size(), 6u);
    const auto says = [&](const std::string& file, const std::string& words) {
        return std::any_of(lines.begin(), lines.end(), [&](const std::string& line) {
            return line.find("corrections/" + file + ": ") == 0 && line.find(words) != std::string::npos;
        });
    };
    EXPECT_TRUE(says("T01_2026-01-12.json", "not valid JSON"));
    EXPECT_TRUE(says("T03_2026-01-12.json", "no photo has this name"));
    EXPECT_TRUE(says("else.json", "T09.jpg, which is not here"));
    EXPECT_TRUE(says("outside.json", "outside the photo"));
    EXPECT_TRUE(says("empty.json", "is empty"));
    EXPECT_TRUE(says("tub.json", "which of the tubs"));
    const std::string csv = test::readBytes(out() / "problems.csv");
    EXPECT_NE(csv.find("corrections/T03_2026-01-12.json"), std::string::npos);
}

// As a browser names them: what is drawn later is saved beside what was drawn first.
TEST_F(Corrections, OfOnePhotoAddUpInOrderOfTime)
{
    correct("T01_2026-02-02.json",
            R"({"schema": 1, "strokes": [{"kind": "root", "width": 8, "points": [[300, 700], [300, 800]]}],
                "water_line": [[300, 900], [600, 900]]})");
    correct("T01_2026-02-02 (1).json", R"({"schema": 1, "photo": "T01_2026-02-02.jpg", "water_line": []})");
    const MeasureResult result = run();
    EXPECT_TRUE(problemsOf(result).empty());
    const std::string notes = notesOf(result, "T01_2026-02-02.jpg");
    EXPECT_NE(notes.find("roots corrected by hand"), std::string::npos) << notes;
    // The page shows what was drawn, on that photo alone.
    ASSERT_EQ(result.season.drawn.size(), 1U);
    const Correction drawn = parseCorrection(result.season.drawn.at({"T01_2026-02-02.jpg", "T01"}), "drawn");
    EXPECT_EQ(drawn.strokes.size(), 1U);
    EXPECT_TRUE(drawn.water_line && drawn.water_line->empty()) << "the one saved later holds";
    const std::string page = test::readBytes(out() / "report/cuttings/T01.html");
    EXPECT_NE(page.find(R"("points":[[300.0,700.0],[300.0,800.0]])"), std::string::npos);
    EXPECT_EQ(test::readBytes(out() / "report/index.html").find("points\":[["), std::string::npos);
    EXPECT_NE(notes.find("water line set by hand"), std::string::npos) << notes;
    const auto levelOf = [](const MeasureResult& of) {
        for (const Observation& seen : of.season.observations)
            if (seen.photo == "T01_2026-02-02.jpg") return seen.water_level_mm;
        return std::optional<double>();
    };
    EXPECT_EQ(levelOf(result), 0.0) << "the later one holds";
    // The first, saved anew, is the later one.
    const fs::path first = folder() / "T01_2026-02-02.json", second = folder() / "T01_2026-02-02 (1).json";
    fs::last_write_time(first, fs::last_write_time(second) + std::chrono::minutes{1});
    EXPECT_GT(levelOf(run()).value_or(0), 2);
    // A photo that is gone was measured with both.
    fs::remove(scratch_ / "photos" / "T01_2026-02-02.jpg");
    EXPECT_TRUE(problemsOf(run()).empty());
}

TEST_F(Corrections, HoldUntilToldOtherwise)
{
    correct("T01_2026-02-02.json", kDry);
    run();
    const MeasureResult forgotten = run(false);
    EXPECT_EQ(forgotten.measured, 0);
    EXPECT_NE(notesOf(forgotten, "T01_2026-02-02.jpg").find("by hand"), std::string::npos);
    EXPECT_EQ(forgotten.as_given_before.size(), 1U);
    const MeasureResult without = run(false, {"corrections"});
    EXPECT_EQ(without.measured, 1);
    EXPECT_EQ(notesOf(without, "T01_2026-02-02.jpg").find("by hand"), std::string::npos);
}

TEST_F(Corrections, AreFoundByThePhotoTheyNameAndByStemAndTub)
{
    correct("T01_2026-02-02.T01.json", kDry);
    correct("download (3).json", R"({"schema": 1, "photo": "T02_2026-01-12.jpg", "water_line": []})");
    const MeasureResult result = run();
    EXPECT_TRUE(problemsOf(result).empty());
    for (const char* photo : {"T01_2026-02-02.jpg", "T02_2026-01-12.jpg"})
        EXPECT_NE(notesOf(result, photo).find("by hand"), std::string::npos) << photo;
}

TEST_F(Corrections, OfAPhotoThatIsGoneAreQuietIfTheyWereUsed)
{
    correct("T01_2026-02-02.json", kDry);
    run();
    fs::remove(scratch_ / "photos" / "T01_2026-02-02.jpg");
    EXPECT_TRUE(problemsOf(run()).empty());
    correct("T01_2026-02-02.json", R"({"schema": 1, "water_line": [[300, 900], [600, 900]]})");
    const auto lines = problemsOf(run());
    ASSERT_EQ(lines.size(), 1u);
    EXPECT_NE(lines[0].find("not in the folder any more"), std::string::npos);
}

TEST_F(Corrections, NeedTheirFolder)
{
    fs::remove_all(folder());
    EXPECT_THROW(run(), Error);
}

}  // namespace
}  // namespace slipglass
