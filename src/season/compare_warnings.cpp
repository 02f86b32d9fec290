#include <algorithm>
#include <map>
#include <set>

#include "compare_rows.h"
#include "slipglass/text.h"

namespace slipglass {

namespace {

constexpr int kMuchYounger = 7;  // days; a photo a week

using Groups = std::map<std::string, std::vector<const Row*>>;

Groups groupsOf(const std::vector<Row>& rows)
{
    Groups groups;
    for (const Row& row : rows) groups[row.group].push_back(&row);
    return groups;
}

void warnOfLeftOut(const Rows& rows, Text& warnings)
{
    if (rows.left_out.empty()) return;
    std::vector<std::string> names;
    for (const Series* series : rows.left_out) names.push_back(series->cutting.cutting);
    constexpr size_t kNamed = 5;
    const bool more = names.size() > kNamed;
    if (more) names.resize(kNamed);
    warnings.push_back(saidOf(static_cast<long long>(rows.left_out.size()),
                              "{n} cutting has no photo that tells whether it struck, left out: {names}",
                              "{n} cuttings have no photo that tells whether it struck, left out: {names}",
                              {{"names", joined(names, ", ") + (more ? ", ..." : "")}}));
}

void warnOfUnknownDays(const Rows& rows, Text& warnings)
{
    const auto undated = std::count_if(rows.rows.begin(), rows.rows.end(),
                                       [](const Row& row) { return !row.series->cutting.stuck_on; });
    const auto at_once = std::count_if(rows.rows.begin(), rows.rows.end(), [](const Row& row) {
        return row.series->cutting.stuck_on && !row.days;
    });
    if (undated > 0)
        warnings.push_back(saidOf(
            undated, "{n} cutting has no stuck_on in the plan: counted in the strike rates, not in the days",
            "{n} cuttings have no stuck_on in the plan: counted in the strike rates, not in the days"));
    if (at_once > 0)
        warnings.push_back(saidOf(
            at_once,
            "{n} cutting has roots on the day of sticking: counted in the strike rates, not in the days; "
            "check stuck_on",
            "{n} cuttings have roots on the day of sticking: counted in the strike rates, not in the "
            "days; check stuck_on"));
}

void warnOfSharedTubs(const Rows& rows, Text& warnings)
{
    std::map<std::string, std::vector<const Row*>> tubs;
    for (const Row& row : rows.rows) tubs[row.tub].push_back(&row);
    size_t shared = 0, not_told_apart = 0;
    for (const auto& [name, cuttings] : tubs) {
        if (cuttings.size() < 2) continue;
        ++shared;
        not_told_apart += static_cast<size_t>(cuttings.front()->series->part.empty());
    }
    if (shared > 0)
        warnings.push_back(
            saidOf(static_cast<long long>(shared),
                   "{n} tub holds several cuttings, which share water and warmth: chance is reckoned by the "
                   "tub, and the true limits are wider than those given, which count each cutting as if it "
                   "stood alone",
                   "{n} tubs hold several cuttings, which share water and warmth: chance is reckoned by the "
                   "tub, and the true limits are wider than those given, which count each cutting as if it "
                   "stood alone"));
    if (not_told_apart > 0)
        warnings.push_back(
            said("in {tubs} of these the cuttings cannot be told apart: the roots of one count "
                 "for all; give each its position (left, middle, right) in the plan",
                 {{"tubs", std::to_string(not_told_apart)}}));
}

/// Most days since sticking at which any of them was looked at.
std::optional<int> followedFor(const std::vector<const Row*>& rows)
{
    std::optional<int> days;
    for (const Row* row : rows)
        if (row->series->days_since_stuck) days = std::max(days.value_or(0), *row->series->days_since_stuck);
    return days;
}

void warnOfYoungGroups(const Groups& groups, Text& warnings)
{
    int longest = 0;
    for (const auto& [value, rows] : groups) longest = std::max(longest, followedFor(rows).value_or(0));
    for (const auto& [value, rows] : groups) {
        const auto days = followedFor(rows);
        const auto open = std::count_if(rows.begin(), rows.end(), [](const Row* row) {
            return row->series->state == StrikeState::not_yet;
        });
        if (!days || open == 0 || longest - *days < kMuchYounger) continue;
        warnings.push_back(
            said("'{value}' was followed for {days} days, others for {longest}, and {open} of its "
                 "cuttings may still strike: go by the days to strike, not by the rates",
                 {{"value", value},
                  {"days", std::to_string(*days)},
                  {"longest", std::to_string(longest)},
                  {"open", std::to_string(open)}}));
    }
}

void warnOfSmallGroups(const Groups& groups, Text& warnings)
{
    if (groups.size() < 2) return;
    std::vector<std::string> alone;
    for (const auto& [value, rows] : groups)
        if (rows.size() == 1) alone.push_back("'" + value + "'");
    if (alone.size() == groups.size())
        warnings.push_back(said("each value has one cutting only: nothing can be told from chance"));
    else if (!alone.empty())
        warnings.push_back(said("one cutting only: {values}", {{"values", joined(alone, ", ")}}));
}

void warnOfAlike(const Groups& groups, Text& warnings)
{
    std::map<std::string, std::string> seen;
    for (const auto& [value, rows] : groups) {
        const auto [known, is_new] = seen.emplace(inSmall(value), value);
        if (!is_new)
            warnings.push_back(said("'{one}' and '{other}' differ in capitals only, and are counted as two",
                                    {{"one", known->second}, {"other", value}}));
    }
}

/// Each value of the column compared by goes with one value of `column`, and these differ: what one of the
/// two does cannot be told from what the other does.
bool confounded(const Groups& groups, const std::string& column)
{
    std::set<std::string> values;
    size_t cuttings = 0;
    for (const auto& [value, rows] : groups) {
        std::set<std::string> of_group;
        for (const Row* row : rows) of_group.insert(valueOf(*row, column));
        if (of_group.size() > 1) return false;
        values.insert(of_group.begin(), of_group.end());
        cuttings += rows.size();
    }
    const bool name_of_each = values.size() == cuttings;  // as an id or a place has
    return values.size() > 1 && !name_of_each;
}

void warnOfConfounding(const Rows& rows, const Groups& groups, Text& warnings)
{
    std::vector<std::string> columns;
    for (const std::string& column : rows.columns) {
        const bool kept_apart =
            std::find(rows.kept_apart.begin(), rows.kept_apart.end(), column) != rows.kept_apart.end();
        const bool of_the_end = column == "given_up_on" || column == "potted_up_on";
        if (column != rows.by && !kept_apart && !of_the_end && confounded(groups, column))
            columns.push_back(column);
    }
    if (!columns.empty())
        warnings.push_back(
            said("each {by} comes with one {columns} only: a difference may be the doing of that "
                 "as well",
                 {{"by", rows.by}, {"columns", joined(columns, ", ")}}));
}

}  // namespace

Text compareWarnings(const Rows& rows)
{
    const Groups groups = groupsOf(rows.rows);
    Text warnings;
    warnOfLeftOut(rows, warnings);
    warnOfUnknownDays(rows, warnings);
    warnOfSharedTubs(rows, warnings);
    warnOfYoungGroups(groups, warnings);
    warnOfSmallGroups(groups, warnings);
    warnOfAlike(groups, warnings);
    warnOfConfounding(rows, groups, warnings);
    return warnings;
}

}  // namespace slipglass
