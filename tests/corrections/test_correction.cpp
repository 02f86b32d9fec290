#include "slipglass/corrections/correction.h"

#include <gtest/gtest.h>

#include "../support/scratch_folder.h"
#include "slipglass/error.h"

namespace slipglass {
namespace {

using test::ScratchFolder;

constexpr const char* kWhole = R"({"schema": 1, "photo": "T01/IMG_0412.jpg", "tub": "T01",
  "strokes": [{"kind": "root", "width": 6.5, "points": [[10, 20], [30.25, 40]]},
              {"kind": "not root", "width": 3, "points": [[50, 60]]}],
  "outline": [[100, 50], [300, 52], [280, 400], [120, 398]],
  "water_line": [[130, 350], [270, 351]]})";

std::string errorOf(const std::string& text)
{
    try {
        parseCorrection(text, "T01_2026-01-12.json");
    } catch (const Error& error) {
        return error.what();
    }
    return "";
}

TEST(ReadingACorrection, GivesAllThatIsInIt)
{
    const Correction read = parseCorrection(kWhole, "a.json");
    EXPECT_EQ(read.photo, "T01/IMG_0412.jpg");
    EXPECT_EQ(read.tub, "T01");
    ASSERT_EQ(read.strokes.size(), 2u);
    EXPECT_TRUE(read.strokes[0].root);
    EXPECT_FALSE(read.strokes[1].root);
    EXPECT_EQ(read.strokes[0].width_px, 6.5);
    EXPECT_EQ(read.strokes[0].points[1].x_px, 30.25);
    ASSERT_TRUE(read.outline);
    EXPECT_EQ((*read.outline)[2].x_px, 280);
    EXPECT_EQ((*read.outline)[2].y_px, 400);
    ASSERT_TRUE(read.water_line);
    EXPECT_EQ(read.water_line->size(), 2u);
}

TEST(ReadingACorrection, TellsNoWaterFromNothingSaidOfWater)
{
    EXPECT_FALSE(parseCorrection(R"({"schema": 1})", "a").water_line);
    const Correction dry = parseCorrection(R"({"schema": 1, "water_line": []})", "a");
    ASSERT_TRUE(dry.water_line);
    EXPECT_TRUE(dry.water_line->empty());
    EXPECT_FALSE(dry.empty());
    EXPECT_TRUE(parseCorrection(R"({"schema": 1, "strokes": []})", "a").empty());
}

TEST(ReadingACorrection, SaysWhatIsWrongAndWhatToDo)
{
    const struct {
        const char *text, *says;
    } kBad[] = {
        {"", "is empty"},
        {" \n", "is empty"},
        {"{", "is not valid JSON at line 1"},
        {"[]", "it is []"},
        {R"({"strokes": []})", "has no \"schema\""},
        {R"({"schema": 2})", "schema is 2"},
        {R"({"schema": 1, "stroke": []})", "unknown key \"stroke\". Perhaps \"strokes\" is meant"},
        {R"({"schema": 1, "schema": 1})", "gives \"schema\" twice"},
        {R"({"schema": 1, "photo": 3})", "photo is 3"},
        {R"({"schema": 1, "strokes": {}})", "strokes is {}"},
        {R"({"schema": 1, "strokes": [{"kind": "root", "width": 2}]})", "strokes[0] has no \"points\""},
        {R"({"schema": 1, "strokes": [{"kind": "roots", "width": 2, "points": [[1, 2]]}]})",
         "strokes[0].kind is \"roots\""},
        {R"({"schema": 1, "strokes": [{"kind": "root", "width": 0, "points": [[1, 2]]}]})",
         "strokes[0].width is 0"},
        {R"({"schema": 1, "strokes": [{"kind": "root", "width": 2, "points": []}]})",
         "strokes[0].points is empty"},
        // What a browser writes for a number that is none.
        {R"({"schema": 1, "strokes": [{"kind": "root", "width": 2, "points": [[null, 2]]}]})",
         "strokes[0].points[0] is null"},
        {R"({"schema": 1, "strokes": [{"kind": "root", "width": 2, "points": [[NaN, 2]]}]})",
         "is not valid JSON"},
        {R"({"schema": 1, "water_line": [[1e99, 2], [3, 4]]})", "water_line[0] is 1e+99"},
        {R"({"schema": 1, "water_line": [[1, 2, 3], [3, 4]]})", "water_line[0] is [1,2,3]"},
        {R"({"schema": 1, "water_line": [[1, 2]]})", "water_line has one point"},
        {R"({"schema": 1, "outline": [[0, 0], [9, 0], [9, 9]]})", "outline has 3 corners"},
        // Crossed: base left and base right the wrong way round.
        {R"({"schema": 1, "outline": [[0, 0], [90, 0], [0, 90], [90, 90]]})", "outline is crossed"},
        // Mirrored: left and right the wrong way round.
        {R"({"schema": 1, "outline": [[90, 0], [0, 0], [0, 90], [90, 90]]})", "outline is crossed"},
        // Upside down.
        {R"({"schema": 1, "outline": [[90, 90], [0, 90], [0, 0], [90, 0]]})", "its rim below its base"},
        {R"({"schema": 1, "outline": [[5, 5], [5, 5], [5, 5], [5, 5]]})", "outline is crossed"},
    };
    for (const auto& bad : kBad) {
        const std::string said = errorOf(bad.text);
        EXPECT_NE(said.find(bad.says), std::string::npos) << bad.text << "\n  gives: " << said;
        EXPECT_EQ(said.find("T01_2026-01-12.json: "), 0u) << said;
        EXPECT_EQ(said.find('\n'), std::string::npos) << said;
    }
}

TEST(ReadingACorrection, RefusesWhatLiesOutsideThePhoto)
{
    const auto check = [](const std::string& text) {
        checkAgainstPhoto(parseCorrection(text, "a.json"), "a.json", 900, 1200);
    };
    EXPECT_NO_THROW(check(kWhole));
    // A stroke may begin beside the photo, not lie there.
    EXPECT_NO_THROW(
        check(R"({"schema": 1, "strokes": [{"kind": "root", "width": 2, "points": [[-5, 20], [10, 20]]}]})"));
    EXPECT_THROW(check(R"({"schema": 1, "strokes": [{"kind": "root", "width": 2, "points": [[2000, 20]]}]})"),
                 Error);
    EXPECT_THROW(check(R"({"schema": 1, "water_line": [[10, 1300], [20, 1300]]})"), Error);
}

TEST(WritingACorrection, IsReadBackTheSameAndLeavesNamesOut)
{
    const Correction read = parseCorrection(kWhole, "a");
    const std::string text = correctionText(read);
    EXPECT_EQ(correctionText(parseCorrection(text, "b")), text);
    Correction renamed = read;
    renamed.photo = "other.jpg";
    EXPECT_EQ(correctionText(renamed), text);
    renamed.strokes[0].width_px = 6.25;
    EXPECT_NE(correctionText(renamed), text);
}

TEST(ReadingCorrections, GoesOnAfterABadFile)
{
    const ScratchFolder scratch;
    scratch.write("b/IMG_0001.json", R"({"schema": 1, "water_line": []})");
    scratch.write("a.json", "nonsense");
    scratch.write("c.JSON", R"({"schema": 1})");
    scratch.write("notes.txt", "no correction");
    scratch.write(".hidden.json", "nonsense");
    std::filesystem::last_write_time(
        scratch / "c.JSON",
        std::filesystem::last_write_time(scratch / "b/IMG_0001.json") + std::chrono::hours{1});
    const CorrectionListing listing = parseCorrections(correctionTexts(scratch.path()));
    ASSERT_EQ(listing.files.size(), 2u);
    EXPECT_EQ(listing.files[0].name, "b/IMG_0001.json");
    EXPECT_EQ(listing.files[0].stem, "b/IMG_0001");
    EXPECT_EQ(listing.files[1].stem, "c");
    ASSERT_EQ(listing.problems.size(), 1u);
    EXPECT_EQ(listing.problems[0].file, "a.json");
    EXPECT_NE(listing.problems[0].reason.find("not valid JSON"), std::string::npos);
    EXPECT_THROW(correctionTexts(scratch / "nowhere"), Error);
}

}  // namespace
}  // namespace slipglass
