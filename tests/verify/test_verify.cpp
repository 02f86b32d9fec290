#include "slipglass/verify/verify.h"

#include <gtest/gtest.h>

#include <fstream>
#include <nlohmann/json.hpp>
#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>

#include "slipglass/error.h"
#include "slipglass/season/csv.h"
#include "slipglass/verify/show.h"

namespace slipglass {
namespace {

namespace fs = std::filesystem;
using nlohmann::json;

const fs::path kData = fs::path(SLIPGLASS_TEST_DATA) / "verify";

json expectedFigures()
{
    std::ifstream file(kData / "expected.json");
    return json::parse(file);
}

void expectSame(const json& theirs, const std::optional<double>& ours, const std::string& what)
{
    if (theirs.is_null()) {
        EXPECT_FALSE(ours.has_value()) << what;
        return;
    }
    ASSERT_TRUE(ours.has_value()) << what;
    EXPECT_NEAR(theirs.get<double>(), *ours, 1e-9) << what;  // the same arithmetic in doubles
}

// Source: tests/data/verify/expected.json, an independent scorer (see the README there).
TEST(Verify, AgreesWithAnIndependentScorerOnEachPhoto)
{
    const Verification result = verify(kData / "measured", kData, {});
    const json expected = expectedFigures()["photos"];
    ASSERT_EQ(result.photos.size(), expected.size());
    int compared = 0;
    for (size_t i = 0; i < expected.size(); ++i) {
        const PhotoAgreement& ours = result.photos[i];
        const json& theirs = expected[i];
        SCOPED_TRACE(ours.photo);
        EXPECT_EQ(ours.photo, theirs["photo"]);
        EXPECT_EQ(ours.tub, theirs["tub"]);
        EXPECT_EQ(ours.outcome == "compared", theirs.contains("tp"));
        if (!theirs.contains("tp")) continue;
        ++compared;
        EXPECT_EQ(ours.roots->both, theirs["tp"]);
        EXPECT_EQ(ours.roots->found, theirs["pred"]);
        EXPECT_EQ(ours.roots->drawn, theirs["true"]);
        EXPECT_EQ(ours.roots->found_near_drawn, theirs["ttp_p"]);
        EXPECT_EQ(ours.roots->drawn_near_found, theirs["ttp_r"]);
        expectSame(theirs["wall_iou"], ours.wall_iou, "wall_iou");
        expectSame(theirs["wall_precision"], ours.wall_precision, "wall_precision");
        expectSame(theirs["coverage"], ours.mask_coverage_percent, "coverage");
        expectSame(theirs["true_coverage"], ours.true_mask_coverage_percent, "true_coverage");
        expectSame(theirs["csv_coverage"], ours.coverage_percent, "csv_coverage");
        expectSame(theirs["true_panel_coverage"], ours.true_coverage_percent, "true_panel_coverage");
        expectSame(theirs["length_mm_ratio"], ours.root_length_ratio, "length_mm_ratio");
        expectSame(theirs["water"], ours.water_level_mm, "water");
        expectSame(theirs["scale_ratio"], ours.scale_ratio, "scale_ratio");
        EXPECT_EQ(theirs["standing"], ours.standing_water.value());
        EXPECT_EQ(theirs["true_standing"], ours.true_standing_water.value());
    }
    EXPECT_EQ(compared, 3);
}

TEST(Verify, AgreesWithAnIndependentScorerInAll)
{
    const Summary all = summaryOf(verify(kData / "measured", kData, {}).photos);
    const json theirs = expectedFigures()["all"];
    EXPECT_EQ(theirs["photos"], all.photos);
    EXPECT_EQ(theirs["measured"], all.compared);
    EXPECT_EQ(theirs["bare_photos"], all.rootless);
    EXPECT_EQ(theirs["standing_said"], all.standing.all());
    EXPECT_EQ(theirs["water_levels_given"], all.water_levels);
    const std::map<std::string, std::optional<double>> ours{
        {"measured_share", all.measured_share},
        {"wall_iou_median", all.wall_iou_median},
        {"wall_precision_p10", all.wall_precision_p10},
        {"dice", all.dice},
        {"tolerant_precision", all.tolerant_precision},
        {"tolerant_recall", all.tolerant_recall},
        {"tolerant_f1", all.tolerant_dice},
        {"coverage_error_median_pp", all.mask_coverage_error_median},
        {"coverage_error_p90_pp", all.mask_coverage_error_p90},
        {"coverage_relative_error_median", all.mask_coverage_relative_error_median},
        {"bare_false_coverage_max_pp", all.false_coverage_max},
        {"length_mm_ratio_median", all.root_length_ratio_median},
        {"csv_coverage_error_median_pp", all.coverage_error_median},
        {"coverage_interval_hit_share", all.coverage_interval_hit_share},
        {"standing_precision", all.standing_precision},
        {"standing_recall", all.standing_recall},
        {"standing_f1", all.standing_f1},
        {"water_error_median_mm", all.water_error_median_mm},
        {"water_error_p90_mm", all.water_error_p90_mm},
        {"scale_error_median", all.scale_error_median},
    };
    for (const auto& [name, value] : ours) expectSame(theirs[name], value, name);
}

// The scorer counts the pixels of another thinning; this program measures length and takes spurs off.
// Tolerance: the two differ by up to 5 % on these few short roots.
TEST(Verify, HasNearlyTheScorersSkeletonRatio)
{
    const Verification result = verify(kData / "measured", kData, {});
    const json expected = expectedFigures()["photos"];
    int seen = 0;
    for (size_t i = 0; i < expected.size(); ++i) {
        const json theirs = expected[i].value("length_ratio", json());
        if (theirs.is_null()) continue;
        EXPECT_NEAR(result.photos[i].skeleton_length_ratio.value() / theirs.get<double>(), 1, 0.05);
        ++seen;
    }
    EXPECT_EQ(seen, 2);
}

TEST(Verify, SummarisesTubsApart)
{
    const auto result = verify(kData / "measured", kData, {});
    const auto tubs = summaryByTub(result.photos);
    ASSERT_EQ(tubs.size(), 2U);
    EXPECT_EQ(tubs.at("T01").compared, 2);
    EXPECT_EQ(tubs.at("T01").standing.tp, 1);
    EXPECT_EQ(tubs.at("T01").standing.tn, 1);
    EXPECT_EQ(tubs.at("T02").measured_share, 0.5);
    EXPECT_EQ(tubs.at("T02").standing.fn, 1);

    const auto only = verify(kData / "measured", kData, {}, {"T02"});
    EXPECT_EQ(only.photos.size(), 2U);
    EXPECT_EQ(only.photos_without_truth, 0);
}

TEST(Verify, SaysOfARetakeThatItWasNotMeasured)
{
    const Verification result = verify(kData / "measured", kData, {});
    ASSERT_EQ(result.problems.size(), 1U);
    EXPECT_EQ(result.problems[0], "T02_2026-01-12: was not measured (retake). See problems.csv for why.");
    EXPECT_EQ(result.photos[2].outcome, "retake");
}

/// A folder with truth and an output to change in a test.
class VerifyFolder : public testing::Test {
protected:
    void SetUp() override
    {
        const auto* test = testing::UnitTest::GetInstance()->current_test_info();
        dir_ = fs::path(testing::TempDir()) / (std::string("slipglass-") + test->name());
        fs::remove_all(dir_);
        fs::create_directories(dir_ / "truth");
        fs::create_directories(dir_ / "out" / "masks");
    }
    void TearDown() override { fs::remove_all(dir_); }

    void write(const std::string& name, const std::string& text) const
    {
        fs::create_directories((dir_ / name).parent_path());
        std::ofstream(dir_ / name, std::ios::binary) << text;
    }
    void mask(const std::string& name, int white_rows, cv::Size size = {40, 40}) const
    {
        cv::Mat picture = cv::Mat::zeros(size, CV_8UC1);
        if (white_rows > 0) picture.rowRange(0, white_rows) = 255;
        fs::create_directories((dir_ / name).parent_path());
        cv::imwrite((dir_ / name).string(), picture);
    }
    void masks(const std::string& stem) const
    {
        mask(stem + ".roots.png", 10);
        mask(stem + ".wall.png", 40);
    }
    Verification run() const { return verify(dir_ / "out", dir_ / "truth", {}); }

    fs::path dir_;
};

TEST_F(VerifyFolder, TakesMasksAloneAsTruth)
{
    mask("truth/a.roots.png", 10);
    write("out/observations.csv", "photo,tub,state\na.jpg,T07,measured\n");
    masks("out/masks/a");
    const Verification result = run();
    ASSERT_EQ(result.photos.size(), 1U);
    EXPECT_EQ(result.photos[0].tub, "T07");
    EXPECT_EQ(result.photos[0].dice, 1.0);
    EXPECT_FALSE(result.photos[0].true_standing_water.has_value());
    EXPECT_TRUE(result.problems.empty());
}

TEST_F(VerifyFolder, TakesALevelAloneAsTruth)
{
    write("truth/a.truth.json", R"({"water_level_mm": 5})");
    write("out/observations.csv",
          "photo,tub,state,water_level_mm,standing_water\na.jpg,T07,measured,4,true\n");
    const Summary all = summaryOf(run().photos);
    EXPECT_EQ(all.compared, 1);
    EXPECT_EQ(all.water_error_median_mm, 1.0);
    EXPECT_EQ(all.standing.tp, 1);
    EXPECT_FALSE(all.dice.has_value());
}

TEST_F(VerifyFolder, KeepsTubsOfOnePhotoApart)
{
    write("truth/shelf.A.truth.json", R"({"tub": "A"})");
    write("truth/shelf.B.truth.json", R"({"tub": "B"})");
    write("out/observations.csv", "photo,tub,state\nshelf.jpg,A,measured\nshelf.jpg,B,measured\n");
    for (const char* tub : {"A", "B"}) masks(std::string("truth/shelf.") + tub);
    masks("out/masks/shelf.A");
    mask("out/masks/shelf.B.roots.png", 0);
    mask("out/masks/shelf.B.wall.png", 40);
    const Verification result = run();
    ASSERT_EQ(result.photos.size(), 2U);
    EXPECT_EQ(result.photos[0].dice, 1.0);
    EXPECT_EQ(result.photos[1].dice, 0.0);
    EXPECT_EQ(result.photos[1].recall, 0.0);
}

TEST_F(VerifyFolder, FindsPhotosInSubfoldersByPathOrByNameAlone)
{
    masks("truth/T1/week1");
    masks("truth/T2/week1");
    masks("truth/lone");
    write("out/observations.csv",
          "photo,tub,state\nT1/week1.jpg,T1,measured\nT2/week1.jpg,T2,measured\nT3/lone.jpg,T3,measured\n");
    for (const char* stem : {"T1/week1", "T2/week1", "T3/lone"}) masks(std::string("out/masks/") + stem);
    const Verification result = run();
    ASSERT_EQ(result.photos.size(), 3U);
    EXPECT_EQ(summaryOf(result.photos).compared, 3);
    EXPECT_EQ(result.photos[0].tub, "T1");
    EXPECT_EQ(result.photos[2].tub, "T3");
}

TEST_F(VerifyFolder, DoesNotTakeTheProgramsOwnMasksForTruth)
{
    masks("a");
    masks("out/masks/a");
    write("out/observations.csv", "photo,tub,state\na.jpg,T1,measured\n");
    fs::remove(dir_ / "truth");
    const auto list = listTruth(dir_);
    ASSERT_EQ(list.size(), 1U);
    EXPECT_EQ(list[0].stem, "a");
}

TEST_F(VerifyFolder, AsksWhichPhotoAnAmbiguousTruthMeans)
{
    masks("truth/week1");
    write("out/observations.csv", "photo,tub,state\nT1/week1.jpg,T1,measured\nT2/week1.jpg,T2,measured\n");
    const Verification result = run();
    ASSERT_EQ(result.problems.size(), 1U);
    EXPECT_NE(result.problems[0].find("is the truth of 2 rows"), std::string::npos) << result.problems[0];
    EXPECT_EQ(result.photos[0].outcome, "not in csv");
    EXPECT_EQ(result.photos_without_truth, 2);
}

/// One bad truth, one good one: the bad one costs a line and nothing else.
struct BadCase {
    const char* name;
    void (*spoil)(const fs::path&);
    const char* outcome;
    const char* said;
};

void writeText(const fs::path& path, const std::string& text)
{
    std::ofstream(path, std::ios::binary) << text;
}

class VerifyBadInput : public VerifyFolder, public testing::WithParamInterface<BadCase> {};

TEST_P(VerifyBadInput, CostsOneLineAndTheRestGoesOn)
{
    for (const char* stem : {"bad", "good"}) {
        masks(std::string("truth/") + stem);
        masks(std::string("out/masks/") + stem);
        write(std::string("truth/") + stem + ".truth.json", R"({"tub": "T1", "px_per_mm": 4})");
    }
    write("out/observations.csv",
          "photo,tub,state,px_per_mm\nbad.jpg,T1,measured,4\ngood.jpg,T1,measured,5\n");
    GetParam().spoil(dir_);
    const Verification result = run();
    ASSERT_EQ(result.photos.size(), 2U);
    EXPECT_EQ(result.photos[0].outcome, GetParam().outcome);
    EXPECT_EQ(result.photos[1].outcome, "compared");
    EXPECT_EQ(result.photos[1].scale_ratio, 1.25);
    ASSERT_EQ(result.problems.size(), 1U);
    EXPECT_NE(result.problems[0].find(GetParam().said), std::string::npos) << result.problems[0];
    EXPECT_EQ(result.problems[0].find('\n'), std::string::npos);
}

INSTANTIATE_TEST_SUITE_P(
    Kinds, VerifyBadInput,
    testing::Values(
        BadCase{"BrokenJson", [](const fs::path& d) { writeText(d / "truth/bad.truth.json", "{\"tub\": "); },
                "broken truth", "bad.truth.json"},
        BadCase{"EmptyJson", [](const fs::path& d) { writeText(d / "truth/bad.truth.json", ""); },
                "broken truth", "bad.truth.json"},
        BadCase{"WrongType",
                [](const fs::path& d) { writeText(d / "truth/bad.truth.json", R"({"px_per_mm": "4"})"); },
                "broken truth", "px_per_mm is not a number from 0 to 10000"},
        BadCase{"ShareInPercent",
                [](const fs::path& d) {
                    writeText(d / "truth/bad.truth.json", R"({"front60": {"coverage_fraction": 4.1}})");
                },
                "broken truth", "coverage_fraction is not a number from 0 to 1"},
        BadCase{"MissingMask", [](const fs::path& d) { fs::remove(d / "out/masks/bad.wall.png"); }, "no mask",
                "bad.wall.png: is missing"},
        BadCase{"MaskThatIsNoPicture",
                [](const fs::path& d) { writeText(d / "out/masks/bad.roots.png", "text"); }, "no mask",
                "bad.roots.png: cannot be read as a picture"},
        BadCase{"OtherSize",
                [](const fs::path& d) {
                    cv::imwrite((d / "truth/bad.roots.png").string(),
                                cv::Mat(20, 40, CV_8UC1, cv::Scalar(0)));
                },
                "other size", "bad: its masks are 40 x 20 and 40 x 40 px"},
        BadCase{"NoSuchPhoto",
                [](const fs::path& d) {
                    writeText(d / "out/observations.csv",
                              "photo,tub,state,px_per_mm\ngood.jpg,T1,measured,5\n");
                },
                "not in csv", "bad: is not in observations.csv"}),
    [](const auto& instance) { return std::string(instance.param.name); });

TEST_F(VerifyFolder, CannotRunWithoutObservationsOrTruth)
{
    EXPECT_THROW(run(), Error);  // no observations.csv
    write("out/observations.csv", "tub\nT1\n");
    EXPECT_THROW(run(), Error);  // no column photo
    write("out/observations.csv", "photo\n");
    EXPECT_THROW(run(), Error);  // no truth
    EXPECT_THROW(verify(dir_ / "out", dir_ / "nowhere", {}), Error);
}

TEST(VerifyShown, FitsEightyColumns)
{
    const Verification result = verify(kData / "measured", kData, {});
    for (const std::string& text : {summaryTable(result), tubTable(result)}) {
        std::istringstream lines(text);
        int count = 0;
        for (std::string line; std::getline(lines, line); ++count) EXPECT_LE(line.size(), 80U) << line;
        EXPECT_GT(count, 2) << text;
    }
}

TEST(VerifyShown, WritesTheSameFiguresAsCsvAndJson)
{
    const Verification result = verify(kData / "measured", kData, {});
    const auto records = parseCsv(agreementCsv(result), "agreement.csv");
    ASSERT_EQ(records.size(), 5U);
    const json photos = json::parse(agreementJson(result))["photos"];
    int numbers = 0;
    for (size_t r = 1; r < records.size(); ++r) {
        ASSERT_EQ(records[r].fields.size(), records[0].fields.size());
        for (size_t c = 0; c < records[0].fields.size(); ++c) {
            const std::string& name = records[0].fields[c];
            const std::string& field = records[r].fields[c];
            const json& value = photos.at(r - 1).at(name);
            if (value.is_number()) {
                EXPECT_NEAR(std::stod(field), value.get<double>(), 0.006) << name;
                ++numbers;
                continue;
            }
            const std::string text = value.is_null()      ? ""
                                     : value.is_boolean() ? (value.get<bool>() ? "true" : "false")
                                                          : value.get<std::string>();
            EXPECT_EQ(field, text) << name;
        }
    }
    EXPECT_GT(numbers, 3 * 20) << "three photos were compared";
}

TEST(VerifyShown, ShowsADashForWhatIsNotKnown)
{
    const std::string table = photoTable(verify(kData / "measured", kData, {}));
    const size_t at = table.find("T02_2026-01-12");
    ASSERT_NE(at, std::string::npos);
    const std::string line = table.substr(at, table.find('\n', at) - at);
    EXPECT_NE(line.find(" - "), std::string::npos) << line;
    EXPECT_EQ(line.find("0.00"), std::string::npos) << line;
}

}  // namespace
}  // namespace slipglass
