#include <algorithm>
#include <cmath>

#include "compare_words.h"
#include "season_parts.h"
#include "slipglass/layout/file_names.h"
#include "slipglass/report/compare_report.h"
#include "slipglass/report/writers.h"
#include "slipglass/season/figures.h"

namespace slipglass {

namespace {

PageData groupRow(const ComparedGroup& group)
{
    PageData row;
    row.set("name", validUtf8(group.value));
    row.set("struck", share(shareOf(group)));
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

}  // namespace

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
    groups.set("file", addressOf(comparisonName(comparison.by), output::kReport));
    groups.set("file_name", validUtf8(comparisonName(comparison.by)));
    return groups;
}

}  // namespace slipglass
