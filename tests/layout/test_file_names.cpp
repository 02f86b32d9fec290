#include <gtest/gtest.h>

#include <algorithm>
#include <set>

#include "../support/season_maker.h"
#include "slipglass/folded_name.h"
#include "slipglass/layout/file_names.h"

namespace slipglass {
namespace {

using test::day;
using test::seenOn;

TEST(SafeFileName, LeavesReadableIdsAlone)
{
    for (const char* id : {"T01", "Quince-A_2", "Weidenkübel 7", "пруток", "a.b", "木"})
        EXPECT_EQ(safeFileName(id), id);
}

TEST(SafeFileName, NeverLeavesTheFolder)
{
    for (const std::string id : {"", ".", "..", "../T01", "/etc/passwd", "a/b", "a\\b", "C:\\x", "...", "~",
                                 "-rf", ".hidden", "a/../../b"}) {
        const std::string name = safeFileName(id);
        EXPECT_EQ(name.find_first_of("/\\:"), std::string::npos) << name;
        EXPECT_EQ(name.find(".."), std::string::npos) << name;
        EXPECT_NE(name.front(), '.') << name;
        EXPECT_NE(name.front(), '-') << name;
        EXPECT_NE(name, id);
    }
    EXPECT_EQ(safeFileName("../T01").substr(0, 8), "___T01~" + safeFileName("../T01").substr(7, 1));
}

TEST(SafeFileName, AvoidsWhatASystemKeepsForItself)
{
    for (const char* id : {"CON", "nul", "com1", "Lpt9.txt", "aux.", "end.", "end ", " start"}) {
        const std::string name = safeFileName(id);
        EXPECT_NE(name, id);
        std::string stem = name.substr(0, name.find('.'));
        EXPECT_NE(stem, id);
        EXPECT_NE(name.back(), '.');
        EXPECT_NE(name.back(), ' ');
        EXPECT_NE(name.front(), ' ');
    }
    EXPECT_EQ(safeFileName("nul.a").substr(0, 1), "_");
}

TEST(SafeFileName, GivesDifferentIdsDifferentNames)
{
    std::set<std::string> names;
    const std::vector<std::string> ids{"a/b",
                                       "a\\b",
                                       "a_b",
                                       "a:b",
                                       "a\nb",
                                       std::string("a\xFF") + "b",
                                       std::string("a\xFE") + "b",
                                       "<b>",
                                       "\"b\"",
                                       "..",
                                       ".",
                                       "",
                                       "_",
                                       "__",
                                       std::string(300, 'x'),
                                       std::string(301, 'x'),
                                       std::string(100, 'x'),
                                       std::string(1, '\0'),
                                       std::string(2, '\0'),
                                       safeFileName("a/b")};
    for (const auto& id : ids) names.insert(safeFileName(id));
    EXPECT_EQ(names.size(), ids.size());
}

TEST(SafeFileName, IsShortAndNeverCutsACharacter)
{
    std::string id;
    for (int i = 0; i < 200; ++i) id += "ü";
    const std::string name = safeFileName(id);
    EXPECT_LE(name.size(), 100U);
    EXPECT_EQ(name.find('~') % 2, 0U);  // whole letters of two bytes before the mark
}

// A USB stick, Windows and most Macs take names for one that differ in capitals alone.
TEST(SafeFileNames, AreApartOnEveryDisk)
{
    const std::set<std::string> ids{"T01", "t01", "T02", "\xC3\x9C", "u\xCC\x88", "CON", "con"};
    const auto names = safeFileNames(ids);
    std::set<std::string> folded;
    for (const auto& [id, name] : names) folded.insert(foldedName(name));
    EXPECT_EQ(folded.size(), ids.size());
    EXPECT_EQ(names.at("T01"), "T01") << "the first keeps its name";
    EXPECT_EQ(names.at("T02"), "T02");
    EXPECT_EQ(names.at("t01").substr(0, 4), "t01~");
}

TEST(SafeStem, LeavesWhatEverySystemTakes)
{
    for (const char* stem :
         {"T01_2026-01-12", "week 3/T01 (2)", "IMG+1,b", ".hidden", "-x", "T01_2026-01-12 ", "Weidenkübel"})
        EXPECT_EQ(safeStem(stem), stem);
}

TEST(SafeStem, MarksWhatWindowsForbids)
{
    for (const char* stem : {"CON", "a:b", "nul.x", "what?", "\"x\"", "a\nb", "e\x1B[31m", "week 3./T01",
                             "x /T01", "LPT1/T01", "a\\b"}) {
        const std::string safe = safeStem(stem);
        EXPECT_NE(safe.find('~'), std::string::npos) << safe;
        EXPECT_EQ(safe.find_first_of(":?\"\n\x1B\\"), std::string::npos) << safe;
        EXPECT_EQ(safeStem(safe), safe);
    }
    EXPECT_LE(safeStem(std::string(200, 'x')).size(), 100U);
}

TEST(OverlayName, NumbersTheSecondPhotoOfADayInTimeOrder)
{
    EXPECT_EQ(overlayName("T01", day(0), 1), "overlays/T01/2026-01-12.jpg");
    EXPECT_EQ(overlayName("T01", day(0), 2), "overlays/T01/2026-01-12_2.jpg");

    auto late = seenOn(0), early = seenOn(0);
    late.photo = "a.jpg";
    late.taken.second_of_day = 7200;
    early.photo = "b.jpg";
    early.taken.second_of_day = 3600;
    for (const auto& seen :
         {std::vector{late, early, seenOn(0, "T02")}, std::vector{seenOn(0, "T02"), early, late}}) {
        const auto names = overlayNames(seen);
        EXPECT_EQ(names.at({"b.jpg", "T01"}), "overlays/T01/2026-01-12.jpg");
        EXPECT_EQ(names.at({"a.jpg", "T01"}), "overlays/T01/2026-01-12_2.jpg");
        EXPECT_EQ(names.at({seenOn(0, "T02").photo, "T02"}), "overlays/T02/2026-01-12.jpg");
    }
}

TEST(OverlayName, IsApartForTubsThatDifferInCapitals)
{
    const auto names = overlayNames({seenOn(0, "T01"), seenOn(0, "t01")});
    std::set<std::string> folded;
    for (const auto& [place, name] : names) folded.insert(foldedName(name));
    EXPECT_EQ(folded.size(), 2U);
}

TEST(GraphName, IsSafe)
{
    EXPECT_EQ(graphName("T01"), "graphs/T01.svg");
    EXPECT_EQ(graphName(safeFileName("../x")).find(".."), std::string::npos);
}

}  // namespace
}  // namespace slipglass
