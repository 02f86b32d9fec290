#include <gtest/gtest.h>

#include "../support/scratch_folder.h"
#include "slipglass/error.h"
#include "slipglass/season/plan.h"

namespace slipglass {
namespace {

const Date kToday = *parseIsoDate("2026-03-01");

Plan planOf(const std::string& text)
{
    const test::ScratchFolder folder;
    return readPlan(folder.write("batch.csv", text), kToday);
}

/// "line 3: what is wrong" of the error that reading `text` gives; "" when it gives none.
std::string errorOf(const std::string& text)
{
    const test::ScratchFolder folder;
    const auto file = folder.write("batch.csv", text);
    try {
        readPlan(file, kToday);
        return {};
    } catch (const Error& error) {
        const std::string where = error.input().substr(file.string().size());
        return where + ": " + error.problem() + ". " + error.remedy();
    }
}

TEST(Plan, ReadsAllColumnsOfTheDesignPage)
{
    const Plan plan = planOf(
        "cutting,tub,position,variety,medium,treatment,stuck_on,tub_type,note\r\n"
        "Q1,T01,left,Quince A,peat,\"rooting hormone, bottom warmth\",2026-01-12,quart,\"says "
        "\"\"top\"\"\"\r\n");
    ASSERT_EQ(plan.cuttings.size(), 1U);
    const auto& row = plan.cuttings[0];
    EXPECT_EQ(row.cutting, "Q1");
    EXPECT_EQ(row.tub, "T01");
    EXPECT_EQ(row.position, "left");
    EXPECT_EQ(row.variety, "Quince A");
    EXPECT_EQ(row.medium, "peat");
    EXPECT_EQ(row.treatment, "rooting hormone, bottom warmth");
    EXPECT_EQ(row.stuck_on, parseIsoDate("2026-01-12"));
    EXPECT_EQ(row.tub_type, "quart");
    EXPECT_EQ(row.note, "says \"top\"");
    EXPECT_TRUE(plan.warnings.empty());
}

TEST(Plan, NeedsOnlyTheColumnTub)
{
    const Plan plan = planOf("tub\nT01\nT02\n");
    ASSERT_EQ(plan.cuttings.size(), 2U);
    EXPECT_EQ(plan.cuttings[1].cutting, "T02");
    EXPECT_FALSE(plan.cuttings[1].stuck_on);
}

TEST(Plan, KeepsColumnsOfTheUsersOwn)
{
    const Plan plan = planOf("tub,Shelf,stuck on\nT01,top,2026-01-12\n");
    EXPECT_EQ(plan.own_column_names, std::vector<std::string>{"Shelf"});
    EXPECT_EQ(plan.cuttings[0].own_columns.at("Shelf"), "top");
    EXPECT_TRUE(plan.cuttings[0].stuck_on);
}

TEST(Plan, ReadsWhatSpreadsheetsWrite)
{
    const Plan expected = planOf("cutting,tub,stuck_on\nQ1,T01,2026-01-12\n");
    for (const char* text :
         {"\xEF\xBB\xBF"
          "Cutting,TUB,Stuck-On\r\nQ1,T01,2026-01-12\r\n",
          "cutting;tub;stuck_on\r\nQ1;T01;2026-01-12\r\n;;\r\n;;\r\n",
          "cutting\ttub\tstuck_on\rQ1\tT01\t2026-01-12\r",
          "cutting,tub,stuck_on,,\nQ1,T01,2026-01-12,,\n\n\n",
          " cutting , tub ,stuck_on\n Q1 ,T01, 2026-01-12 \n", "cutting,tub,stuck_on\nQ1,T01,2026-01-12,,"}) {
        const Plan plan = planOf(text);
        ASSERT_EQ(plan.cuttings.size(), 1U) << text;
        EXPECT_EQ(plan.cuttings[0].cutting, expected.cuttings[0].cutting) << text;
        EXPECT_EQ(plan.cuttings[0].tub, expected.cuttings[0].tub) << text;
        EXPECT_EQ(plan.cuttings[0].stuck_on, expected.cuttings[0].stuck_on) << text;
        EXPECT_TRUE(plan.own_column_names.empty()) << text;
    }
}

TEST(Plan, NamesTheColumnNearestToTubWhenThereIsNone)
{
    EXPECT_EQ(errorOf("cutting,tubs\nQ1,T01\n"), ": has no column 'tub'. Rename the column 'tubs' to 'tub'");
    EXPECT_EQ(errorOf("cutting,container\nQ1,T01\n"),
              ": has no column 'tub'. Add a column 'tub' with the id of each tub");
}

TEST(Plan, RefusesACuttingTwiceAndNamesBothLines)
{
    EXPECT_EQ(errorOf("tub\nT01\nT02\nT01\n"),
              ", line 4: the cutting 'T01' is on line 2 already. Give each cutting its own id in the column "
              "'cutting'");
    EXPECT_EQ(errorOf("cutting,tub\na,T01\nb,T01\n"), "");
}

TEST(Plan, RefusesDatesThatAreNone)
{
    for (const char* date : {"2026-02-30", "31.04.2026", "12 Jan", "46034"})
        EXPECT_NE(errorOf(std::string("tub,stuck_on\n\nT01,") + date + "\n")
                      .find(", line 3: stuck_on is '" + std::string(date) + "', which is not a date"),
                  std::string::npos)
            << date;
    EXPECT_EQ(
        errorOf("tub,stuck_on\nT01,12.01.2026\n"),
        ", line 2: stuck_on is '12.01.2026', which may be 12 January or 1 December. Write 2026-01-12 or "
        "2026-12-01; in a spreadsheet, set the column to text first");
    EXPECT_EQ(errorOf("tub,stuck_on\nT01,1999-12-31\n"),
              ", line 2: stuck_on is 1999-12-31, before 2000. Correct the year");
}

TEST(Plan, TakesDatesAsSpreadsheetsWriteThem)
{
    const Plan plan = planOf("tub,stuck_on,potted_up_on\nT01,13/01/2026,27 Feb 2026\nT02,2026/1/13,\n");
    EXPECT_EQ(plan.cuttings[0].stuck_on, parseIsoDate("2026-01-13"));
    EXPECT_EQ(plan.cuttings[0].potted_up_on, parseIsoDate("2026-02-27"));
    EXPECT_EQ(plan.cuttings[1].stuck_on, parseIsoDate("2026-01-13"));
    EXPECT_EQ(planValue(plan.cuttings[0], "stuck_on"), "2026-01-13");
}

TEST(Plan, ReadsWhenACuttingLeftItsTub)
{
    const Plan plan =
        planOf("tub,stuck_on,Given up on,potted-up-on\nT01,2026-01-12,2026-02-20,\nT02,,,2026-02-21\n");
    EXPECT_EQ(plan.cuttings[0].given_up_on, parseIsoDate("2026-02-20"));
    EXPECT_FALSE(plan.cuttings[0].potted_up_on);
    EXPECT_EQ(plan.cuttings[1].potted_up_on, parseIsoDate("2026-02-21"));
    EXPECT_TRUE(plan.own_column_names.empty());
    EXPECT_EQ(
        errorOf("tub,stuck_on,given_up_on\nT01,2026-01-12,2026-01-11\n"),
        ", line 2: given_up_on is 2026-01-11, before it was stuck on 2026-01-12. Correct one of the two");
    EXPECT_EQ(
        errorOf("tub,potted_up_on\nT01,soon\n"),
        ", line 2: potted_up_on is 'soon', which is not a date as YYYY-MM-DD. Write it like 2026-01-12; "
        "in a spreadsheet, set the column to text first");
}

TEST(Plan, SaysWhatCannotBeToldWithoutStuckOnAndWhatToDo)
{
    EXPECT_EQ(stuckOnNote(planOf("tub,stuck_on\nT01,2026-01-12\n"), "batch.csv"), "");
    EXPECT_EQ(
        stuckOnNote(planOf("tub\nT01\nT02\n"), "batch.csv"),
        "batch.csv: no cutting has stuck_on, the day it was put into the medium. Days since sticking and "
        "days to strike stay empty there, and age counts from the first photo, until you fill it in and "
        "give the plan with --batch.");
    EXPECT_EQ(stuckOnNote(planOf("tub,stuck_on\nT01,2026-01-12\nT02,\nT03,\n"), "batch.csv")
                  .find("batch.csv: 2 of 3 cuttings have no stuck_on"),
              0U);
    EXPECT_EQ(stuckOnNote(planOf("tub,stuck_on\nT01,2026-01-12\nT02,\n"), "batch.csv")
                  .find("batch.csv: 1 of 2 cuttings has no stuck_on"),
              0U);
}

TEST(Plan, WarnsOfADateStillToCome)
{
    EXPECT_TRUE(planOf("tub,stuck_on\nT01,2026-03-01\n").warnings.empty());
    const Plan plan = planOf("tub,stuck_on\nT01,2026-03-02\n");
    ASSERT_EQ(plan.warnings.size(), 1U);
    EXPECT_NE(plan.warnings[0].find("line 2: stuck_on is 2026-03-02, which is still to come"),
              std::string::npos);
}

TEST(Plan, WarnsOfAnOwnColumnNamedAlmostLikeOurs)
{
    const Plan plan = planOf("tub,varety\nT01,Quince A\n");
    ASSERT_EQ(plan.warnings.size(), 1U);
    EXPECT_NE(plan.warnings[0].find("did you mean 'variety'?"), std::string::npos);
}

TEST(Plan, WarnsOfAFourthCuttingInATub)
{
    EXPECT_TRUE(planOf("cutting,tub\na,T\nb,T\nc,T\n").warnings.empty());
    EXPECT_EQ(planOf("cutting,tub\na,T\nb,T\nc,T\nd,T\ne,T\n").warnings.size(), 1U);
}

TEST(Plan, WarnsOfIdsThatDifferInCapitalsOnly)
{
    const Plan plan = planOf("tub\nT01\nt01\n");
    ASSERT_EQ(plan.warnings.size(), 1U);
    EXPECT_NE(plan.warnings[0].find("'t01' and 'T01' differ in capitals only"), std::string::npos);
}

TEST(Plan, RefusesColumnsItCannotTellApart)
{
    EXPECT_EQ(errorOf("tub,note,Note\nT01,a,b\n"),
              ", line 1: the column 'note' is there twice. Rename or remove one");
    EXPECT_EQ(errorOf("tub,,note\nT01,a,b\n"),
              ", line 1: a column has no name. Name every column, or remove it");
}

TEST(Plan, RefusesARowWithTheWrongNumberOfFields)
{
    const char* remedy = ". Put a text that holds the separator inside quotes, and leave no field out";
    EXPECT_EQ(errorOf("tub,note\nT01,wet, cold\n"),
              std::string(", line 2: has 3 fields where the first line has 2") + remedy);
    EXPECT_EQ(errorOf("tub,variety,note\nT01,x\n"),
              std::string(", line 2: has 2 fields where the first line has 3") + remedy);
}

TEST(Plan, RefusesARowWithoutATub)
{
    EXPECT_EQ(errorOf("cutting,tub\na, \n"), ", line 2: has no tub. Give the id of the tub");
}

TEST(Plan, RefusesTwoTypesForOneTub)
{
    EXPECT_EQ(errorOf("cutting,tub,tub_type\na,T,quart\nb,T,\nc,T,gallon\n"),
              ", line 4: the tub 'T' is a 'quart' above and a 'gallon' here. Give one tub one type");
}

TEST(Plan, RefusesAnUnclosedQuote)
{
    EXPECT_NE(errorOf("tub,note\nT01,\"wet\nT02,dry\n").find(", line 2: a quote is opened and never closed"),
              std::string::npos);
}

TEST(Plan, RefusesAnEmptyPlan)
{
    for (const char* text : {"", "\n\n", "\xEF\xBB\xBF", ",,,\n"})
        EXPECT_EQ(errorOf(text), ": is empty. Give a first line with column names, then a row per cutting")
            << text;
    EXPECT_EQ(errorOf("tub,note\n,\n"), ": lists no cuttings. Add a row per cutting below the column names");
}

}  // namespace
}  // namespace slipglass
