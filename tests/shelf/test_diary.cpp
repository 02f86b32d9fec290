#include "diary.h"

#include <gtest/gtest.h>

#include "slipglass/error.h"

namespace slipglass {
namespace {

const Date kDay = *parseIsoDate("2026-02-01");

TEST(Diary, BeginsAFileThatMeasureReads)
{
    const std::string text = withRow("", careFrom({"T01", "tipped out"}, kDay));
    EXPECT_EQ(text, "date,tub,what,amount_ml,note\r\n2026-02-01,T01,tipped-out,,\r\n");
}

TEST(Diary, KeepsWhatAGrowersOwnFileHoldsAndAddsColumnsThatItLacks)
{
    // As a spreadsheet of another country writes it, with a column of the grower's own.
    const std::string own = "tub;what;date;who\nT02;watered;2026-01-20;\"Ada, at noon\"\n";
    const std::string text = withRow(own, careFrom({"T01", "watered", "150", "", "dry, pale"}, kDay));
    EXPECT_EQ(text,
              "tub,what,date,who,amount_ml,note\r\n"
              "T02,watered,2026-01-20,\"Ada, at noon\",,\r\n"
              "T01,watered,2026-02-01,,150,\"dry, pale\"\r\n");
    const CareLog log = parseCare(text, "care.csv", kDay);
    EXPECT_EQ(log.events.size(), 2U);
}

TEST(Diary, TakesBackTheLastRowThatSaysJustThis)
{
    const CareEvent event = careFrom({"T01", "watered", "150", "", ""}, kDay);
    const std::string once = withRow("", event), twice = withRow(once, event);
    EXPECT_EQ(withoutRow(twice, event), once);
    EXPECT_EQ(withoutRow(once, careFrom({"T01", "watered", "151", "", ""}, kDay)), std::nullopt);
    EXPECT_EQ(withoutRow(once, careFrom({"T02", "watered", "150", "", ""}, kDay)), std::nullopt);
}

TEST(Diary, RefusesWhatSaysNothing)
{
    EXPECT_THROW(careFrom({"T01", "", "", "", ""}, kDay), Error);
    EXPECT_THROW(careFrom({"", "watered", "", "", ""}, kDay), Error);
    EXPECT_THROW(careFrom({"T01", "watered", "much", "", ""}, kDay), Error);
    EXPECT_EQ(careFrom({"T01", "", "", "", "mice"}, kDay).what, Care::noted);
}

}  // namespace
}  // namespace slipglass
