#include <gtest/gtest.h>

#include <algorithm>
#include <nlohmann/json.hpp>
#include <regex>

#include "../support/scratch_folder.h"
#include "../support/season_maker.h"
#include "slipglass/error.h"
#include "slipglass/layout/file_names.h"
#include "slipglass/report/write_report.h"
#include "slipglass/report/writers.h"
#include "slipglass/store/content_hash.h"

namespace slipglass {
namespace {

using test::covered;
using test::day;
using test::planned;
using test::readBytes;
using test::ScratchFolder;
using test::seenOn;
using test::unmeasured;
using test::watered;

SeasonReport seasonOf(const std::vector<Observation>& seen, const std::optional<Plan>& plan = std::nullopt)
{
    return buildSeason(seen, {}, plan, {});
}

size_t countOf(const std::string& text, const std::string& part)
{
    size_t n = 0;
    for (size_t at = text.find(part); at != std::string::npos; at = text.find(part, at + part.size())) ++n;
    return n;
}

/// All pictures of a photo are there.
PhotoPictures allPictures(const std::string& tub, const std::string& date)
{
    const std::string overlay = "overlays/" + tub + "/" + date + ".jpg";
    const PagePictureNames names = pagePictureNames(overlay);
    return {overlay, names.photo, names.small, names.found, names.wall, 3000, 4000, tub + "_" + date};
}

PicturesThere picturesFor(const std::vector<Observation>& seen)
{
    PicturesThere there;
    for (const auto& one : seen)
        there.photos[{one.photo, one.tub}] = allPictures(one.tub, isoDate(one.taken.date));
    return there;
}

std::string index(const SeasonReport& season, const PicturesThere& there = {})
{
    return indexHtml(season, forPages(season, there));
}

std::string cutting(const SeasonReport& season, size_t nth, const PicturesThere& there = {})
{
    const Graph graph = drawGraph(season.series.at(nth), season.flags, season.settings);
    return cuttingHtml(season, nth, graph, forPages(season, there));
}

/// Without the name of SVG's namespace, which looks like an address and is none.
std::string withoutNamespaces(std::string page)
{
    const std::string name = "http://www.w3.org/2000/svg";
    for (size_t at = page.find(name); at != std::string::npos; at = page.find(name))
        page.erase(at, name.size());
    return page;
}

TEST(Page, NeedsNothingFromOutside)
{
    const std::vector<Observation> seen{covered(0, 1)};
    const SeasonReport season = seasonOf(seen);
    for (const std::string& page :
         {index(season, picturesFor(seen)), cutting(season, 0, picturesFor(seen))}) {
        EXPECT_NE(page.find("content=\"default-src 'none'; img-src 'self' data:; style-src 'sha256-"),
                  std::string::npos);
        EXPECT_NE(page.find("script-src 'sha256-"), std::string::npos);
        EXPECT_EQ(page.find("unsafe"), std::string::npos);
        const std::string plain = withoutNamespaces(page);
        EXPECT_EQ(countOf(plain, "url("), countOf(plain, "url(#"));  // places in the page itself
        for (const char* outside : {"http://", "https://", "//cdn", "<script src", "<link", "@import",
                                    "onclick=", " style=\"", "fetch(", "XMLHttpRequest"})
            EXPECT_EQ(plain.find(outside), std::string::npos) << outside;
    }
}

TEST(Page, ShowsTheLatestPictureThereIs)
{
    const std::vector<Observation> seen{covered(0, 1), covered(7, 2), covered(14, 3)};
    const PicturesThere there = picturesFor({seen[0], seen[1]});
    const std::string page = index(seasonOf(seen), there);
    EXPECT_EQ(countOf(page, "<img src="), 1U);
    EXPECT_NE(page.find("src=\"pictures/T01/2026-01-19.small.jpg\" alt=\"Tub T01 on 19 Jan 2026"),
              std::string::npos);
    EXPECT_EQ(index(seasonOf(seen), {}).find("<img"), std::string::npos);
    const std::string of_cutting = cutting(seasonOf(seen), 0, there);
    EXPECT_NE(of_cutting.find("id=\"photo\" src=\"../pictures/T01/2026-01-19.jpg\""), std::string::npos);
    EXPECT_EQ(cutting(seasonOf(seen), 0, {}).find("<img"), std::string::npos);
}

TEST(Page, GivesEveryPictureWordsUnlessTheyStandBesideIt)
{
    const std::vector<Observation> seen{covered(0, 1)};
    const std::string page = index(seasonOf(seen), picturesFor(seen));
    EXPECT_EQ(countOf(page, "<img "), 1U);
    EXPECT_EQ(countOf(page, " alt=\"\""), 0U);
    const std::string of_cutting = cutting(seasonOf(seen), 0, picturesFor(seen));
    EXPECT_EQ(countOf(of_cutting, " alt=\""), countOf(of_cutting, "<img "));
    EXPECT_NE(of_cutting.find("alt=\"Tub T01 on 12 Jan 2026; roots cover: 1.0 %"), std::string::npos);
}

TEST(Page, SaysThatRootsOnAnOnlyPhotoMayBeStraw)
{
    std::vector<Observation> seen{covered(0, 6)};
    EXPECT_EQ(cutting(seasonOf(seen), 0, {}).find("straw and fibres"), std::string::npos);
    seen[0].photos_read = 1;
    EXPECT_NE(cutting(seasonOf(seen), 0, {}).find("straw and fibres"), std::string::npos);
    seen[0].coverage_percent = 0.0;
    EXPECT_EQ(cutting(seasonOf(seen), 0, {}).find("straw and fibres"), std::string::npos);
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
    const SeasonReport season = buildSeason({bad}, {{nasty, nasty, nasty, nasty, nasty}}, plan, {});
    PicturesThere there;
    const std::string name = safeFileName(nasty);
    there.photos[{bad.photo, bad.tub}] = allPictures(name, isoDate(bad.taken.date));
    there.photos[{bad.photo, bad.tub}].stem = nasty;
    there.growth[nasty] = {{nasty, nasty, true, 1.0}};
    there.files[nasty] = name;
    const std::vector<std::string> pages{index(season, there), cutting(season, 0, there)};
    const std::vector<size_t> own_scripts{1, 2};  // the second: what the first works on, as JSON
    for (size_t i = 0; i < pages.size(); ++i) {
        const std::string& page = pages[i];
        EXPECT_EQ(countOf(page, "<script"), own_scripts[i]);
        EXPECT_EQ(countOf(page, "</script"), own_scripts[i]);
        EXPECT_EQ(countOf(page, "<style>"), 1U);
        EXPECT_EQ(countOf(page, ":root {"), 3U);  // the style itself, once: no id is taken for a template
        EXPECT_EQ(page.find('\xFF'), std::string::npos);
        EXPECT_NE(page.find("&lt;script&gt;"), std::string::npos);
        EXPECT_EQ(validUtf8(page), page);
        for (const std::string attribute : {" src=\"", " href=\""})
            for (size_t at = page.find(attribute); at != std::string::npos;
                 at = page.find(attribute, at + 1)) {
                const size_t from = at + attribute.size();
                std::string address = page.substr(from, page.find('"', from) - from);
                while (address.starts_with("../")) address.erase(0, 3);
                EXPECT_EQ(address.find(".."), std::string::npos) << address;
                EXPECT_EQ(address.find(':'), std::string::npos) << address;
                EXPECT_EQ(address.find_first_of("<>'&\n {"), std::string::npos) << address;
            }
    }
}

TEST(Page, TellsFlagsMostUrgentFirstAndOnce)
{
    Plan plan;
    plan.cuttings = {planned("a", "T1"), planned("b", "T1"), planned("c", "T2")};
    const SeasonReport season =
        seasonOf({unmeasured(0, "dark", "T2"), watered(0, 5, "T1"), watered(7, 6, "T1")}, plan);
    const std::string page = index(season, {});
    const std::string doing =
        page.substr(page.find("<section id=\"doing\""),
                    page.find("<section id=\"cuttings\"") - page.find("<section id=\"doing\""));
    EXPECT_EQ(countOf(doing, "<li class="), 2U);  // a tub each
    // Water that has stood too long, told once for two cuttings and without the water that stands.
    EXPECT_EQ(countOf(doing, "Tip the water out, look for rot</span>: 6 mm of water"), 1U);
    EXPECT_EQ(countOf(doing, "Tip the water out<"), 0U);
    EXPECT_LT(doing.find("Do today: 1 tub"), doing.find("6 mm of water"));
    EXPECT_LT(doing.find("6 mm of water"), doing.find("Take the photo again"));
    // Plain words; names for programs stand where only they read them.
    EXPECT_EQ(countOf(doing, "waterlogged"), countOf(doing, "<li data-flag=\"waterlogged\">"));
    EXPECT_NE(cutting(season, 0, {}).find("The figures are the tub&apos;s, shared by its 2 cuttings."),
              std::string::npos);
}

TEST(Page, NeverShowsZeroForWhatIsNotKnown)
{
    const SeasonReport season = seasonOf({seenOn(0)});
    const std::string page = index(season), of_cutting = cutting(season, 0);
    // How many have struck and after how many days; roots, water, age.
    EXPECT_EQ(countOf(page, "<dd>not known"), 5U);
    EXPECT_EQ(countOf(of_cutting, "<dd>not known"), 3U);  // roots, length, water
    for (const std::string& text : {page, of_cutting}) {
        EXPECT_EQ(text.find("<dd>0"), std::string::npos);
        EXPECT_EQ(text.find("nan "), std::string::npos);
        EXPECT_EQ(text.find("nan,"), std::string::npos);
    }
    // A row in which nothing is known.
    const std::regex empty_cell("<td[^>]* data-is=\"[^\"]+\"></td>");
    EXPECT_EQ(std::distance(std::sregex_iterator(of_cutting.begin(), of_cutting.end(), empty_cell), {}), 7);
}

TEST(Page, DoesNotCallRootsWhatIsBelowTheDetectionLimit)
{
    EXPECT_NE(index(seasonOf({covered(0, 0.3)}), {}).find("<dd>none seen"), std::string::npos);
    EXPECT_NE(index(seasonOf({covered(0, 0.4)}), {}).find("<dd>0.4 %"), std::string::npos);
}

/// What the scripts of a cutting's page work on.
nlohmann::json scriptData(const std::string& page)
{
    const std::string before = "<script type=\"application/json\" id=\"data\">";
    const size_t from = page.find(before) + before.size();
    return nlohmann::json::parse(page.substr(from, page.find("</script>", from) - from));
}

TEST(Page, GivesTheEaselEachPhotoInItsFullSize)
{
    Observation seen = covered(0, 1);
    seen.outline = {{100.04, 200}, {700, 200}, {600, 900}, {200, 900}};
    seen.px_per_mm = 6.04;
    const nlohmann::json data = scriptData(cutting(seasonOf({seen}), 0, picturesFor({seen})));
    ASSERT_EQ(data["photos"].size(), 1U);
    const auto& photo = data["photos"][0];
    EXPECT_EQ(photo["name"], seen.photo);
    EXPECT_EQ(photo["stem"], "T01_2026-01-12");
    EXPECT_EQ(photo["px"], (nlohmann::json{3000, 4000}));
    EXPECT_EQ(photo["outline"][0], (nlohmann::json{100.0, 200.0}));
    EXPECT_EQ(photo["brush"], 6.0);  // a millimetre of wall
    EXPECT_EQ(photo["photo"], "../pictures/T01/2026-01-12.jpg");
}

TEST(Page, GivesCardsWhatTheyAreFilteredBy)
{
    Plan plan;
    plan.cuttings = {planned("a", "T01"), planned("b", "T02")};
    plan.cuttings[0].variety = "Plum \"Water\" Butt";
    plan.cuttings[1].variety = "Quince";
    const std::string page = index(seasonOf({covered(0, 1), covered(7, 2.5)}, plan), {});
    EXPECT_NE(page.find("data-variety=\"Plum &quot;Water&quot; Butt\" data-medium=\"\" data-treatment=\"\" "
                        "data-state=\"Struck\" data-urgency=\"\" data-coverage=\"2.50\" data-days=\"7\""),
              std::string::npos);
    EXPECT_NE(page.find("data-state=\"No photo yet\" data-urgency=\"\" data-coverage=\"\" data-days=\"\""),
              std::string::npos);
    EXPECT_EQ(countOf(page, "<select data-by=\"variety\""), 1U);
    EXPECT_EQ(countOf(page, "<select data-by=\"medium\""), 0U);  // nothing to choose between
}

TEST(Page, ComparesByColumnsThatCanTellSomething)
{
    Plan plan;
    plan.cuttings = {planned("a", "T01"), planned("b", "T02"), planned("c", "T03")};
    plan.own_column_names = {"bench", "number"};
    const char* const benches[] = {"left", "right", "left"};
    for (size_t i = 0; i < 3; ++i) {
        plan.cuttings[i].medium = i == 0 ? "peat" : "perlite";
        plan.cuttings[i].variety = "Quince";  // the same for all
        plan.cuttings[i].own_columns = {{"bench", benches[i]}, {"number", std::to_string(i)}};
    }
    const SeasonReport season = seasonOf({covered(0, 1, "T01"), covered(7, 2, "T01"), covered(0, 0, "T02"),
                                          covered(7, 0, "T02"), covered(7, 0, "T03")},
                                         plan);
    const auto comparisons = comparisonsOf(season);
    ASSERT_EQ(comparisons.size(), 2U);
    EXPECT_EQ(comparisons[0].by, "medium");
    EXPECT_EQ(comparisons[1].by, "bench");  // not by number, of which each is another
    const std::string page = index(season);
    EXPECT_NE(page.find("By medium: too few to tell yet"), std::string::npos);
    EXPECT_NE(page.find("<li>peat: 1 of 1 struck</li>"), std::string::npos);
    EXPECT_NE(page.find("<li>perlite: 0 of 2 struck</li>"), std::string::npos);
    EXPECT_EQ(page.find("chance"), std::string::npos) << "nothing is told of groups of one";
    EXPECT_NE(page.find("href=\"../compare/bench.json\""), std::string::npos);
}

TEST(Page, SaysNothingThatForbidsTheOther)
{
    // Rooted, and standing in water: first things first.
    std::vector<Observation> seen{covered(0, 1), covered(7, 30), covered(14, 35)};
    EXPECT_NE(cutting(seasonOf(seen), 0).find("Ready to pot up since"), std::string::npos);
    for (Observation& one : seen) {
        const Observation water = watered(0, 8);
        one.water_level_mm = water.water_level_mm;
        one.standing_water = water.standing_water;
        one.water = water.water;
    }
    SeasonReport season = seasonOf(seen);
    for (SeriesPoint& point : season.series.at(0).points) point.seen.wetness = 0.3;
    const std::string page = cutting(season, 0);
    EXPECT_EQ(page.find("Ready to pot up since"), std::string::npos);
    EXPECT_NE(page.find("but first: tip the water out"), std::string::npos);
    EXPECT_EQ(page.find(">drying<"), std::string::npos);
    EXPECT_NE(page.find("pale above the water"), std::string::npos);
}

TEST(Page, EndsWithTheCautions)
{
    const SeasonReport season = seasonOf({covered(0, 1)});
    for (const std::string& page :
         {index(season, {}), cutting(season, 0, {}), index({}), oneFileHtml(season, "no folder")}) {
        const std::string cautions = page.substr(page.find("<footer id=\"cautions\""));
        for (const char* word : {"dust", "hormone", "sap", "sharp", "lamps", "the grower decides"})
            EXPECT_NE(cautions.find(word), std::string::npos) << word;
    }
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

/// How many places each line in an ink joins.
std::vector<size_t> lineLengths(const std::string& svg, const std::string& ink)
{
    const std::regex line("<polyline stroke-width=\"2\" stroke=\"" + ink +
                          "\" fill=\"none\" points=\"([^\"]*)\"");
    std::vector<size_t> lengths;
    for (auto at = std::sregex_iterator(svg.begin(), svg.end(), line); at != std::sregex_iterator(); ++at)
        lengths.push_back(countOf((*at)[1], ","));
    return lengths;
}

TEST(Graph, JoinsNoPlacesAcrossAPhotoThatDoesNotKnow)
{
    const std::string whole =
        drawGraph(oneSeries({covered(0, 1), covered(7, 2), covered(14, 3), covered(21, 4)}), {}, {}).svg;
    const std::string gap =
        drawGraph(oneSeries({covered(0, 1), covered(7, 2), seenOn(10), covered(14, 3), covered(21, 4)}), {},
                  {})
            .svg;
    const auto longest = [](const std::vector<size_t>& lengths) {
        return *std::max_element(lengths.begin(), lengths.end());
    };
    EXPECT_EQ(longest(lineLengths(whole, "#924A16")), 4U);
    EXPECT_EQ(longest(lineLengths(gap, "#924A16")), 2U);
}

TEST(Graph, DrawsNoLineWhereNoneIsSeen)
{
    const std::string svg =
        drawGraph(oneSeries({covered(0, 0.1), covered(7, 0.2), covered(14, 0.1)}), {}, {}).svg;
    EXPECT_TRUE(lineLengths(svg, "#924A16").empty());
    EXPECT_NE(wordsOf(svg).find("none seen on 3 photos"), std::string::npos);
    const Graph graph = drawGraph(oneSeries({covered(0, 0.1), covered(7, 2)}), {}, {});
    EXPECT_EQ(graph.days.at(0).lines.at(0), "Roots cover none seen");
    EXPECT_EQ(graph.days.at(1).lines.at(0), "Roots cover 2.0 %");
}

TEST(Graph, IsTheSameBytesEachTime)
{
    const Series series = oneSeries({covered(0, 1), covered(7, 2), watered(14, 5)});
    const std::string svg = drawGraph(series, {}, {}).svg;
    EXPECT_NE(drawGraph(oneSeries({covered(0, 3)}), {}, {}).svg, svg);  // another graph in between
    EXPECT_EQ(drawGraph(series, {}, {}).svg, svg);
    EXPECT_NE(wordsOf(svg).find("26 Jan"), std::string::npos);
    EXPECT_EQ(svg.find("nan,"), std::string::npos);
    EXPECT_EQ(svg.find(",nan"), std::string::npos);
}

TEST(Graph, IsTakenFromBeforeWhereItIsTheSame)
{
    const Series series = oneSeries({covered(0, 1), covered(7, 2)});
    const auto drawn = [](const Series& of, const std::string& before) {
        return drawGraph(of, {}, {}, Words(), before).svg;
    };
    const std::string svg = drawn(series, "");
    const size_t line = svg.rfind('\n') + 1;
    // Says of itself that it is this drawing, and whole: it is not drawn again.
    const std::string other = "<svg>not what PLplot draws</svg>\n";
    const std::string of_series = svg.substr(line, svg.rfind(" -->") - line - contentHash("").size());
    const std::string forged = other + of_series + contentHash(other) + " -->";
    EXPECT_EQ(drawn(series, forged), forged);
    // What else was drawn, what was changed since, and what is no drawing are drawn again.
    EXPECT_EQ(drawn(series, drawn(oneSeries({covered(0, 1), covered(7, 3)}), "")), svg);
    EXPECT_EQ(drawn(series, other + svg.substr(line)), svg);
    for (size_t at = 0; at < svg.size(); at += 97) {
        std::string changed = svg;
        changed[at] ^= 1;
        EXPECT_EQ(drawn(series, changed), svg) << at;
        EXPECT_EQ(drawn(series, svg.substr(0, at)), svg) << at;
    }
    // The days along its foot and the decimal mark are in its language.
    PageSettings german;
    german.language = "de";
    EXPECT_EQ(drawGraph(series, {}, {}, Words(german), svg).svg,
              drawGraph(series, {}, {}, Words(german)).svg);
}

TEST(Graph, TellsFlagsWhatWasDoneAndWhenItWillBeReady)
{
    Series series = oneSeries({covered(0, 1), watered(7, 5), watered(14, 5)});
    CareEvent care;
    care.date = day(8);
    care.what = Care::tipped_out;
    care.amount_ml = 90;
    series.care = {care};
    series.potting.earliest = day(20);
    series.potting.likely = day(24);
    series.potting.latest = day(33);
    series.potting.chance_percent = 81;
    Flag flag;
    flag.tub = flag.cutting = "T01";
    flag.name = "standing-water";
    flag.date = day(7);
    flag.cleared = day(14);
    Flag of_another = flag;
    of_another.cutting = of_another.tub = "T02";
    of_another.name = "drying";
    const std::string words = wordsOf(drawGraph(series, {flag, of_another}, {}).svg);
    EXPECT_NE(words.find("Water stands at the base, 19 Jan to 26 Jan"), std::string::npos);
    EXPECT_EQ(words.find("drying"), std::string::npos);
    EXPECT_NE(words.find("Water tipped out, 90 ml, 20 Jan"), std::string::npos);
    EXPECT_NE(words.find("Ready to pot up 5 Feb (1 Feb to 14 Feb), chance 81 %"), std::string::npos);
}

TEST(Graph, ChangesWithTheFigures)
{
    EXPECT_NE(drawGraph(oneSeries({covered(0, 1), covered(7, 2)}), {}, {}).svg,
              drawGraph(oneSeries({covered(0, 1), covered(7, 3)}), {}, {}).svg);
}

TEST(Graph, IsDrawnForASeriesThatKnowsNothing)
{
    const std::string svg = drawGraph(oneSeries({seenOn(0), unmeasured(7, "dark")}), {}, {}).svg;
    EXPECT_NE(wordsOf(svg).find("not measured yet"), std::string::npos);
    EXPECT_EQ(countOf(wordsOf(svg), "not known: needs a label or a tub type"), 2U);
    Series empty;
    empty.cutting.cutting = "never photographed";
    EXPECT_NE(drawGraph(empty, {}, {}).svg.find("</svg>"), std::string::npos);
}

TEST(Report, WritesEveryFileOfTheDesignPage)
{
    const ScratchFolder folder;
    Plan plan;
    plan.cuttings = {planned("a", "T01"), planned("b/c", "T01")};
    folder.write("report/pictures/T01/2026-01-12.small.jpg", "not looked into");
    writeReport(seasonOf({covered(0, 1)}, plan), folder.path());
    for (const char* file : {"observations.csv", "season.json", "flags.csv", "problems.csv",
                             "report/index.html", "graphs/a.svg"})
        EXPECT_TRUE(std::filesystem::exists(folder / file)) << file;
    EXPECT_TRUE(std::filesystem::exists(folder / graphName(safeFileName("b/c"))));
    EXPECT_TRUE(std::filesystem::exists(folder / cuttingPageName(safeFileName("b/c"))));
    EXPECT_NE(readBytes(folder / "report/index.html").find("\"pictures/T01/2026-01-12.small.jpg\""),
              std::string::npos);
}

TEST(Report, LeavesNoPageOfACuttingThatTheSeasonHasNoMore)
{
    const ScratchFolder folder;
    writeReport(seasonOf({covered(0, 1), covered(7, 2, "T02")}), folder.path());
    folder.write("report/cuttings/notes.txt", "not ours");
    writeReport(seasonOf({covered(0, 1), covered(7, 2)}), folder.path());
    EXPECT_TRUE(std::filesystem::exists(folder / cuttingPageName("T01")));
    EXPECT_FALSE(std::filesystem::exists(folder / cuttingPageName("T02")));
    EXPECT_TRUE(std::filesystem::exists(folder / "report/cuttings/notes.txt"));
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
    EXPECT_EQ(compared, 13);
}

TEST(Report, RepairsAGraphAndWritesWhatChangedAlone)
{
    const ScratchFolder folder, at_once;
    const std::vector<Observation> later{covered(0, 1), covered(7, 2), covered(0, 3, "T02")};
    writeReport(seasonOf({covered(0, 1), covered(0, 3, "T02")}), folder.path());
    const std::string before = readBytes(folder / graphName("T01")),
                      other = readBytes(folder / graphName("T02"));
    std::filesystem::resize_file(folder / graphName("T02"), 100);
    writeReport(seasonOf(later), folder.path(), 1);
    EXPECT_NE(readBytes(folder / graphName("T01")), before);
    EXPECT_EQ(readBytes(folder / graphName("T02")), other);
    writeReport(seasonOf(later), at_once.path(), 3);
    for (const char* cutting : {"T01", "T02"}) {
        EXPECT_EQ(readBytes(folder / graphName(cutting)), readBytes(at_once / graphName(cutting)));
        EXPECT_EQ(readBytes(folder / cuttingPageName(cutting)),
                  readBytes(at_once / cuttingPageName(cutting)));
    }
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
