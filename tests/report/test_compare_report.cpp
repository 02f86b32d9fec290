#include <gtest/gtest.h>

#include <algorithm>
#include <nlohmann/json.hpp>
#include <sstream>

#include "../season/compare_maker.h"
#include "slipglass/report/compare_report.h"
#include "slipglass/season/csv.h"

namespace slipglass {
namespace {

using test::byMedium;
using test::cuttings;
using test::notYet;
using test::operator+;

std::string firstLines(const std::string& text)
{
    // The sentences, before the first empty line, as one line.
    std::string lines = text.substr(0, text.find("\n\n"));
    std::replace(lines.begin(), lines.end(), '\n', ' ');
    return lines;
}

bool has(const std::string& text, const std::string& part)
{
    return text.find(part) != std::string::npos;
}

TEST(TimesText, SaysHowOftenAPersonWould)
{
    EXPECT_EQ(timesText(1), "nearly every time");
    EXPECT_EQ(timesText(0.96), "nearly every time");
    EXPECT_EQ(timesText(0.9), "about 9 times in 10");
    EXPECT_EQ(timesText(0.5), "about 5 times in 10");
    EXPECT_EQ(timesText(0.35), "about 1 time in 3");
    EXPECT_EQ(timesText(0.1409), "about 1 time in 7");
    EXPECT_EQ(timesText(0.05), "about 1 time in 20");
    EXPECT_EQ(timesText(0.0123), "about 1 time in 81");
    EXPECT_EQ(timesText(0.00123), "about 1 time in 810");
    EXPECT_EQ(timesText(0.000154), "about 1 time in 6500");
    EXPECT_EQ(timesText(0.00001), "less than 1 time in 10000");
}

TEST(CompareText, BeginsWithAPlainSentence)
{
    const std::string text =
        compareText(byMedium(cuttings("vermiculite", 5, 10) + cuttings("peat-perlite", 9, 10)));
    const std::string said = firstLines(text);
    EXPECT_EQ(
        said.find("peat-perlite struck 9 of 10, vermiculite 5 of 10; with so few, chance alone does this "
                  "about 1 time in 7."),
        0U)
        << said;
    // Source: Newcombe's limits of 9/10 and 5/10, -0.0024 and 0.6759 (6 of 10: -0.290 and 0.451), computed
    // with another program (Python, from the published formula).
    EXPECT_TRUE(has(said, "rate anywhere from none to 68 points in favour of peat-perlite.")) << said;
    const std::string other = firstLines(compareText(byMedium(cuttings("b", 5, 10) + cuttings("a", 6, 10))));
    EXPECT_TRUE(has(other, "from 29 points in favour of b to 45 points in favour of a.")) << other;
}

TEST(CompareText, NeverSaysSignificant)
{
    for (const int struck : {0, 5, 20}) {
        const std::string text = compareText(byMedium(cuttings("a", 20, 20) + cuttings("b", struck, 20)));
        EXPECT_FALSE(has(text, "ignificant"));
        EXPECT_TRUE(has(text, "chance alone does this"));
        EXPECT_FALSE(has(text, "with so few"));
        EXPECT_FALSE(has(text, "nan"));
    }
}

TEST(CompareText, FitsEightyColumns)
{
    const std::string text =
        compareText(byMedium(cuttings("vermiculite/perlite/peat, equal thirds", 15, 110) +
                             cuttings("peat", 100, 100) + cuttings("", 0, 3)));
    std::istringstream lines(text);
    for (std::string line; std::getline(lines, line);) EXPECT_LE(line.size(), 80U) << line;
    EXPECT_TRUE(has(text, "adjusted"));
    EXPECT_TRUE(has(text, "(not given)"));
}

TEST(CompareText, NamesBestAndWorstOfMany)
{
    std::vector<Series> series;
    for (char c = 'a'; c <= 'i'; ++c) series = series + cuttings(std::string(1, c), c - 'a', 10);
    const std::string said = firstLines(compareText(byMedium(series)));
    EXPECT_EQ(said.find("Of 9 values of medium, i struck best, 8 of 10, and a least, 0 of 10"), 0U) << said;
}

TEST(CompareText, SaysWhatOneGroupLacks)
{
    EXPECT_TRUE(has(firstLines(compareText(byMedium(cuttings("peat", 3, 4)))), "nothing to compare it with"));
    EXPECT_TRUE(has(firstLines(compareText(byMedium(cuttings("", 3, 4)))),
                    "The plan gives no medium for any cutting"));
}

TEST(CompareText, SaysWhatCannotBeComparedWithin)
{
    const std::vector<NamedSeason> seasons{{"2025", cuttings("a", 2, 4), {}},
                                           {"2026", cuttings("b", 1, 4), {}}};
    const std::string text = compareText(compare(seasons, {"medium", std::nullopt}));
    EXPECT_TRUE(has(firstLines(text), "no season holds two values of medium"));
    EXPECT_TRUE(has(text, "2025: a 2 of 4"));
}

TEST(CompareJson, KnowsWhatIsNotKnown)
{
    std::vector<Series> series = cuttings("a", 2, 3) + cuttings("b", 0, 3);
    const auto json = nlohmann::json::parse(compareJson(byMedium(series)));
    EXPECT_EQ(json["groups"][0]["median_days_by"], 21);
    EXPECT_EQ(json["groups"][1]["median_days_after"], 42);
    EXPECT_TRUE(json["groups"][1]["median_days_by"].is_null());
    EXPECT_TRUE(json["groups"][0]["coverage_percent"].is_null());
    EXPECT_EQ(json["groups"][0]["strike_percent"], 66.7);
    EXPECT_EQ(json["strike_rates"]["p"], 0.4);
    EXPECT_TRUE(json["strike_rates"]["p_standard_error"].is_null());
    EXPECT_EQ(json["differences"][0]["less"], "b");
    const auto alone = nlohmann::json::parse(compareJson(byMedium({notYet("a", 0)})));
    EXPECT_TRUE(alone["strike_rates"].is_null());
    EXPECT_TRUE(alone["days_to_strike"].is_null());
}

TEST(CompareCsv, HasARowForEachGroupAndEachPair)
{
    std::vector<Series> series = cuttings("a, b", 2, 3) + cuttings("c", 0, 3);
    series[0].cutting.tub_type = "quart";
    const Comparison all = compare({{"winter", series, {}}}, {"medium", "tub_type"});
    const auto groups = parseCsv(compareGroupsCsv(all), "groups.csv");
    ASSERT_EQ(groups.size(), 1U + 2 + 3);
    for (const auto& row : groups) EXPECT_EQ(row.fields.size(), groups[0].fields.size());
    EXPECT_EQ(groups[1].fields[1], "a, b");
    EXPECT_EQ(groups[2].fields[11], "");  // half of 'c' may never strike
    EXPECT_EQ(groups[3].fields[2], kNotGiven);
    const auto pairs = parseCsv(compareDifferencesCsv(all), "differences.csv");
    ASSERT_EQ(pairs.size(), 2U);
    EXPECT_EQ(pairs[1].fields.size(), pairs[0].fields.size());
}

}  // namespace
}  // namespace slipglass
