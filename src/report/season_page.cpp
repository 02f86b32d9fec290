#include <algorithm>
#include <set>

#include "page_files.h"
#include "page_parts.h"
#include "plain_words.h"
#include "season_parts.h"
#include "slipglass/report/writers.h"
#include "slipglass/season/figures.h"

namespace slipglass {

namespace {

/// A browser draws so many cards at once; of more than that the first ones, and a script the others as they
/// are wanted. Measured: docs/measured/pages.md.
constexpr size_t kMostCards = 500, kFirstCards = 60;

std::string headline(const SeasonReport& season, const Words& words)
{
    std::set<std::string> tubs;
    for (const auto& series : season.series) tubs.insert(series.cutting.tub);
    return words("{tubs} with {cuttings}",
                 {{"tubs", words.numbered(static_cast<long long>(tubs.size()), "{n} tub", "{n} tubs")},
                  {"cuttings", words.numbered(static_cast<long long>(season.series.size()), "{n} cutting",
                                              "{n} cuttings")}});
}

/// @param series  the tub's first cutting.
PageData roundData(const TubRound& round, const Series& series, const SeasonReport& season,
                   const ForPages& with)
{
    PageData item;
    item.set("tub", validUtf8(round.tub));
    item.set("about", validUtf8(joined({series.cutting.variety, series.cutting.position}, "; ")));
    item.set("page", pageAddress(series, with));
    item.set("severity_class", severityClass(round.needs.front().severity));
    item.set("picture", pictureData(series, with, season.settings));
    PageData needs = emptyList();
    for (const Need& need : round.needs) needs.push_back(needData(need, with.words));
    item.set("needs", needs);
    return item;
}

/// A choice of the filter: each value there is; left out where there is no more than one.
void addChoice(PageData& choices, const std::string& label, const char* by,
               const std::set<std::string>& values)
{
    if (values.size() < 2) return;
    PageData options = emptyList();
    for (const std::string& value : values) {
        PageData option;
        option.set("name", validUtf8(value));
        options.push_back(option);
    }
    PageData choice;
    choice.set("label", label);
    choice.set("by", by);
    choice.set("options", options);
    choices.push_back(choice);
}

PageData choicesOf(const SeasonReport& season, const Words& words)
{
    std::set<std::string> varieties, media, treatments, states;
    for (const auto& series : season.series) {
        const auto add = [](std::set<std::string>& values, const std::string& value) {
            if (!value.empty()) values.insert(value);
        };
        add(varieties, series.cutting.variety);
        add(media, series.cutting.medium);
        add(treatments, series.cutting.treatment);
        add(states, stateWords(series, words));
    }
    PageData choices = emptyList();
    addChoice(choices, words("Variety"), "variety", varieties);
    addChoice(choices, words("Medium"), "medium", media);
    addChoice(choices, words("Treatment"), "treatment", treatments);
    addChoice(choices, words("State"), "state", states);
    return choices;
}

void addProblems(PageData& page, const SeasonReport& season, const Words& words)
{
    PageData problems = emptyList(), warnings = emptyList();
    for (const auto& problem : season.problems) {
        PageData item;
        item.set("file", validUtf8(problem.file));
        item.set("tub", problem.tub.empty() ? PageData{false} : PageData{validUtf8(problem.tub)});
        item.set("state", validUtf8(words.kept(problem.state)));
        item.set("reason", validUtf8(words.kept(problem.reason)));
        item.set("remedy", validUtf8(words.kept(problem.remedy)));
        problems.push_back(item);
    }
    for (const auto& line : season.warnings) {
        PageData item;
        item.set("line", validUtf8(words.kept(line)));
        warnings.push_back(item);
    }
    const size_t count = season.problems.size() + season.warnings.size();
    page.set("problem_count", std::to_string(count));
    page.set("any_problem", PageData{count > 0});
    page.set("few_problems", PageData{count <= 5});
    page.set("problems", problems);
    page.set("warnings", warnings);
}

/// Tubs under the heading of what they need most.
void addDoing(PageData& page, const SeasonReport& season, const ForPages& with)
{
    std::map<std::string, const Series*> first_of;
    for (const auto& series : season.series) first_of.emplace(series.cutting.tub, &series);
    PageData parts = emptyList();
    for (const Severity severity : {Severity::act_today, Severity::look_soon, Severity::note}) {
        PageData items = emptyList();
        size_t count = 0;
        for (const TubRound& round : with.rounds.tubs) {
            if (round.needs.front().severity != severity) continue;
            items.push_back(roundData(round, *first_of.at(round.tub), season, with));
            ++count;
        }
        if (count == 0) continue;
        PageData part;
        part.set("heading", severityWords(severity, with.words));
        part.set("count", with.words.numbered(static_cast<long long>(count), "{n} tub", "{n} tubs"));
        part.set("tubs", items);
        parts.push_back(part);
    }
    page.set("all_well", PageData{with.rounds.tubs.empty() && !with.rounds.fine.empty()});
    const auto& none = with.rounds.no_photo_yet;
    page.set("no_photo_yet", none.empty() ? PageData{false} : PageData{validUtf8(joined(none, ", "))});
    page.set("doing", parts);
}

}  // namespace

ForPages forPages(const SeasonReport& season, PicturesThere pictures)
{
    const Words words(season.pages);
    return {words,
            std::move(pictures),
            roundsOf(season),
            comparisonsOf(season),
            addressOf,
            std::make_shared<Skeleton>(page_file::cutting(), page_file::cuttingScript(), words),
            season.files};
}

PageData seasonData(const SeasonReport& season, const ForPages& with)
{
    const Scale scale = scaleOf(season);
    const Words& words = with.words;
    PageData page;
    page.set("headline", headline(season, words));
    addGlance(page, season, with);
    const std::string chart = drawSeason(season, words);
    page.set("chart", chart.empty() ? PageData{false} : PageData{inlineSvg(chart)});
    addDoing(page, season, with);
    page.set("choices", choicesOf(season, words));
    page.set("spark_from", scale.first ? words.shortDay(*scale.first) : "-");
    page.set("spark_to", scale.last ? words.shortDay(*scale.last) : "-");
    page.set("spark_top", words.number(scale.top_percent, 1));
    PageData cards = emptyList(), others = emptyList();
    const bool many = season.series.size() > kMostCards;
    for (size_t i = 0; i < season.series.size(); ++i)
        (many && i >= kFirstCards ? others : cards)
            .push_back(cardData(season.series[i], season, with, scale));
    page.set("cards", cards);
    PageData rest;
    rest.set("cards", others);
    page.set("rest", many ? rest : PageData{false});
    PageData groups = emptyList();
    for (const Comparison& comparison : with.comparisons)
        groups.push_back(groupsData(comparison, season, words));
    const auto tells = [&](const Comparison& comparison) { return tellsGroups(comparison, season); };
    page.set("any_told", PageData{std::any_of(with.comparisons.begin(), with.comparisons.end(), tells)});
    page.set("any_group", PageData{groups.is_non_empty_list()});
    page.set("groups", groups);
    addProblems(page, season, words);
    return page;
}  // NOLINT(clang-analyzer-cplusplus.NewDeleteLeaks): of a choice of two it takes both to be made

std::string indexHtml(const SeasonReport& season, const ForPages& with)
{
    PageData page = seasonData(season, with);
    page.set("folder", PageData{true});
    return Skeleton(page_file::season(), page_file::seasonScript(), with.words)
        .pageOf(page, with.words("Rooting season"));
}

}  // namespace slipglass
