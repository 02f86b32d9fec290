#include <gtest/gtest.h>

#include <fstream>
#include <nlohmann/json.hpp>

#include "../support/scratch_folder.h"
#include "slipglass/error.h"
#include "slipglass/season/csv.h"

namespace slipglass {
namespace {

using Fields = std::vector<std::string>;

// Source: RFC 4180 (2005), section 2; tests/data/reference/README-csv.md. Exact: text, no tolerance.
nlohmann::json rfc4180()
{
    return nlohmann::json::parse(std::ifstream(SLIPGLASS_TEST_DATA "/reference/10-rfc4180-vectors.json"));
}

TEST(Csv, ReadsEveryRecordOfTheRfc4180Vectors)
{
    int read = 0, empty = 0;
    const auto all = rfc4180();
    for (const auto& vector : all["vectors"]) {
        const auto fields = vector["fields"].get<Fields>();
        const auto records = parseCsv(vector["record"].get<std::string>(), "vector.csv");
        // An empty line is no record for us: a spreadsheet leaves such lines at the end of a plan.
        if (fields == Fields{""}) {
            EXPECT_TRUE(records.empty());
            ++empty;
            continue;
        }
        ASSERT_EQ(records.size(), 1U) << vector["name"];
        EXPECT_EQ(records[0].fields, fields) << vector["name"];
        ++read;
    }
    EXPECT_EQ(read, 17);
    EXPECT_EQ(empty, 1);
}

TEST(Csv, ReadsTheRecordOfOneEmptyFieldWhenItIsQuoted)
{
    const auto records = parseCsv("\"\"\r\n", "x.csv");
    ASSERT_EQ(records.size(), 1U);
    EXPECT_EQ(records[0].fields, Fields{""});
}

TEST(Csv, ReadsTheRfc4180HeaderExample)
{
    const auto example = rfc4180()["header_example"];
    const auto records = parseCsv(example["text"].get<std::string>(), "x.csv");
    ASSERT_EQ(records.size(), 3U);
    EXPECT_EQ(records[0].fields, example["header"].get<Fields>());
    EXPECT_EQ(records[1].fields, example["rows"][0].get<Fields>());
    EXPECT_EQ(records[2].fields, example["rows"][1].get<Fields>());
}

// Common practice: what spreadsheets run begins with one of these.
TEST(Csv, WritesNothingThatASpreadsheetRuns)
{
    for (const std::string text :
         {"=1+1", "+1+1", "-1+1", "@SUM(A1)", "\t=1", "\r=1", "=HYPERLINK(\"x\")", "-rf", "'=1", "''-2"}) {
        const std::string record = csvRecord({"T01", text});
        EXPECT_EQ(parseCsv(record, "x.csv")[0].fields, (Fields{"T01", "'" + text})) << record;
        EXPECT_EQ(parseSpreadsheetCsv(record, "x.csv")[0].fields, (Fields{"T01", text})) << record;
        EXPECT_EQ(parseCsv(csvRecord({text}, {false}), "x.csv")[0].fields, Fields{text}) << "switched off";
    }
}

TEST(Csv, LeavesNumbersAndOtherTextsAsTheyAre)
{
    for (const std::string text : {"-1.5", "-0.25", "-1e-3", "1.5", "2026-01-12", "-", "", "a=b",
                                   "'s-Gravenplot", "'", "x'=1", " =1"}) {
        EXPECT_EQ(parseCsv(csvRecord({"T01", text}), "x.csv")[0].fields, (Fields{"T01", text}));
        EXPECT_EQ(parseSpreadsheetCsv(csvRecord({"T01", text}), "x.csv")[0].fields, (Fields{"T01", text}));
    }
}

TEST(Csv, RejectsWhatRfc4180DoesNotAllow)
{
    int rejected = 0;
    const auto all = rfc4180();
    for (const auto& text : all["reject_when_reading"]) {
        EXPECT_THROW(parseCsv(text.get<std::string>(), "x.csv"), Error) << text;
        ++rejected;
    }
    EXPECT_EQ(rejected, 3);
}

TEST(Csv, NamesTheLineAnUnclosedQuoteStartsOn)
{
    try {
        parseCsv("tub\nT01\n\"T02\nT03\n", "plan.csv");
        FAIL() << "no error";
    } catch (const Error& error) {
        EXPECT_EQ(error.input(), "plan.csv, line 3");
        EXPECT_EQ(error.problem(), "a quote is opened and never closed");
    }
}

TEST(Csv, CountsLinesAcrossQuotedLineEndsOfAllKinds)
{
    const auto records = parseCsv("a\r\n\"b\r\nb\"\r\n\r\nc\nd\re", "x.csv");
    std::vector<int> lines;
    for (const auto& record : records) lines.push_back(record.line);
    EXPECT_EQ(lines, (std::vector<int>{1, 2, 5, 6, 7}));
    EXPECT_EQ(records[1].fields, Fields{"b\r\nb"});
}

TEST(Csv, GuessesTheSeparatorFromTheFirstLineOutsideQuotes)
{
    EXPECT_EQ(guessSeparator("tub,note\n1;2;3;4"), ',');
    EXPECT_EQ(guessSeparator("tub;note;\"a,b,c,d,e\"\n"), ';');
    EXPECT_EQ(guessSeparator("tub\tnote\n"), '\t');
    EXPECT_EQ(guessSeparator("tub"), ',');
}

TEST(Csv, RefusesAFileThatIsNotText)
{
    const test::ScratchFolder folder;
    for (const std::string& bytes : {std::string("tub\nM\xFCller\n"), std::string("\xFF\xFEt\0u\0b\0", 8)}) {
        try {
            readCsvFile(folder.write("plan.csv", bytes));
            FAIL() << "no error";
        } catch (const Error& error) {
            EXPECT_EQ(error.problem(), "is not text in UTF-8");
        }
    }
}

TEST(Csv, SaysWhenAFileOrFolderCannotBeRead)
{
    const test::ScratchFolder folder;
    EXPECT_THROW(readCsvFile(folder / "none.csv"), Error);
    EXPECT_THROW(readCsvFile(folder.path()), Error);
}

}  // namespace
}  // namespace slipglass
