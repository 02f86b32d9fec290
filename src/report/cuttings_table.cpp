#include "slipglass/report/writers.h"
#include "slipglass/season/figures.h"

namespace slipglass {

namespace {

std::string dayText(const std::optional<Date>& day)
{
    return day ? isoDate(*day) : "";
}

std::string latest(const Series& series, std::optional<double> Observation::*figure, int decimals)
{
    const SeriesPoint* point = latestKnown(series, figure);
    return point ? figureText(point->seen.*figure, decimals) : "";
}

/// Of the latest photo that knows a change.
std::optional<double> latestChange(const Series& series, std::optional<double> SeriesPoint::*change)
{
    for (auto point = series.points.rbegin(); point != series.points.rend(); ++point)
        if ((*point).*change) return (*point).*change;
    return std::nullopt;
}

std::string flagsThatHold(const Series& series, const std::vector<Flag>& flags)
{
    std::string names;
    for (const auto& flag : flags)
        if (flag.holds && flag.cutting == series.cutting.cutting && flag.tub == series.cutting.tub)
            names += (names.empty() ? "" : "; ") + flag.name;
    return names;
}

struct Column {
    const char* name;
    std::string (*text)(const Series& series, const SeasonReport& season);
};

using S = const Series&;
using R = const SeasonReport&;
const std::vector<Column>& columns()
{
    static const std::vector<Column> all{
        {"cutting", [](S s, R) { return s.cutting.cutting; }},
        {"tub", [](S s, R) { return s.cutting.tub; }},
        {"position", [](S s, R) { return s.cutting.position; }},
        {"variety", [](S s, R) { return s.cutting.variety; }},
        {"medium", [](S s, R) { return s.cutting.medium; }},
        {"treatment", [](S s, R) { return s.cutting.treatment; }},
        {"stuck_on", [](S s, R) { return dayText(s.cutting.stuck_on); }},
        {"state", [](S s, R) { return std::string(strikeText(s.state)); }},
        {"struck_after", [](S s, R) { return s.struck ? dayText(s.struck->after) : ""; }},
        {"struck_by", [](S s, R) { return s.struck ? isoDate(s.struck->by) : ""; }},
        {"struck_confirmed", [](S s, R) { return s.struck ? isoDate(s.struck->confirmed) : ""; }},
        {"rootless_until", [](S s, R) { return dayText(s.rootless_until); }},
        {"given_up_on", [](S s, R) { return dayText(s.given_up_on); }},
        {"potted_up_on", [](S s, R) { return dayText(s.potted_up_on); }},
        {"photos", [](S s, R) { return std::to_string(s.points.size()); }},
        {"first_photo", [](S s, R) { return dayText(s.first_photo); }},
        {"latest_photo", [](S s, R) { return dayText(s.latest_photo); }},
        {"days_since_stuck",
         [](S s, R) { return s.days_since_stuck ? std::to_string(*s.days_since_stuck) : std::string(); }},
        {"coverage_percent", [](S s, R) { return latest(s, &Observation::coverage_percent, 2); }},
        {"root_length_mm", [](S s, R) { return latest(s, &Observation::root_length_mm, 1); }},
        {"deepest_root_mm", [](S s, R) { return latest(s, &Observation::deepest_root_mm, 1); }},
        {"coverage_percent_per_day",
         [](S s, R) { return figureText(latestChange(s, &SeriesPoint::coverage_percent_per_day), 4); }},
        {"coverage_doubling_days",
         [](S s, R) {
             return figureText(doublingDays(latestChange(s, &SeriesPoint::coverage_relative_per_day)), 1);
         }},
        {"growth_curve",
         [](S s, R) {
             const auto& curves = s.coverage_growth.curves;
             return std::string(curves.empty() ? "" : curveText(curves.front().kind));
         }},
        {"potting_reached_on", [](S s, R) { return dayText(s.potting.reached_on); }},
        {"potting_earliest", [](S s, R) { return dayText(s.potting.earliest); }},
        {"potting_likely", [](S s, R) { return dayText(s.potting.likely); }},
        {"potting_latest", [](S s, R) { return dayText(s.potting.latest); }},
        {"potting_chance_percent", [](S s, R) { return figureText(s.potting.chance_percent, 0); }},
        {"no_forecast_because", [](S s, R) { return s.potting.why_not; }},
        {"flags", [](S s, R r) { return flagsThatHold(s, r.flags); }},
        {"note", [](S s, R) { return s.cutting.note; }},
    };
    return all;
}

/// A user's own column keeps its name unless one of ours has it.
std::string ownColumnName(const std::string& name)
{
    for (const auto& column : columns())
        if (name == column.name) return "own_" + name;
    return name;
}

}  // namespace

std::string cuttingsCsv(const SeasonReport& season)
{
    std::vector<std::string> fields;
    for (const auto& column : columns()) fields.emplace_back(column.name);
    for (const auto& name : season.own_columns) fields.push_back(ownColumnName(name));
    std::string text = csvRecord(fields, season.tables);
    for (const auto& series : season.series) {
        fields.clear();
        for (const auto& column : columns()) fields.push_back(column.text(series, season));
        for (const auto& name : season.own_columns) fields.push_back(planValue(series.cutting, name));
        text += csvRecord(fields, season.tables);
    }
    return text;
}

}  // namespace slipglass
