#include "compare_rows.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <set>

#include "slipglass/error.h"
#include "slipglass/season/plan.h"
#include "slipglass/text.h"
#include "spreadsheet.h"

namespace slipglass {

namespace {

constexpr double kNever = std::numeric_limits<double>::infinity();

std::vector<std::string> columnsOf(const std::vector<NamedSeason>& seasons)
{
    std::vector<std::string> columns = planColumns();
    std::set<std::string> known(columns.begin(), columns.end());
    const auto add = [&](const std::string& name) {
        if (known.insert(name).second) columns.push_back(name);
    };
    for (const NamedSeason& season : seasons)
        for (const std::string& own : season.own_columns) add(own);
    if (seasons.size() > 1) add(kSeasonColumn);
    return columns;
}

std::string knownColumn(const std::string& option, const std::string& asked,
                        const std::vector<std::string>& columns)
{
    if (std::find(columns.begin(), columns.end(), asked) != columns.end()) return asked;
    for (const std::string& column : columns)
        if (plainColumn(column) == plainColumn(asked)) return column;
    if (plainColumn(asked) == kSeasonColumn)
        throw Error(option + " season", "there is one season only", "Give the folders of several seasons");
    const std::string near = nearestWord(plainColumn(asked), columns);
    throw Error(option + " " + asked, "the plan has no such column",
                (near.empty() ? "" : "The nearest is '" + near + "'; ") + std::string("known are ") +
                    joined(columns, ", "));
}

double daysSince(const Date& stuck_on, const Date& date)
{
    return daysBetween(stuck_on, date);
}

/// Empty when no day of sticking is known, or roots were there on that very day.
std::optional<TimeSpan> daysToStrike(const Series& series)
{
    const auto& stuck_on = series.cutting.stuck_on;
    if (!stuck_on) return std::nullopt;
    TimeSpan days{0, kNever};
    if (series.struck) {
        days.right = daysSince(*stuck_on, series.struck->by);
        if (series.struck->after) days.left = daysSince(*stuck_on, *series.struck->after);
    } else if (series.rootless_until) {
        days.left = daysSince(*stuck_on, *series.rootless_until);
    }
    days.left = std::max(0.0, days.left);
    if (days.left >= days.right) return std::nullopt;
    return days;
}

/// A failed cutting will never strike: it stays without roots for as long as anyone was followed. Were it
/// only lost from sight on the day it was given up, giving up early would make a treatment look better.
void followFailedToTheEnd(std::vector<Row>& rows)
{
    double end = 0;
    for (const Row& row : rows)
        if (row.days) end = std::max(end, std::isfinite(row.days->right) ? row.days->right : row.days->left);
    for (Row& row : rows)
        if (row.days && row.series->state == StrikeState::failed) row.days->left = end;
}

}  // namespace

std::string valueOf(const Row& row, const std::string& column)
{
    const std::string value =
        column == kSeasonColumn && !row.season.empty() ? row.season : planValue(row.series->cutting, column);
    return value.empty() ? kNotGiven : value;
}

Rows rowsOf(const std::vector<NamedSeason>& seasons, const CompareWish& wish)
{
    Rows all;
    all.columns = columnsOf(seasons);
    all.by = knownColumn("--by", wish.by, all.columns);
    if (wish.within) all.kept_apart.push_back(knownColumn("--within", *wish.within, all.columns));
    if (wish.within && all.kept_apart.front() == all.by)
        throw Error("--within " + *wish.within, "is what is compared by", "Name another column");
    const bool several = seasons.size() > 1;
    if (several && all.by != kSeasonColumn && (!wish.within || all.kept_apart.front() != kSeasonColumn))
        all.kept_apart.insert(all.kept_apart.begin(), kSeasonColumn);

    for (const NamedSeason& season : seasons) {
        for (const Series& series : season.series) {
            if (series.state == StrikeState::no_photos) {
                all.left_out.push_back(&series);
                continue;
            }
            Row row;
            row.series = &series;
            if (several) row.season = season.name;
            row.group = valueOf(row, all.by);
            for (const std::string& column : all.kept_apart)
                row.block += (row.block.empty() ? "" : ", ") + valueOf(row, column);
            row.tub = season.name + '\n' + series.cutting.tub;
            row.days = daysToStrike(series);
            all.rows.push_back(std::move(row));
        }
    }
    followFailedToTheEnd(all.rows);
    return all;
}

}  // namespace slipglass
