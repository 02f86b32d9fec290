#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include "compare_words.h"
#include "plain_words.h"
#include "season_parts.h"
#include "slipglass/layout/file_names.h"
#include "slipglass/report/compare_report.h"
#include "slipglass/report/writers.h"
#include "slipglass/season/figures.h"

namespace slipglass {

namespace {

// A group of fewer tells nothing yet. Guess.
constexpr size_t kTubsThatTell = 3;

PageData groupRow(const ComparedGroup& group, const SeasonSettings& settings, const Words& words)
{
    PageData row;
    row.set("name", validUtf8(valueWords(group.value, words)));
    row.set("struck", share(shareOf(group), words));
    row.set("open", std::to_string(group.not_yet));
    row.set("failed", std::to_string(group.failed));
    row.set("rate", percent(static_cast<double>(group.struck) / std::max(1, group.cuttings)) + " (" +
                        rangeWords(100 * group.strike_rate.low, 100 * group.strike_rate.high, 0, words) +
                        ")");
    std::string days;
    if (group.median_days)
        days = std::isfinite(group.median_days->right)
                   ? rangeWords(group.median_days->left, group.median_days->right, 0, words)
                   : words("over {days}", {{"days", Number{group.median_days->left}}});
    row.set("days", days);
    const bool none = group.coverage_percent && *group.coverage_percent <= settings.detection_limit_percent;
    row.set("roots", none ? words("none seen") : words.number(group.coverage_percent, 1));
    return row;
}

/// Its groups, those that tell something apart from those of few tubs.
struct Groups {
    std::vector<const ComparedGroup*> telling, few;
};

Groups groupsOf(const Comparison& comparison, const SeasonReport& season)
{
    std::map<std::string, std::set<std::string>> tubs;  // of each value, that some photo tells of
    for (const Series& series : season.series) {
        if (series.state == StrikeState::no_photos) continue;
        const std::string value = planValue(series.cutting, comparison.by);
        tubs[value.empty() ? kNotGiven : value].insert(series.cutting.tub);
    }
    Groups groups;
    for (const ComparedGroup& group : comparison.groups)
        (tubs[group.value].size() >= kTubsThatTell ? groups.telling : groups.few).push_back(&group);
    // One alone has nothing to be compared with.
    if (groups.telling.size() == 1) {
        groups.few.insert(groups.few.begin(), groups.telling.front());
        groups.telling.clear();
    }
    return groups;
}

PageData rowsOf(const std::vector<const ComparedGroup*>& groups, const SeasonSettings& settings,
                const Words& words)
{
    PageData rows = emptyList();
    for (const ComparedGroup* group : groups) rows.push_back(groupRow(*group, settings, words));
    return rows;
}

PageData linesData(const std::vector<std::string>& lines)
{
    PageData list = emptyList();
    for (const std::string& line : lines) {
        PageData item;
        item.set("line", validUtf8(line));
        list.push_back(item);
    }
    return list;
}

}  // namespace

bool tellsGroups(const Comparison& comparison, const SeasonReport& season)
{
    return !groupsOf(comparison, season).telling.empty();
}

PageData groupsData(const Comparison& comparison, const SeasonReport& season, const Words& words)
{
    const Groups groups = groupsOf(comparison, season);
    PageData told{false}, folded{false};
    if (!groups.telling.empty()) {
        auto lines = compareSentences(comparison, words);
        for (const Said& warning : comparison.warnings)
            lines.push_back(words("Beware: {warning}.", {{"warning", Text{warning}}}));
        told = PageData{};
        told.set("sentences", linesData(lines));
        told.set("rows", rowsOf(groups.telling, season.settings, words));
    }
    if (!groups.few.empty()) {
        folded = PageData{};
        folded.set("few", groups.telling.empty() ? words("too few to tell yet")
                                                 : words("{n} more, too few to tell yet",
                                                         {{"n", std::to_string(groups.few.size())}}));
        folded.set("rows", rowsOf(groups.few, season.settings, words));
    }
    PageData data;
    data.set("by", validUtf8(columnWords(comparison.by, words)));
    data.set("file", addressOf(comparisonName(comparison.by), output::kReport));
    data.set("file_name", validUtf8(comparisonName(comparison.by)));
    data.set("told", told);
    data.set("folded", folded);
    return data;
}

}  // namespace slipglass
