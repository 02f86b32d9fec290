// Pages in another language or unit: the same figures, no English left between them, files untouched.
#include <gtest/gtest.h>

#include <regex>
#include <set>
#include <sstream>

#include "../support/season_maker.h"
#include "slipglass/report/writers.h"

namespace slipglass {
namespace {

using test::covered;
using test::planned;
using test::unmeasured;
using test::watered;

/// A cutting that stands in water, one that roots, and one whose photo failed.
SeasonReport seasonIn(const char* language, const char* units = "mm")
{
    std::vector<Observation> seen{covered(0, 0, "T01"),  covered(7, 2, "T01"),
                                  covered(14, 5, "T01"), watered(0, 0, "T02"),
                                  watered(7, 9, "T02"),  watered(14, 12, "T02"),
                                  covered(0, 0, "T03"),  unmeasured(14, "the picture is blurred", "T03")};
    for (Observation& one : seen)
        if (one.coverage_percent) one.root_length_mm = 80 * *one.coverage_percent;
    Plan plan;
    for (const char* tub : {"T01", "T02", "T03"}) plan.cuttings.push_back(planned(tub, tub));
    const Problem problem{"T03_2026-01-26.jpg", "T03", "retake", "the picture is blurred",
                          "Take the whole tub, from rim to table"};
    SeasonReport season = buildSeason(seen, {problem}, plan, {});
    season.pages = {language, units};
    return season;
}

std::string pagesOf(const SeasonReport& season)
{
    const ForPages with = forPages(season, {});
    std::string all = indexHtml(season, with) + benchSheetHtml(season, with.rounds);
    for (size_t i = 0; i < season.series.size(); ++i)
        all += cuttingHtml(season, i, drawGraph(season.series[i], season.flags, season.settings, with.words),
                           with);
    return all + oneFileHtml(season, "no folder");
}

/// What a reader sees: no marks, scripts, styles.
std::string readIn(std::string page)
{
    for (const char* tag : {"script", "style"}) {
        const std::string begin = std::string("<") + tag, end = std::string("</") + tag + ">";
        for (size_t at = page.find(begin); at != std::string::npos; at = page.find(begin))
            page.erase(at, page.find(end, at) + end.size() - at);
    }
    page = std::regex_replace(page, std::regex("<[^>]*>"), " ");
    // Graphs write each letter by its number; which one a foreign one is does not matter here.
    static const std::regex letter("&#x([0-9a-f]+);");
    std::string text;
    size_t from = 0;
    for (std::sregex_iterator it(page.begin(), page.end(), letter), end; it != end; ++it) {
        const int code = std::stoi((*it)[1], nullptr, 16);
        text.append(page, from, static_cast<size_t>(it->position()) - from) +=
            code < 128 ? static_cast<char>(code) : '\x80';
        from = static_cast<size_t>(it->position() + it->length());
    }
    return text + page.substr(from);
}

bool has(const std::string& text, const std::string& part)
{
    return text.find(part) != std::string::npos;
}

TEST(Languages, PagesSayWhichLanguageTheyAreIn)
{
    EXPECT_TRUE(has(pagesOf(seasonIn("en")), "<html lang=\"en\">"));
    for (const char* language : {"de", "es"}) {
        const std::string pages = pagesOf(seasonIn(language));
        EXPECT_TRUE(has(pages, std::string("<html lang=\"") + language + "\">"));
        EXPECT_FALSE(has(pages, "<html lang=\"en\">"));
        EXPECT_FALSE(has(pages, "{{"));
    }
}

// Truth by construction: words that only English has, each of them on the English pages.
TEST(Languages, NoEnglishIsLeftBetweenTheWords)
{
    const std::set<std::string> only_english{"the",  "of",  "water", "roots", "photo", "since", "and",
                                             "with", "tub", "wall",  "seen",  "Shelf", "today"};
    const auto foundIn = [&](const std::string& text) {
        std::set<std::string> found;
        std::istringstream words(std::regex_replace(text, std::regex("[^A-Za-z\x80-\xff]+"), " "));
        for (std::string word; words >> word;)
            if (only_english.count(word)) found.insert(word);
        return found;
    };
    EXPECT_EQ(foundIn(readIn(pagesOf(seasonIn("en")))), only_english);
    EXPECT_EQ(foundIn(readIn(pagesOf(seasonIn("de")))), std::set<std::string>());
    EXPECT_EQ(foundIn(readIn(pagesOf(seasonIn("es")))), std::set<std::string>());
}

TEST(Languages, FlagsAndProblemsSpeakGerman)
{
    const std::string pages = readIn(pagesOf(seasonIn("de")));
    EXPECT_TRUE(has(pages, "Wasser abgießen, auf Fäulnis prüfen"));
    EXPECT_TRUE(has(pages,
                    "Wasser am Boden auf 2 Fotos in Folge, 19.\u00a0Jan 2026 bis 26.\u00a0Jan 2026; zuletzt "
                    "12 mm Wasser"));
    EXPECT_TRUE(has(pages, "das Bild ist unscharf"));
    EXPECT_TRUE(has(pages, "Den ganzen Becher aufnehmen, vom Rand bis zum Tisch"));
    EXPECT_TRUE(has(pages, "5,0 %"));
}

TEST(Languages, LengthsAreToldInInches)
{
    const std::string pages = readIn(pagesOf(seasonIn("en", "inch")));
    EXPECT_TRUE(has(pages, "0.47 in standing"));  // 12 mm
    EXPECT_TRUE(has(pages, "15.7 in"));           // 400 mm of root
    EXPECT_TRUE(has(pages, "Root length seen, in"));
    EXPECT_FALSE(std::regex_search(pages, std::regex("[0-9] mm")));
}

TEST(Languages, FilesAreTheSameInAll)
{
    const SeasonReport english = seasonIn("en"), german = seasonIn("de", "inch");
    EXPECT_EQ(flagsCsv(english), flagsCsv(german));
    EXPECT_EQ(seasonJson(english), seasonJson(german));
    EXPECT_EQ(problemsCsv(english), problemsCsv(german));
    EXPECT_EQ(waterCsv(english), waterCsv(german));
}

TEST(Languages, TheCalendarIsInTheSeasonsLanguage)
{
    const SeasonReport season = seasonIn("es");
    const std::string text = calendarIcs(season, roundsOf(season));
    EXPECT_TRUE(has(text, "PRODID:-//slipglass//rooting season//ES"));
    EXPECT_TRUE(has(text, "SUMMARY:Temporada de esquejes: día de fotos y ronda\\, 3 tarrinas"));
}

}  // namespace
}  // namespace slipglass
