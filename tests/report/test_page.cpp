#include <gtest/gtest.h>

#include <regex>

#include "../support/scratch_folder.h"
#include "../support/season_maker.h"
#include "slipglass/error.h"
#include "slipglass/report/file_names.h"
#include "slipglass/report/writers.h"

namespace slipglass {
namespace {

using test::covered;
using test::planned;
using test::readBytes;
using test::ScratchFolder;
using test::seenOn;
using test::unmeasured;
using test::watered;

SeasonReport seasonOf(const std::vector<Observation>& seen, const std::optional<Plan>& plan = std::nullopt)
{
    return buildSeason(seen, {}, plan, {}, {});
}

size_t countOf(const std::string& text, const std::string& part)
{
    size_t n = 0;
    for (size_t at = text.find(part); at != std::string::npos; at = text.find(part, at + part.size())) ++n;
    return n;
}

TEST(Page, NeedsNothingFromOutside)
{
    const std::string page = indexHtml(seasonOf({covered(0, 1)}), {});
    EXPECT_NE(page.find("default-src 'none'; img-src 'self'; style-src 'sha256-"), std::string::npos);
    for (const char* outside :
         {"http://", "https://", "//cdn", "<script", "<link", "@import", "url(", "onclick"})
        EXPECT_EQ(page.find(outside), std::string::npos) << outside;
}

TEST(Page, ShowsTheLatestOverlayThereIs)
{
    const std::vector<Observation> seen{covered(0, 1), covered(7, 2), covered(14, 3)};
    const std::string page =
        indexHtml(seasonOf(seen), {"overlays/T01/2026-01-12.jpg", "overlays/T01/2026-01-19.jpg"});
    EXPECT_EQ(countOf(page, "<img src=\"../overlays/"), 1U);
    EXPECT_NE(page.find("src=\"../overlays/T01/2026-01-19.jpg\" alt=\"Tub T01 on 2026-01-19"),
              std::string::npos);
    EXPECT_EQ(indexHtml(seasonOf(seen), {}).find("src=\"../overlays/"), std::string::npos);
}

TEST(Page, GivesEveryPictureWords)
{
    const std::string page = indexHtml(seasonOf({covered(0, 1)}), {"overlays/T01/2026-01-12.jpg"});
    EXPECT_EQ(countOf(page, "<img "), 2U);
    EXPECT_EQ(countOf(page, " alt=\""), countOf(page, "<img "));
    EXPECT_EQ(countOf(page, " alt=\"\""), 0U);
}

TEST(Page, IsSafeWhateverIdsAndNotesHold)
{
    const std::string nasty = "<script>alert('x')</script>\"&\n{{{style}}}ü\xFF/../";
    Plan plan;
    plan.cuttings = {planned("c" + nasty, nasty)};
    auto& row = plan.cuttings[0];
    row.variety = row.medium = row.treatment = row.position = row.tub_type = row.note = nasty;
    plan.warnings = {nasty};
    auto bad = unmeasured(0, nasty, nasty);
    const SeasonReport season = buildSeason({bad}, {{nasty, nasty, nasty, nasty, nasty}}, plan, {}, {});
    const std::string page = indexHtml(season, {overlayName(nasty, bad.taken.date, 1)});
    EXPECT_EQ(page.find("<script"), std::string::npos);
    EXPECT_EQ(page.find("</script"), std::string::npos);
    EXPECT_EQ(countOf(page, "<style>"), 1U);
    EXPECT_EQ(countOf(page, ":root {"), 2U);  // the style itself, once: no id is taken for a template
    EXPECT_EQ(page.find('\xFF'), std::string::npos);
    EXPECT_NE(page.find("&lt;script&gt;"), std::string::npos);
    EXPECT_EQ(validUtf8(page), page);
    for (size_t at = page.find("src=\""); at != std::string::npos; at = page.find("src=\"", at + 1)) {
        const std::string address = page.substr(at + 5, page.find('"', at + 5) - at - 5);
        EXPECT_EQ(address.find(".."), 0U) << address;
        EXPECT_EQ(address.find("..", 2), std::string::npos) << address;
        EXPECT_EQ(address.find_first_of("<>'&\n {"), std::string::npos) << address;
    }
}

TEST(Page, TellsFlagsMostUrgentFirstAndOnce)
{
    Plan plan;
    plan.cuttings = {planned("a", "T1"), planned("b", "T1"), planned("c", "T2")};
    const std::string page = indexHtml(
        seasonOf({unmeasured(0, "dark", "T2"), watered(0, 5, "T1"), watered(7, 6, "T1")}, plan), {});
    const std::string doing =
        page.substr(page.find("<section id=\"doing\""),
                    page.find("<section id=\"tubs\"") - page.find("<section id=\"doing\""));
    EXPECT_EQ(countOf(doing, "<li "),
              2U);  // waterlogged, told once for two cuttings and without standing-water; retake
    EXPECT_LT(doing.find("waterlogged"), doing.find("retake"));
    EXPECT_NE(doing.find("a, b"), std::string::npos);
    EXPECT_NE(page.find("The figures are the tub&apos;s, shared by its 2 cuttings."), std::string::npos);
}

TEST(Page, NeverShowsZeroForWhatIsNotKnown)
{
    const std::string page = indexHtml(seasonOf({seenOn(0)}), {});
    EXPECT_EQ(countOf(page, "<dd>not known"), 3U);
    EXPECT_EQ(page.find("<dd>0"), std::string::npos);
    EXPECT_EQ(page.find("nan"), std::string::npos);
}

TEST(Page, DoesNotCallRootsWhatIsBelowTheDetectionLimit)
{
    EXPECT_NE(indexHtml(seasonOf({covered(0, 0.3)}), {}).find("<dd>none seen"), std::string::npos);
    EXPECT_NE(indexHtml(seasonOf({covered(0, 0.4)}), {}).find("<dd>0.4 %"), std::string::npos);
}

TEST(Page, EndsWithTheCautions)
{
    const std::string page = indexHtml(seasonOf({}), {});
    const std::string cautions = page.substr(page.find("<footer id=\"cautions\""));
    for (const char* word : {"dust", "hormone", "sap", "sharp", "lamps", "the grower decides"})
        EXPECT_NE(cautions.find(word), std::string::npos) << word;
}

Series oneSeries(const std::vector<Observation>& seen)
{
    return buildSeries(seen, std::nullopt, {}).at(0);
}

/// The words in an SVG of PLplot, which writes each letter as "&#x4a;".
std::string wordsOf(const std::string& svg)
{
    static const std::regex letter("&#x([0-9a-f]+);");
    std::string words;
    for (auto at = std::sregex_iterator(svg.begin(), svg.end(), letter); at != std::sregex_iterator(); ++at)
        words += static_cast<char>(std::stoi((*at)[1], nullptr, 16));
    return words;
}

TEST(Graph, IsTheSameBytesEachTime)
{
    const Series series = oneSeries({covered(0, 1), covered(7, 2), watered(14, 5)});
    const std::string svg = graphSvg(series, {});
    EXPECT_NE(graphSvg(oneSeries({covered(0, 3)}), {}), svg);  // another graph in between
    EXPECT_EQ(graphSvg(series, {}), svg);
    EXPECT_NE(wordsOf(svg).find("26 Jan"), std::string::npos);
    EXPECT_EQ(svg.find("nan,"), std::string::npos);
    EXPECT_EQ(svg.find(",nan"), std::string::npos);
}

TEST(Graph, ChangesWithTheFigures)
{
    EXPECT_NE(graphSvg(oneSeries({covered(0, 1), covered(7, 2)}), {}),
              graphSvg(oneSeries({covered(0, 1), covered(7, 3)}), {}));
}

TEST(Graph, IsDrawnForASeriesThatKnowsNothing)
{
    const std::string svg = graphSvg(oneSeries({seenOn(0), unmeasured(7, "dark")}), {});
    EXPECT_NE(wordsOf(svg).find("not measured yet"), std::string::npos);
    EXPECT_EQ(countOf(wordsOf(svg), "not known: needs a label or a tub type"), 2U);
    Series empty;
    empty.cutting.cutting = "never photographed";
    EXPECT_NE(graphSvg(empty, {}).find("</svg>"), std::string::npos);
}

TEST(Report, WritesEveryFileOfTheDesignPage)
{
    const ScratchFolder folder;
    Plan plan;
    plan.cuttings = {planned("a", "T01"), planned("b/c", "T01")};
    folder.write("overlays/T01/2026-01-12.jpg", "not looked into");
    writeReport(seasonOf({covered(0, 1)}, plan), folder.path());
    for (const char* file : {"observations.csv", "season.json", "flags.csv", "problems.csv",
                             "report/index.html", "graphs/a.svg"})
        EXPECT_TRUE(std::filesystem::exists(folder / file)) << file;
    EXPECT_TRUE(std::filesystem::exists(folder / graphName("b/c")));
    EXPECT_NE(readBytes(folder / "report/index.html").find("../overlays/T01/2026-01-12.jpg"),
              std::string::npos);
}

TEST(Report, WritesTheSameBytesAgain)
{
    const ScratchFolder first, second;
    std::vector<Observation> seen{covered(0, 1), covered(7, 2, "T02"), watered(14, 3)};
    writeReport(seasonOf(seen), first.path());
    std::swap(seen[0], seen[2]);
    writeReport(seasonOf(seen), second.path());
    int compared = 0;
    for (const auto& entry : std::filesystem::recursive_directory_iterator(first.path())) {
        if (!entry.is_regular_file()) continue;
        EXPECT_EQ(readBytes(entry.path()),
                  readBytes(second.path() / entry.path().lexically_relative(first.path())));
        ++compared;
    }
    EXPECT_EQ(compared, 7);
}

TEST(Report, SaysWhenItCannotBeWritten)
{
    const ScratchFolder folder;
    folder.write("out", "a file where a folder should be");
    try {
        writeReport(seasonOf({covered(0, 1)}), folder / "out");
        FAIL() << "no error";
    } catch (const Error& error) {
        EXPECT_EQ(error.input(), (folder / "out/observations.csv").string());
    }
}

}  // namespace
}  // namespace slipglass
