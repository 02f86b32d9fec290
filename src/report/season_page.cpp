#include <algorithm>
#include <cmath>
#include <set>

#include "page_files.h"
#include "page_parts.h"
#include "plain_words.h"
#include "slipglass/report/compare_report.h"
#include "slipglass/report/writers.h"
#include "slipglass/season/figures.h"

namespace slipglass {

namespace {

const char* const kFolder = "report";

std::string pageAddress(const Series& series)
{
    return addressOf(cuttingPageName(series.cutting.cutting), kFolder);
}

/// The span of time and of coverage that all cards share.
struct Scale {
    std::optional<Date> first, last;
    double top_percent = 1;  ///< at least, so that noise does not look like growth
};

Scale scaleOf(const SeasonReport& season)
{
    Scale scale;
    for (const auto& series : season.series)
        for (const auto& point : series.points) {
            const Date date = point.seen.taken.date;
            scale.first = std::min(scale.first.value_or(date), date);
            scale.last = std::max(scale.last.value_or(date), date);
            if (usable(point.seen))
                scale.top_percent = std::max(scale.top_percent, point.seen.coverage_percent.value_or(0));
        }
    return scale;
}

std::string headline(const SeasonReport& season, const Scale& scale)
{
    std::set<std::string> tubs;
    size_t struck = 0;
    for (const auto& series : season.series) {
        tubs.insert(series.cutting.tub);
        struck += series.struck.has_value();
    }
    const std::string text = counted(tubs.size(), "tub", "tubs") + " with " +
                             counted(season.series.size(), "cutting", "cuttings") + ", of which " +
                             std::to_string(struck) + (struck == 1 ? " has struck. " : " have struck. ");
    return scale.first ? text + "Photos from " + dayWords(*scale.first) + " to " + dayWords(*scale.last) + "."
                       : text + "No photos yet.";
}

PageData pictureData(const Series& series, const PicturesThere& pictures, const SeasonSettings& settings)
{
    const SeriesPoint* point = latestWith(series, pictures, &PhotoPictures::small);
    if (!point) return PageData{false};
    PageData picture;
    picture.set("src", addressOf(picturesOf(*point, pictures).small, kFolder));
    picture.set("alt", validUtf8(pictureWords(point->seen, settings)));
    return picture;
}

/// @param series  the tub's first cutting.
PageData roundData(const TubRound& round, const Series& series, const SeasonReport& season,
                   const PicturesThere& pictures)
{
    PageData item;
    item.set("tub", validUtf8(round.tub));
    item.set("about", validUtf8(joined({series.cutting.variety, series.cutting.position}, "; ")));
    item.set("page", pageAddress(series));
    item.set("severity_class", severityClass(round.needs.front().severity));
    item.set("picture", pictureData(series, pictures, season.settings));
    PageData needs = emptyList();
    for (const Need& need : round.needs) needs.push_back(needData(need));
    item.set("needs", needs);
    return item;
}

/// The cutting's line of coverage; false without two figures to draw it by.
PageData sparkData(const Series& series, const Scale& scale)
{
    const double days = scale.first ? std::max(1, daysBetween(*scale.first, *scale.last)) : 1;
    PageData runs = emptyList();
    std::string points;
    const SeriesPoint *first = nullptr, *last = nullptr;
    for (const auto& point : series.points) {
        const auto& seen = point.seen;
        if (!usable(seen) || !seen.coverage_percent) continue;
        first = first ? first : &point;
        last = &point;
        const double x = 1 + 118 * daysBetween(*scale.first, seen.taken.date) / days;
        const double y = 22.5 - 21 * *seen.coverage_percent / scale.top_percent;
        points.append(points.empty() ? "" : " ")
            .append(figureText(x, 1))
            .append(",")
            .append(figureText(y, 1));
    }
    if (first == last) return PageData{false};
    PageData run;
    run.set("points", points);
    runs.push_back(run);
    PageData spark;
    spark.set("runs", runs);
    spark.set("says", "Roots cover " + figureText(first->seen.coverage_percent, 1) + " % on " +
                          shortDay(first->seen.taken.date) + " and " +
                          figureText(last->seen.coverage_percent, 1) + " % on " +
                          shortDay(last->seen.taken.date));
    return spark;
}

const SeriesPoint* latestWater(const Series& series)
{
    const auto known =
        std::find_if(series.points.rbegin(), series.points.rend(), [](const SeriesPoint& point) {
            return usable(point.seen) && (point.seen.standing_water || point.seen.water_level_mm);
        });
    return known == series.points.rend() ? nullptr : &*known;
}

/// " on 3 Feb" where a figure is not of the latest photo.
std::string whenNotLatest(const Series& series, const SeriesPoint& point)
{
    if (point.seen.taken.date == *series.latest_photo) return "";
    return std::string(" on ").append(shortDay(point.seen.taken.date));
}

PageData cardData(const Series& series, const SeasonReport& season, const PicturesThere& pictures,
                  const Scale& scale, const Rounds& rounds)
{
    const PlannedCutting& cutting = series.cutting;
    PageData card;
    card.set("id", validUtf8(cutting.cutting));
    card.set("page", pageAddress(series));
    card.set("variety", validUtf8(cutting.variety));
    card.set("medium", validUtf8(cutting.medium));
    card.set("treatment", validUtf8(cutting.treatment));
    card.set("state", stateWords(series));
    card.set("about",
             validUtf8(joined({cutting.variety, cutting.tub == cutting.cutting ? "" : "tub " + cutting.tub},
                              "; ")));
    card.set("picture", pictureData(series, pictures, season.settings));
    const auto* covered = latestKnown(series, &Observation::coverage_percent);
    card.set("coverage", covered ? figureText(covered->seen.coverage_percent, 2) : "");
    card.set("roots", covered
                          ? coverageWords(covered->seen, season.settings) + whenNotLatest(series, *covered)
                          : "not known");
    const auto* watered = latestWater(series);
    card.set("water", watered ? waterWords(watered->seen) + whenNotLatest(series, *watered) : "not known");
    card.set("days", series.days_since_stuck ? std::to_string(*series.days_since_stuck) : "");
    const std::string age = ageWords(series);
    card.set("age", age.empty() ? "not known" : age);
    card.set("spark", sparkData(series, scale));

    PageData needs = emptyList();
    std::string urgency, words;
    for (size_t i = 0; i < rounds.tubs.size(); ++i) {
        if (rounds.tubs[i].tub != cutting.tub || series.ended_on) continue;
        for (const Need& need : rounds.tubs[i].needs) {
            if (!isAbout(need, cutting.cutting)) continue;
            if (urgency.empty()) urgency = std::to_string(i);
            needs.push_back(needData(need));
            words.append(" ").append(flagWords(need.flag));
        }
    }
    card.set("urgency", urgency);
    card.set("any_need", PageData{!urgency.empty()});
    card.set("needs", needs);
    card.set("find",
             validUtf8(joined({cutting.cutting, cutting.tub, cutting.variety, cutting.position, cutting.note},
                              " ") +
                       words));
    return card;
}

/// A choice of the filter: each value there is; left out where there is no more than one.
void addChoice(PageData& choices, const char* label, const char* by, const std::set<std::string>& values)
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

PageData choicesOf(const SeasonReport& season)
{
    std::set<std::string> varieties, media, treatments, states;
    for (const auto& series : season.series) {
        const auto add = [](std::set<std::string>& values, const std::string& value) {
            if (!value.empty()) values.insert(value);
        };
        add(varieties, series.cutting.variety);
        add(media, series.cutting.medium);
        add(treatments, series.cutting.treatment);
        add(states, stateWords(series));
    }
    PageData choices = emptyList();
    addChoice(choices, "Variety", "variety", varieties);
    addChoice(choices, "Medium", "medium", media);
    addChoice(choices, "Treatment", "treatment", treatments);
    addChoice(choices, "State", "state", states);
    return choices;
}

PageData groupRow(const ComparedGroup& group)
{
    const auto percent = [](double share) { return figureText(100 * share, 0); };
    PageData row;
    row.set("name", validUtf8(group.value));
    row.set("struck", std::to_string(group.struck) + " of " + std::to_string(group.cuttings));
    row.set("open", std::to_string(group.not_yet));
    row.set("failed", std::to_string(group.failed));
    row.set("rate", percent(static_cast<double>(group.struck) / std::max(1, group.cuttings)) + " (" +
                        percent(group.strike_rate.low) + " to " + percent(group.strike_rate.high) + ")");
    std::string days;
    if (group.median_days)
        days = std::isfinite(group.median_days->right)
                   ? figureText(group.median_days->left, 0) + " to " + figureText(group.median_days->right, 0)
                   : "over " + figureText(group.median_days->left, 0);
    row.set("days", days);
    row.set("roots", figureText(group.coverage_percent, 1));
    return row;
}

PageData groupsData(const Comparison& comparison)
{
    PageData rows = emptyList(), sentences = emptyList();
    for (const ComparedGroup& group : comparison.groups) rows.push_back(groupRow(group));
    auto lines = compareSentences(comparison);
    for (const std::string& warning : comparison.warnings) lines.push_back("Beware: " + warning + ".");
    for (const std::string& line : lines) {
        PageData sentence;
        sentence.set("line", validUtf8(line));
        sentences.push_back(sentence);
    }
    PageData groups;
    groups.set("by", validUtf8(comparison.by));
    groups.set("sentences", sentences);
    groups.set("rows", rows);
    groups.set("file", addressOf(comparisonName(comparison.by), kFolder));
    groups.set("file_name", validUtf8(comparisonName(comparison.by)));
    return groups;
}

void addProblems(PageData& page, const SeasonReport& season)
{
    PageData problems = emptyList(), warnings = emptyList();
    for (const auto& problem : season.problems) {
        PageData item;
        item.set("file", validUtf8(problem.file));
        item.set("tub", problem.tub.empty() ? PageData{false} : PageData{validUtf8(problem.tub)});
        item.set("state", validUtf8(problem.state));
        item.set("reason", validUtf8(problem.reason));
        item.set("remedy", validUtf8(problem.remedy));
        problems.push_back(item);
    }
    for (const auto& line : season.warnings) {
        PageData item;
        item.set("line", validUtf8(line));
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
            items.push_back(roundData(round, *first_of.at(round.tub), season, with.pictures));
            ++count;
        }
        if (count == 0) continue;
        PageData part;
        part.set("heading", severityWords(severity));
        part.set("count", counted(count, "tub", "tubs"));
        part.set("tubs", items);
        parts.push_back(part);
    }
    page.set("any_doing", PageData{!with.rounds.tubs.empty()});
    page.set("doing", parts);
}

}  // namespace

ForPages forPages(const SeasonReport& season, PicturesThere pictures)
{
    return {std::move(pictures), roundsOf(season), comparisonsOf(season)};
}

std::string indexHtml(const SeasonReport& season, const ForPages& with)
{
    const Scale scale = scaleOf(season);
    PageData page;
    page.set("headline", headline(season, scale));
    addDoing(page, season, with);
    page.set("choices", choicesOf(season));
    page.set("spark_from", scale.first ? shortDay(*scale.first) : "-");
    page.set("spark_to", scale.last ? shortDay(*scale.last) : "-");
    page.set("spark_top", figureText(scale.top_percent, 1));
    PageData cards = emptyList();
    for (const auto& series : season.series)
        cards.push_back(cardData(series, season, with.pictures, scale, with.rounds));
    page.set("cards", cards);
    PageData groups = emptyList();
    for (const Comparison& comparison : with.comparisons) groups.push_back(groupsData(comparison));
    page.set("any_group", PageData{groups.is_non_empty_list()});
    page.set("groups", groups);
    addProblems(page, season);
    return pageOf(page, "Rooting season", page_file::season(), page_file::seasonScript());
}

}  // namespace slipglass
