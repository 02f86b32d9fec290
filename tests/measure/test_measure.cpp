#include "slipglass/measure.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>
#include <set>
#include <thread>

#include "../support/run_sql.h"
#include "../support/samples.h"
#include "../support/scratch_folder.h"
#include "../support/season_folder.h"
#include "slipglass/error.h"
#include "slipglass/photo/picture_bytes.h"
#include "slipglass/share.h"
#include "slipglass/store/season_store.h"

namespace slipglass {
namespace {

namespace fs = std::filesystem;
using test::ScratchFolder;

// By rules, which are quicker: what is tested here is who is measured when, not how well.
const std::string kQuick = R"({"roots": {"learned": false}})";
constexpr Date kToday{std::chrono::year{2026} / 4 / 1};

/// Photos in a folder, and a place for what comes of them.
class Bench {
public:
    Bench() { fs::create_directories(photos()); }

    fs::path photos() const { return scratch_ / "photos"; }
    fs::path out(const std::string& name = "out") const { return scratch_ / name; }
    const ScratchFolder& scratch() const { return scratch_; }

    void add(const std::string& sample, const std::string& as = "") const
    {
        const fs::path to = photos() / (as.empty() ? sample + ".jpg" : as);
        fs::create_directories(to.parent_path());
        fs::copy_file(test::samplePhoto(sample), to);
    }

    MeasureOptions options(const std::string& out_name = "out") const
    {
        MeasureOptions options;
        options.photos = {photos()};
        options.out = out(out_name);
        options.settings = scratch_.write("settings.json", settings_);
        if (!plan_.empty()) options.batch = scratch_.write("batch.csv", plan_);
        options.threads = 2;
        options.today = kToday;
        return options;
    }
    MeasureResult run(const std::string& out_name = "out") const { return measure(options(out_name), {}); }

    void setSettings(const std::string& json) { settings_ = json; }
    void setPlan(const std::string& csv) { plan_ = csv; }

private:
    ScratchFolder scratch_;
    std::string settings_ = kQuick, plan_ = "tub,tub_type\nT01,quart\nT02,quart\nT03,quart\nT05,gallon\n";
};

void expectSameSeason(const fs::path& one, const fs::path& other)
{
    const auto files = test::filesBelow(one), others = test::filesBelow(other);
    std::set<std::string> names;
    for (const auto& [name, bytes] : files) names.insert(name);
    for (const auto& [name, bytes] : others) names.insert(name);
    EXPECT_FALSE(names.empty());
    for (const std::string& name : names) {
        ASSERT_TRUE(files.count(name)) << name << " is only in " << other;
        ASSERT_TRUE(others.count(name)) << name << " is only in " << one;
        EXPECT_TRUE(files.at(name) == others.at(name)) << name << " differs";
    }
    EXPECT_EQ(test::seasonText(one), test::seasonText(other));
}

const Observation& rowOf(const SeasonReport& season, const std::string& photo, const std::string& tub)
{
    for (const Observation& seen : season.observations)
        if (seen.photo == photo && seen.tub == tub) return seen;
    throw std::logic_error("no row of " + photo + ", " + tub);
}

TEST(Measure, GivesTheSameBytesWhateverTheThreadsAndTheOrder)
{
    Bench bench;
    for (const char* sample : {"T01_2026-01-12", "T01_2026-02-02", "T02_2026-01-12", "T02_2026-02-26"})
        bench.add(sample);
    bench.scratch().write("photos/T02_2026-02-27.jpg", "no picture");
    MeasureOptions one = bench.options("one"), two = bench.options("two");
    one.threads = 1;
    two.threads = 2;
    two.photos.clear();
    for (const char* name :
         {"T02_2026-02-26", "T01_2026-01-12", "T02_2026-02-27", "T01_2026-02-02", "T02_2026-01-12"})
        two.photos.push_back(bench.photos() / (std::string(name) + ".jpg"));
    EXPECT_EQ(measure(one, {}).measured, 4);
    EXPECT_EQ(measure(two, {}).measured, 4);
    expectSameSeason(bench.out("one"), bench.out("two"));

    const auto files = test::filesBelow(bench.out("one"));
    for (const char* name :
         {"observations.csv", "season.json", "flags.csv", "problems.csv", "report/index.html",
          "masks/T01_2026-02-02.roots.png", "masks/T01_2026-02-02.wall.png", "overlays/T01/2026-02-02.jpg",
          "graphs/T01.svg"})
        EXPECT_TRUE(files.count(name)) << name;
    const cv::Mat mask =
        cv::imread((bench.out("one") / "masks/T01_2026-02-02.wall.png").string(), cv::IMREAD_UNCHANGED);
    EXPECT_EQ(mask.type(), CV_8U);
    EXPECT_EQ(mask.size(), cv::Size(900, 1200));
    EXPECT_EQ(cv::countNonZero(mask == 0) + cv::countNonZero(mask == 255), 900 * 1200);
}

TEST(Measure, MeasuresNothingTwice)
{
    Bench bench;
    bench.add("T01_2026-01-12");
    bench.add("T01_2026-02-02");
    EXPECT_EQ(bench.run().measured, 2);
    const auto before = test::filesBelow(bench.out());
    const auto page_time = fs::last_write_time(bench.out() / "report" / "index.html");
    const MeasureResult again = bench.run();
    EXPECT_EQ(again.measured, 0);
    EXPECT_EQ(again.kept, 2);
    EXPECT_EQ(again.not_measured, 0);
    EXPECT_TRUE(test::filesBelow(bench.out()) == before);
    EXPECT_EQ(fs::last_write_time(bench.out() / "report" / "index.html"), page_time);

    // A picture that was taken away is drawn again.
    fs::remove(bench.out() / "masks" / "T01_2026-02-02.roots.png");
    EXPECT_EQ(bench.run().measured, 1);
    EXPECT_TRUE(test::filesBelow(bench.out()) == before);
}

TEST(Measure, MeasuresAgainWhatASettingChanges)
{
    Bench bench;
    bench.add("T01_2026-01-12");
    bench.add("T02_2026-02-26");
    bench.run();
    bench.setSettings(R"({"roots": {"learned": false}, "flags": {"no_roots_days": 20}})");
    EXPECT_EQ(bench.run().measured, 0);  // flags are drawn from figures that stay
    bench.setSettings(R"({"roots": {"learned": false}, "panel": {"edge_mm": 0.6}})");
    EXPECT_EQ(bench.run().measured, 2);
    bench.setPlan("tub,tub_type,variety\nT01,quart,Q\nT02,quart,Q\nT03,quart,Q\nT05,gallon,Q\n");
    EXPECT_EQ(bench.run().measured, 0);  // a name does not change figures
}

TEST(Measure, MeasuresAPhotoAgainWhoseContentChanged)
{
    Bench bench;
    bench.add("T01_2026-01-12");
    bench.add("T01_2026-02-02");
    bench.run();
    fs::copy_file(test::samplePhoto("T01_2026-02-09"), bench.photos() / "T01_2026-02-02.jpg",
                  fs::copy_options::overwrite_existing);
    EXPECT_EQ(bench.run().measured, 1);
}

TEST(Measure, ComparesWithAnEarlierPhotoAddedLater)
{
    Bench bench;
    for (const char* sample : {"T01_2026-02-02", "T01_2026-02-24", "T02_2026-02-18"}) bench.add(sample);
    EXPECT_EQ(bench.run().measured, 3);
    bench.add("T01_2026-01-12");
    const MeasureResult later = bench.run();
    EXPECT_EQ(later.measured, 3) << "all photos of T01, none of T02";
    EXPECT_EQ(later.kept, 1);
    EXPECT_EQ(bench.run("at once").measured, 4);
    expectSameSeason(bench.out(), bench.out("at once"));
}

TEST(Measure, KeepsAPhotoThatIsGone)
{
    Bench bench;
    bench.add("T01_2026-01-12");
    bench.add("T01_2026-02-02");
    bench.run();
    const auto before = test::filesBelow(bench.out());
    fs::remove(bench.photos() / "T01_2026-01-12.jpg");
    const MeasureResult after = bench.run();
    EXPECT_EQ(after.measured, 0);
    EXPECT_EQ(after.season.observations.size(), 2U);
    EXPECT_TRUE(test::filesBelow(bench.out()) == before);
}

int problemsOf(const MeasureResult& result, const std::string& file, const std::string& saying)
{
    return static_cast<int>(std::count_if(
        result.season.problems.begin(), result.season.problems.end(), [&](const Problem& problem) {
            return problem.file == file && problem.reason.find(saying) != std::string::npos;
        }));
}

// Half copied, an empty placeholder of a program that syncs, another file under its name.
TEST(Measure, KeepsTheFiguresOfAPhotoThatCannotBeReadToday)
{
    Bench bench;
    bench.add("T01_2026-01-12");
    bench.add("T01_2026-02-02");
    const MeasureResult first = bench.run();
    const auto before = test::filesBelow(bench.out() / "overlays");
    const std::string whole = test::readBytes(test::samplePhoto("T01_2026-01-12"));
    for (const std::string& bytes :
         {whole.substr(0, whole.size() / 2), std::string(), std::string("a list")}) {
        SCOPED_TRACE(bytes.size());
        bench.scratch().write("photos/T01_2026-01-12.jpg", bytes);
        const MeasureResult result = bench.run();
        EXPECT_EQ(result.not_measured, 1);
        EXPECT_EQ(problemsOf(result, "T01_2026-01-12.jpg", "; its figures are kept from 2026-04-01"), 1);
        ASSERT_EQ(result.season.observations.size(), 2U);
        for (const char* photo : {"T01_2026-01-12.jpg", "T01_2026-02-02.jpg"}) {
            EXPECT_EQ(rowOf(result.season, photo, "T01").coverage_percent,
                      rowOf(first.season, photo, "T01").coverage_percent);
            EXPECT_EQ(rowOf(result.season, photo, "T01").photos_read, 2.0) << "its wall still counts";
        }
        EXPECT_TRUE(test::filesBelow(bench.out() / "overlays") == before);
    }
    bench.scratch().write("photos/T01_2026-01-12.jpg", whole);
    const MeasureResult last = bench.run();
    EXPECT_EQ(last.kept, 2);
    EXPECT_EQ(last.not_measured, 0);
    EXPECT_TRUE(last.season.problems.empty());
}

TEST(Measure, SaysAnewWhetherWaterStandsThoughThePhotoIsGone)
{
    Bench bench;
    bench.setSettings("{}");  // rules see no water
    bench.add("T03_2026-02-22");
    bench.add("T01_2026-01-12");
    const Observation first = rowOf(bench.run().season, "T03_2026-02-22.jpg", "T03");
    EXPECT_EQ(first.standing_water, true);
    fs::remove(bench.photos() / "T03_2026-02-22.jpg");
    bench.setSettings(R"({"water": {"standing_mm": 45}})");
    const MeasureResult result = bench.run();
    EXPECT_EQ(result.measured, 0);
    const Observation& now = rowOf(result.season, "T03_2026-02-22.jpg", "T03");
    EXPECT_EQ(now.standing_water, false);
    EXPECT_EQ(now.water_level_mm, first.water_level_mm);
    EXPECT_EQ(now.coverage_percent, first.coverage_percent);
}

TEST(Measure, MeasuresAgainWhatTheSeasonFileHasADamagedPictureOf)
{
    Bench bench;
    for (const char* sample : {"T01_2026-01-12", "T01_2026-02-02"}) bench.add(sample);
    bench.run();
    bench.add("T01_2026-02-24");
    bench.run("at once");
    test::runSql(bench.out() / "season.db",
                 "UPDATE wall_view SET panel = cast('x' || substr(panel, 2) AS BLOB)"
                 " WHERE photo = 'T01_2026-01-12.jpg'");
    EXPECT_EQ(bench.run().measured, 2);
    expectSameSeason(bench.out(), bench.out("at once"));

    // And where its photo is gone its figures stay, and it says so.
    test::runSql(bench.out() / "season.db",
                 "UPDATE wall_view SET picture = cast('x' || substr(picture, 2) AS BLOB)"
                 " WHERE photo = 'T01_2026-01-12.jpg'");
    fs::remove(bench.photos() / "T01_2026-01-12.jpg");
    bench.add("T01_2026-02-24", "T01_2026-02-25.jpg");
    const MeasureResult result = bench.run();
    EXPECT_EQ(result.measured, 1);
    EXPECT_EQ(problemsOf(result, "T01_2026-01-12.jpg", "keeps of its wall is damaged; its figures are kept"),
              1);
    EXPECT_TRUE(rowOf(result.season, "T01_2026-01-12.jpg", "T01").coverage_percent);
}

// A photograph of bricks, of which a version before this one is made to have said that it shows a tub.
TEST(Measure, KeepsFiguresThatAnotherVersionCouldTake)
{
    Bench bench;
    fs::copy_file(fs::path(SLIPGLASS_TEST_DATA) / "negative-controls" / "brick-grey.jpg",
                  bench.photos() / "T01_2026-01-12.jpg");
    bench.add("T02_2026-01-12");
    ASSERT_EQ(rowOf(bench.run().season, "T01_2026-01-12.jpg", "T01").state, State::retake);
    const auto pretend = [&](const char* settings) {
        test::runSql(
            bench.out() / "season.db",
            (std::string("UPDATE observation SET state = 'measured', coverage_percent = 3 WHERE tub = "
                         "'T01'; UPDATE photo SET program = 'before', measured_on = '2026-01-13'") +
             settings + " WHERE name LIKE 'T01%'")
                .c_str());
    };
    pretend("");
    const MeasureResult result = bench.run();
    EXPECT_EQ(rowOf(result.season, "T01_2026-01-12.jpg", "T01").coverage_percent, 3);
    EXPECT_EQ(problemsOf(result, "T01_2026-01-12.jpg", "; its figures are kept from 2026-01-13"), 1);
    // With other settings it is the user who wants it so.
    pretend(", settings = 'others'");
    EXPECT_EQ(rowOf(bench.run().season, "T01_2026-01-12.jpg", "T01").state, State::retake);
}

TEST(Measure, ChangesNothingWhenTheClockIsSetBack)
{
    Bench bench;
    bench.add("T01_2026-02-02");
    bench.run();
    const std::string season = test::seasonText(bench.out());
    MeasureOptions early = bench.options();
    early.today = Date{std::chrono::year{2020} / 1 / 1};
    EXPECT_THROW(measure(early, {}), Error);
    EXPECT_EQ(test::seasonText(bench.out()), season);
}

TEST(Measure, UsesWhatAnEarlierRunWasGivenUntilToldOtherwise)
{
    Bench bench;
    bench.add("T01_2026-01-12");
    bench.setPlan("tub,tub_type,variety\nT01,quart,Quince A\n");
    EXPECT_TRUE(bench.run().as_given_before.empty());
    MeasureOptions bare = bench.options();
    bare.batch.reset();
    bare.settings.reset();
    bare.today = kToday + std::chrono::months{1};
    const MeasureResult again = measure(bare, {});
    EXPECT_EQ(again.measured, 0);
    EXPECT_EQ(again.kept, 1);
    ASSERT_EQ(again.season.series.size(), 1U);
    EXPECT_EQ(again.season.series[0].cutting.variety, "Quince A");
    ASSERT_EQ(again.as_given_before.size(), 2U);
    EXPECT_NE(again.as_given_before[0].find("as given on 2026-04-01"), std::string::npos)
        << again.as_given_before[0];
    bare.without = {"batch"};
    const MeasureResult without = measure(bare, {});
    EXPECT_TRUE(without.season.series.at(0).cutting.variety.empty());
    EXPECT_EQ(without.as_given_before.size(), 1U);
    bare.without.clear();
    EXPECT_EQ(measure(bare, {}).as_given_before.size(), 1U) << "it was taken away for good";
    bare.batch = bench.options().batch;
    bare.without = {"batch"};
    EXPECT_THROW(measure(bare, {}), Error);
}

TEST(Measure, GoesOnAfterBeingStopped)
{
    Bench bench;
    for (const char* sample :
         {"T01_2026-01-12", "T01_2026-02-02", "T01_2026-02-24", "T02_2026-01-12", "T02_2026-02-26"})
        bench.add(sample);
    std::atomic<bool> stop{false};
    MeasureEvents events;
    events.stop = &stop;
    events.progress = [&](int done, int) { stop = done >= 2; };
    MeasureOptions options = bench.options("stopped");
    options.threads = 1;
    const MeasureResult stopped = measure(options, events);
    EXPECT_TRUE(stopped.stopped);
    EXPECT_EQ(stopped.measured, 2);
    EXPECT_EQ(SeasonStore(bench.out("stopped") / "season.db", SeasonStore::Use::read).observations().size(),
              2U);
    EXPECT_TRUE(fs::exists(bench.out("stopped") / "observations.csv"));

    const MeasureResult rest = bench.run("stopped");
    EXPECT_FALSE(rest.stopped);
    EXPECT_EQ(rest.measured, 3);
    bench.run("at once");
    expectSameSeason(bench.out("stopped"), bench.out("at once"));
}

// A run that had no memory to read a file once left its size and time with an empty sum.
TEST(Measure, ReadsAFileAnewWhoseSumIsNotKnown)
{
    Bench bench;
    bench.add("T01_2026-01-12");
    bench.run();
    const std::string season = test::seasonText(bench.out());
    std::this_thread::sleep_for(std::chrono::milliseconds(2100));  // a file just made has no stamp
    bench.run();
    const fs::path store = bench.out() / "season.db";
    ASSERT_EQ(SeasonStore(store, SeasonStore::Use::read).files().size(), 1U);
    test::runSql(store, "UPDATE photo_file SET content = ''");
    bench.run();
    EXPECT_EQ(test::seasonText(bench.out()), season);
    EXPECT_FALSE(SeasonStore(store, SeasonStore::Use::read).files().begin()->second.content.empty());
}

TEST(Measure, StopsBeforeItHasBegun)
{
    Bench bench;
    bench.add("T01_2026-01-12");
    const std::atomic<bool> stop{true};
    MeasureEvents events;
    events.stop = &stop;
    const MeasureResult stopped = measure(bench.options(), events);
    EXPECT_TRUE(stopped.stopped);
    EXPECT_EQ(stopped.measured, 0);
    EXPECT_EQ(bench.run().measured, 1);
}

// Two photos side by side are not quite a photo of two tubs: each half has its own vanishing point. So only
// what does not hang on it is looked at.
TEST(Measure, MeasuresEveryLabelledTubOfOnePhoto)
{
    Bench bench;
    bench.setSettings("{}");
    const cv::Mat left = cv::imread(test::samplePhoto("T01_2026-02-17").string()),
                  right = cv::imread(test::samplePhoto("T03_2026-02-12").string());
    cv::Mat both;
    cv::hconcat(left, right, both);
    const std::string photo = "2026-02-28_bench.png";
    cv::imwrite((bench.photos() / photo).string(), both);
    const MeasureResult result = bench.run();
    ASSERT_EQ(result.season.observations.size(), 2U);
    EXPECT_EQ(result.measured, 1);
    const cv::Range halves[] = {{0, 900}, {900, 1800}};
    for (const auto& [tub, own, other] : {std::tuple{"T01", 0, 1}, std::tuple{"T03", 1, 0}}) {
        SCOPED_TRACE(tub);
        const Observation& seen = rowOf(result.season, photo, tub);
        ASSERT_NE(seen.state, State::retake) << seen.notes.at(0);
        EXPECT_GT(seen.coverage_percent.value_or(0), 0.3);
        EXPECT_TRUE(fs::exists(bench.out() / "overlays" / tub / "2026-02-28.jpg"));
        const std::string mask = (bench.out() / "masks" / ("2026-02-28_bench." + std::string(tub))).string();
        const cv::Mat wall = cv::imread(mask + ".wall.png", cv::IMREAD_UNCHANGED),
                      roots = cv::imread(mask + ".roots.png", cv::IMREAD_UNCHANGED);
        ASSERT_EQ(wall.size(), both.size());
        ASSERT_EQ(roots.size(), both.size());
        EXPECT_GT(cv::countNonZero(wall.colRange(halves[own])), 200000);
        EXPECT_EQ(cv::countNonZero(wall.colRange(halves[other])), 0);
        EXPECT_EQ(cv::countNonZero(roots & ~wall), 0);
    }
    EXPECT_EQ(bench.run().measured, 0);
}

TEST(Measure, KeepsTwoPhotosOfOneDay)
{
    Bench bench;
    bench.add("T01_2026-02-02");
    bench.add("T01_2026-02-09", "T01_2026-02-02_again.jpg");
    const MeasureResult result = bench.run();
    EXPECT_EQ(result.season.observations.size(), 2U);
    int overlays = 0;
    for (const auto& entry : fs::directory_iterator(bench.out() / "overlays" / "T01"))
        overlays += entry.path().extension() == ".jpg";
    EXPECT_EQ(overlays, 2);
    EXPECT_TRUE(fs::exists(bench.out() / "masks" / "T01_2026-02-02_again.roots.png"));
}

TEST(Measure, TakesTheTubFromTheFolder)
{
    Bench bench;
    bench.add("T02_2026-01-12", "T02/2026-01-12.jpg");
    bench.add("T02_2026-02-26", "T02/2026-02-26.jpg");
    const MeasureResult result = bench.run();
    EXPECT_EQ(result.measured, 2);
    EXPECT_TRUE(rowOf(result.season, "T02/2026-02-26.jpg", "T02").coverage_percent);
    EXPECT_TRUE(fs::exists(bench.out() / "masks" / "T02" / "2026-02-26.roots.png"));
}

TEST(Measure, TellsWhyAPhotoWithoutATubIsNotMeasured)
{
    Bench bench;
    bench.add("T02_2026-01-12",
              "2026-01-12.jpg");  // T02 bears no label, and the folder is no tub of the plan
    const MeasureResult result = bench.run();
    EXPECT_EQ(result.measured, 0);
    EXPECT_EQ(result.not_measured, 1);
    ASSERT_EQ(result.season.problems.size(), 1U);
    EXPECT_EQ(result.season.problems[0].file, "2026-01-12.jpg");
    EXPECT_NE(result.season.problems[0].reason.find("no tub"), std::string::npos);
}

TEST(Measure, GivesNoMillimetresWithoutAPlanOrALabel)
{
    Bench bench;
    bench.setPlan("");
    bench.add("T02_2026-01-12");
    const MeasureResult result = bench.run();
    const Observation& seen = rowOf(result.season, "T02_2026-01-12.jpg", "T02");
    EXPECT_TRUE(seen.coverage_percent);
    EXPECT_FALSE(seen.root_length_mm);
    EXPECT_FALSE(seen.water_level_mm);
    EXPECT_FALSE(seen.wall_area_mm2);
    EXPECT_FALSE(seen.px_per_mm);
    EXPECT_FALSE(seen.notes.empty());
}

// Source: tests/data/negative-controls/ATTRIBUTION.md, real photographs of other things: there is no tub to
// find.
TEST(Measure, FindsNothingOnPhotographsOfOtherThings)
{
    Bench bench;
    int pictures = 0;
    for (const auto& entry : fs::directory_iterator(fs::path(SLIPGLASS_TEST_DATA) / "negative-controls"))
        if (entry.path().extension() == ".jpg") {
            const std::string day = std::to_string(10 + pictures++);
            fs::copy_file(entry.path(),
                          bench.photos() / ("T01_2026-02-" + day + "_" + entry.path().filename().string()));
        }
    ASSERT_EQ(pictures, 12);
    for (const char* plan : {"tub,tub_type\nT01,quart\n", ""}) {
        bench.setPlan(plan);
        const MeasureResult result = bench.run(*plan ? "planned" : "unplanned");
        EXPECT_EQ(result.season.observations.size(), 12U);
        EXPECT_EQ(result.not_measured, 12);
        for (const Observation& seen : result.season.observations) {
            EXPECT_EQ(seen.state, State::retake) << seen.photo;
            EXPECT_FALSE(seen.coverage_percent) << seen.photo;
            EXPECT_FALSE(seen.water_level_mm) << seen.photo;
            EXPECT_FALSE(seen.notes.empty()) << seen.photo;
        }
        for (const Problem& problem : result.season.problems)
            EXPECT_FALSE(problem.remedy.empty()) << problem.file;
    }
}

TEST(Measure, MeasuresTheRestBesideABadPhoto)
{
    Bench bench;
    bench.add("T01_2026-01-12");
    const std::string whole = test::readBytes(test::samplePhoto("T01_2026-02-02"));
    bench.scratch().write("photos/T01_2026-02-02.jpg", whole.substr(0, whole.size() / 2));
    bench.scratch().write("photos/T01_2026-02-03.jpg", "");
    bench.scratch().write("photos/T01_2026-02-04.jpg", "a shopping list");
    bench.scratch().write("photos/notes.txt", "a shopping list");
    bench.add("T01_2026-02-09", "T01_2026-02-30.jpg");
    bench.add("T01_2026-02-17", "T01_2027-01-01.jpg");  // after today
    fs::copy_file(fs::path(SLIPGLASS_TEST_DATA) / "photo" / "bomb.png",
                  bench.photos() / "T01_2026-02-05.png");
    const MeasureResult result = bench.run();
    EXPECT_TRUE(rowOf(result.season, "T01_2026-01-12.jpg", "T01").coverage_percent);
    std::map<std::string, int> rows;
    for (const Problem& problem : result.season.problems) {
        ++rows[problem.file];
        EXPECT_EQ(problem.state, "not measured") << problem.file;
        EXPECT_FALSE(problem.reason.empty()) << problem.file;
        EXPECT_FALSE(problem.remedy.empty()) << problem.file;
        EXPECT_EQ(problem.reason.find('\n'), std::string::npos) << problem.file;
    }
    for (const char* file : {"T01_2026-02-02.jpg", "T01_2026-02-03.jpg", "T01_2026-02-04.jpg", "notes.txt",
                             "T01_2026-02-30.jpg", "T01_2027-01-01.jpg", "T01_2026-02-05.png"})
        EXPECT_EQ(rows[file], 1) << file;
    EXPECT_EQ(result.not_measured, 7);
    // Put right, it is measured, and its row goes.
    bench.scratch().write("photos/T01_2026-02-02.jpg", whole);
    EXPECT_EQ(bench.run().not_measured, 6);
}

/// Pictures that neither name their tub nor have room for one. Where the limits let them in, what fails on
/// them is a row, whatever it was that failed.
TEST(Measure, GoesOnWhateverFailsOnAPhoto)
{
    Bench bench;
    const std::vector<cv::Size> odd{{2, 30000}, {4, 60000}, {10, 60000}};
    for (size_t i = 0; i < odd.size(); ++i)
        bench.scratch().write("photos/2026-01-1" + std::to_string(i) + ".png",
                              pngBytes(cv::Mat(odd[i], CV_8UC3, {80, 90, 70})));
    bench.scratch().write("photos/2026-01-19.png", "");
    fs::resize_file(bench.photos() / "2026-01-19.png", std::uintmax_t{1} << 42);  // takes no room on the disk
    const auto rows = [&](const std::vector<Problem>& problems, bool opened) {
        EXPECT_EQ(problems.size(), 4U);
        for (const Problem& problem : problems) {
            EXPECT_EQ(problem.file.find("2026-01-1"), 0U) << problem.file;
            EXPECT_EQ(problem.state, "not measured");
            EXPECT_FALSE(problem.reason.empty() || problem.remedy.empty());
            EXPECT_TRUE(opened || problem.reason.find("no tub known") == std::string::npos) << problem.reason;
            EXPECT_EQ(problem.reason.find('\n'), std::string::npos) << problem.reason;
        }
    };
    rows(bench.run().season.problems, false);
    bench.setSettings(R"({"photos": {"most_side_px": 100000}})");
    const MeasureOptions let_in = bench.options("let in");
    rows(measure(let_in, {}).season.problems, true);
    rows(findTubs(let_in, bench.out("tubs.jsonl"), {}).problems, true);
}

void expectError(const MeasureOptions& options, const std::string& part)
{
    try {
        measure(options, {});
        ADD_FAILURE() << "no Error with " << part;
    } catch (const Error& error) {
        EXPECT_NE(std::string(error.what()).find(part), std::string::npos) << error.what();
        EXPECT_EQ(std::string(error.what()).find('\n'), std::string::npos) << error.what();
    }
}

TEST(Measure, ChecksWhatWasTypedBeforeItOpensAPhoto)
{
    Bench bench;
    bench.add("T01_2026-01-12");
    bench.setPlan("tub,tub_type\nT01,quartt\n");
    expectError(bench.options(), "quart");
    bench.setPlan("tub\nT01\n");
    bench.setSettings(R"({"panel": {"edge_mmm": 0.3}})");
    expectError(bench.options(), "edge_mm");
    bench.setSettings(kQuick);
    MeasureOptions missing = bench.options();
    missing.batch = bench.scratch() / "nowhere.csv";
    expectError(missing, "nowhere.csv");
    missing = bench.options();
    missing.photos = {bench.scratch() / "nowhere"};
    expectError(missing, "nowhere");
    missing = bench.options();
    fs::create_directories(bench.scratch() / "empty");
    missing.photos = {bench.scratch() / "empty"};
    expectError(missing, "no photo");
    missing = bench.options();
    missing.out = bench.scratch().write("a file", "") / "out";
    expectError(missing, "a file");
    EXPECT_FALSE(fs::exists(bench.out())) << "nothing is made before all is checked";
}

TEST(Measure, EndsWithTheSamePicturesWhenNewPhotosWereFirstMeasuredByThemselves)
{
    Bench bench;
    bench.setSettings("{}");  // the learned map: by rules, photos hardly change each other
    for (const char* sample : {"T06_2026-01-20", "T06_2026-01-29", "T06_2026-03-02"}) bench.add(sample);
    bench.setPlan("tub,tub_type\nT06,quart\n");
    bench.run();
    MeasureOptions only_new = bench.options();
    only_new.photos = {test::samplePhoto("T06_2026-03-16")};
    EXPECT_EQ(measure(only_new, {}).measured, 1);
    bench.add("T06_2026-03-16");
    EXPECT_EQ(bench.run().measured, 0);
    bench.run("anew");
    expectSameSeason(bench.out(), bench.out("anew"));
}

}  // namespace
}  // namespace slipglass
