#include <gtest/gtest.h>

#include "../support/scratch_folder.h"
#include "../support/season_maker.h"
#include "slipglass/error.h"
#include "slipglass/season/care.h"

namespace slipglass {
namespace {

using test::day;

const Date kToday = *parseIsoDate("2026-04-01");

CareLog logOf(const std::string& text)
{
    return parseCare(text, "care.csv", kToday);
}

/// What reading `text` complains of; "" when it does not.
std::string errorOf(const std::string& text)
{
    try {
        logOf(text);
        return {};
    } catch (const Error& error) {
        return error.what();
    }
}

TEST(Care, ReadsAllColumns)
{
    const CareLog log = logOf(
        "date,tub,what,amount_ml,weight_g,note,cutting\r\n"
        "2026-02-01,T01,watered,150,912.5,\"from the butt, cold\",\r\n"
        "2026-03-09,T01,potted-up,,,,left\r\n");
    ASSERT_EQ(log.events.size(), 2U);
    const CareEvent& water = log.events[0];
    EXPECT_EQ(isoDate(water.date), "2026-02-01");
    EXPECT_EQ(water.tub, "T01");
    EXPECT_EQ(water.what, Care::watered);
    EXPECT_EQ(water.amount_ml, 150);
    EXPECT_EQ(water.weight_g, 912.5);
    EXPECT_EQ(water.note, "from the butt, cold");
    EXPECT_EQ(water.line, 2);
    EXPECT_EQ(log.events[1].what, Care::potted_up);
    EXPECT_EQ(log.events[1].cutting, "left");
    EXPECT_FALSE(log.events[1].amount_ml);
    EXPECT_TRUE(log.warnings.empty());
}

TEST(Care, TakesWhatSpreadsheetsMakeOfIt)
{
    const CareLog log = logOf(
        "\xEF\xBB\xBF Date ;Tub;WHAT;Amount ml;Weight-g;;\n"
        ";;;;;;\n"
        "2026-02-01; T01 ;Tipped Out;12,5;;;\n"
        "2026-01-20;T02; GIVEN_UP ;;;;\n");
    ASSERT_EQ(log.events.size(), 2U);
    EXPECT_EQ(log.events[0].tub, "T02") << "events are in order of date";
    EXPECT_EQ(log.events[0].what, Care::given_up);
    EXPECT_EQ(log.events[1].what, Care::tipped_out);
    EXPECT_EQ(log.events[1].tub, "T01");
    EXPECT_EQ(log.events[1].amount_ml, 12.5);
    EXPECT_TRUE(log.warnings.empty());
}

TEST(Care, TakesARowThatOnlyWeighs)
{
    const CareLog log = logOf("date,tub,what,weight_g\n2026-02-01,T01,,900\n2026-02-08,T01,weighed,880\n");
    ASSERT_EQ(log.events.size(), 2U);
    EXPECT_EQ(log.events[0].what, Care::weighed);
    EXPECT_EQ(log.events[1].what, Care::weighed);
}

TEST(Care, TakesALogInWhichNothingIsWrittenYet)
{
    EXPECT_TRUE(logOf("date,tub,what\n").events.empty());
}

TEST(Care, WarnsOfColumnsItDoesNotReadAndOfDaysToCome)
{
    const CareLog log = logOf("date,tub,what,weigth_g,who\n2026-05-01,T01,moved,900,me\n");
    ASSERT_EQ(log.warnings.size(), 3U);
    EXPECT_EQ(log.warnings[0], "care.csv: the column 'weigth_g' is not read; did you mean 'weight_g'?");
    EXPECT_EQ(log.warnings[1], "care.csv: the column 'who' is not read");
    EXPECT_EQ(log.warnings[2],
              "care.csv, line 2: date is 2026-05-01, which is still to come; is the year right?");
    EXPECT_EQ(log.events.size(), 1U);
}

TEST(Care, NamesFileLineAndRemedyOfWhatIsWrong)
{
    EXPECT_EQ(errorOf(""),
              "care.csv: is empty. Give a first line with column names, then a row for each thing done.");
    EXPECT_EQ(errorOf("\n ,\n"),
              "care.csv: is empty. Give a first line with column names, then a row for each thing done.");
    EXPECT_EQ(errorOf("date,tub,whats\n"),
              "care.csv: has no column 'what'. Rename the column 'whats' to 'what'.");
    EXPECT_EQ(errorOf("tub,what\n"),
              "care.csv: has no column 'date'. Add a column 'date' with the day of "
              "each row.");
    const std::string head = "date,tub,what,amount_ml,weight_g\n";
    EXPECT_EQ(errorOf(head + "2026-02-01,T01,waterd,,\n"),
              "care.csv, line 2: what is 'waterd', which is not known. Perhaps 'watered' was meant.");
    EXPECT_EQ(errorOf(head + "2026-02-01,T01,sung to,,\n"),
              "care.csv, line 2: what is 'sung to', which is not known. Use one of watered, tipped-out, "
              "moved, potted-up, given-up, weighed, noted.");
    EXPECT_EQ(errorOf(head + "1.2.2026,T01,watered,,\n"),
              "care.csv, line 2: date is '1.2.2026', which may be 1 February or 2 January. Write 2026-02-01 "
              "or 2026-01-02; in a spreadsheet, set the column to text first.");
    EXPECT_EQ(errorOf(head + "soon,T01,watered,,\n"),
              "care.csv, line 2: date is 'soon', which is not a date as YYYY-MM-DD. Write it like "
              "2026-01-12; in a spreadsheet, set the column to text first.");
    EXPECT_EQ(errorOf(head + "13.2.2026,T01,watered,,\n"), "");
    EXPECT_EQ(errorOf(head + ",T01,watered,,\n").substr(0, 27), "care.csv, line 2: date is '");
    EXPECT_EQ(errorOf(head + "1999-02-01,T01,watered,,\n"),
              "care.csv, line 2: date is 1999-02-01, before 2000. Correct the year.");
    EXPECT_EQ(errorOf(head + "2026-02-01,,watered,,\n"),
              "care.csv, line 2: has no tub. Give the id of the tub.");
    EXPECT_EQ(
        errorOf(head + "2026-02-01,T01,,100,\n"),
        "care.csv, line 2: says neither what was done nor a weight nor a note. Fill the column 'what', for "
        "example with watered.");
    EXPECT_EQ(errorOf(head + "2026-02-01,T01,weighed,,\n"),
              "care.csv, line 2: is a weighing without a weight. Fill the column 'weight_g'.");
    EXPECT_EQ(errorOf(head + "2026-02-01,T01,watered\n").substr(0, 30), "care.csv, line 2: has 3 fields");
}

TEST(Care, TakesOnlyNumbersAboveZeroForAmountsAndWeights)
{
    for (const char* bad : {"heavy", "900 g", "1.2.3", "0", "-5", "nan", "inf", "1e999", "0x10"})
        EXPECT_EQ(errorOf(std::string("date,tub,what,weight_g\n2026-02-01,T01,moved,\"") + bad + "\"\n"),
                  std::string("care.csv, line 2: weight_g is '") + bad +
                      "', which is not a number above 0. Write the number alone, like 250, or leave the "
                      "field empty.");
}

TEST(Care, ReadsAFileAndNamesOneThatIsNotThere)
{
    const test::ScratchFolder folder;
    EXPECT_EQ(
        readCare(folder.write("care.csv", "date,tub,what\n2026-02-01,T01,moved\n"), kToday).events.size(),
        1U);
    EXPECT_THROW(readCare(folder / "none.csv", kToday), Error);
}

CareEvent event(int on, Care what, std::optional<double> weight_g = std::nullopt)
{
    CareEvent event = test::cared(on, what);
    event.weight_g = weight_g;
    return event;
}

TEST(Care, GivesTheChangeOfWeightPerDay)
{
    const auto weighings =
        weighingsOf({event(0, Care::weighed, 900), event(4, Care::weighed, 880), event(5, Care::watered),
                     event(9, Care::weighed, 930), event(11, Care::watered, 1000)});
    ASSERT_EQ(weighings.size(), 4U);
    EXPECT_FALSE(weighings[0].g_per_day);
    EXPECT_EQ(weighings[1].g_per_day, -5);
    EXPECT_FALSE(weighings[1].interrupted);
    EXPECT_EQ(weighings[2].g_per_day, 10);
    EXPECT_TRUE(weighings[2].interrupted);
    EXPECT_EQ(weighings[3].g_per_day, 35);
    EXPECT_TRUE(weighings[3].interrupted) << "the weight is taken after the watering of its row";
}

TEST(Care, TakesTheLastWeighingOfADay)
{
    const auto weighings = weighingsOf({event(0, Care::weighed, 900), event(2, Care::weighed, 800),
                                        event(2, Care::watered, 1000), event(4, Care::weighed, 990)});
    ASSERT_EQ(weighings.size(), 3U);
    EXPECT_EQ(weighings[1].weight_g, 1000);
    EXPECT_EQ(weighings[1].g_per_day, 50);
    EXPECT_TRUE(weighings[1].interrupted);
    EXPECT_EQ(weighings[2].g_per_day, -5);
    EXPECT_FALSE(weighings[2].interrupted);
}

TEST(Care, KnowsWhetherATubWasHandledBetweenTwoDays)
{
    const std::vector<CareEvent> log{event(3, Care::moved), event(7, Care::tipped_out)};
    EXPECT_TRUE(handledBetween(log, day(7), day(14)));
    EXPECT_TRUE(handledBetween(log, day(0), day(7)));
    EXPECT_FALSE(handledBetween(log, day(0), day(6)));
    EXPECT_FALSE(handledBetween(log, day(8), day(14)));
}

}  // namespace
}  // namespace slipglass
