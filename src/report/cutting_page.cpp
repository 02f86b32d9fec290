#include "cutting_parts.h"
#include "page_files.h"
#include "page_parts.h"
#include "plain_words.h"
#include "slipglass/flags/kinds.h"
#include "slipglass/report/writers.h"

namespace slipglass {

namespace {

const char* const kFolder = "report/cuttings";

/// What it needs, and what it needed once.
void addNeeds(PageData& page, const Series& series, const SeasonReport& season, const ForPages& with)
{
    const Words& words = with.words;
    const PlannedCutting& cutting = series.cutting;
    PageData needs = emptyList(), gone = emptyList();
    for (const TubRound& round : with.rounds.tubs)
        for (const Need& need : round.needs)
            if (round.tub == cutting.tub && !series.ended_on && isAbout(need, cutting.cutting))
                needs.push_back(needData(need, words));
    for (const Flag& flag : season.flags) {
        if (flag.holds || flag.cutting != cutting.cutting || flag.tub != cutting.tub) continue;
        PageData item;
        item.set("words", validUtf8(flagWords(flag.name, words)));
        item.set("iso", isoDate(flag.date));
        item.set("since", words.day(flag.date));
        item.set("cleared_iso", flag.cleared ? isoDate(*flag.cleared) : "");
        item.set("cleared", flag.cleared ? words.day(*flag.cleared) : "");
        item.set("evidence", validUtf8(words.say(flag.evidence)));
        gone.push_back(item);
    }
    page.set("any_need", PageData{needs.is_non_empty_list()});
    page.set("needs", needs);
    page.set("any_gone", PageData{gone.is_non_empty_list()});
    page.set("gone", gone);
}

PageData neighbour(const SeasonReport& season, size_t nth)
{
    if (nth >= season.series.size()) return PageData{false};
    const std::string& id = season.series[nth].cutting.cutting;
    PageData item;
    item.set("id", validUtf8(id));
    item.set("page", addressOf(cuttingPageName(season.files.at(id)), kFolder));
    return item;
}

/// What was done to the tub, and what its water does.
void addCare(PageData& page, const Series& series, const SeasonReport& season, const Words& words)
{
    PageData done = emptyList(), says = emptyList();
    for (const CareEvent& event : series.care) {
        PageData item;
        item.set("iso", isoDate(event.date));
        item.set("day", words.day(event.date));
        item.set("what", careWords(event, words));
        item.set("note", event.note.empty() ? PageData{false} : PageData{validUtf8(event.note)});
        done.push_back(item);
    }
    for (const WaterBehaviour& water : season.water) {
        if (water.tub != series.cutting.tub) continue;
        for (const Said& line : water.says) {
            PageData item;
            item.set("line", validUtf8(capitalised(words.say(line))));
            says.push_back(item);
        }
    }
    page.set("any_care", PageData{done.is_non_empty_list()});
    page.set("care", done);
    page.set("water_says", says);
}

/// What has to be done before it is potted up, where that is asked for and has to wait.
std::string firstOf(const Series& series, const SeasonReport& season, const Words& words)
{
    for (const Flag& flag : season.flags)
        if (flag.holds && flag.name == "ready-to-pot" && flag.cutting == series.cutting.cutting &&
            flag.tub == series.cutting.tub && !flag.waits_for.empty())
            return words(flagKind(flag.waits_for).ask);
    return "";
}

}  // namespace

PageData cuttingData(const SeasonReport& season, size_t nth, const ForPages& with)
{
    const Words& words = with.words;
    const Series& series = season.series.at(nth);
    PageData page;
    page.set("id", validUtf8(series.cutting.cutting));
    page.set("tub", validUtf8(series.cutting.tub));
    page.set("about", validUtf8(aboutCutting(series, words)));
    page.set("newest", newestData(series.latest_photo, words));
    page.set("strike", strikeSentence(series, words));
    page.set("potting", pottingSentence(series, words, firstOf(series, season, words)));
    page.set("shared", series.cuttings_in_tub > 1 && series.part.empty()
                           ? PageData{words("The figures are the tub's, shared by its {n} cuttings.",
                                            {{"n", std::to_string(series.cuttings_in_tub)}})}
                           : PageData{false});
    page.set("figures", figuresOf(series, season.settings, words));
    addNeeds(page, series, season, with);
    page.set("rows", rowsOf(series, season.settings, words));
    addCare(page, series, season, words);
    return page;
}

std::string cuttingHtml(const SeasonReport& season, size_t nth, const Graph& graph, const ForPages& with)
{
    const Series& series = season.series.at(nth);
    const Words& words = with.words;
    const auto shown = shownOf(series, with.pictures);
    const std::string id = validUtf8(series.cutting.cutting);
    PageData page = cuttingData(season, nth, with);
    page.set("before", nth == 0 ? PageData{false} : neighbour(season, nth - 1));
    page.set("after", neighbour(season, nth + 1));
    page.set("picture", viewerData(shown, with.pictures, season.settings, words));
    page.set("graph", inlineSvg(graph.svg));
    page.set("graph_alt",
             words("Graphs of root coverage, root length, water level and wetness of {id} over time; "
                   "the left and right arrow keys step through the photos, and the table below has "
                   "the same figures",
                   {{"id", id}}));
    page.set("data", scriptData(series, shown, graph, season, words));
    return with.cutting->pageOf(page, words("{id} - rooting season", {{"id", id}}));
}

}  // namespace slipglass
