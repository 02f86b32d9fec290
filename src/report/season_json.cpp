#include "care_json.h"
#include "growth_json.h"
#include "slipglass/layout/file_names.h"
#include "slipglass/report/writers.h"
#include "slipglass/season/figures.h"

namespace slipglass {

namespace {

constexpr int kSchemaVersion = 2;
constexpr int kPerDayDecimals = 4;

Json outline(const std::vector<PhotoPoint>& points)
{
    Json list = Json::array();
    for (const auto& point : points) list.push_back({number(point.x_px, 1), number(point.y_px, 1)});
    return list;
}

Json observationJson(const Observation& seen)
{
    Json json = Json::object();
    json["photo"] = seen.photo;
    json["date"] = isoDate(seen.taken.date);
    json["time"] = seen.taken.second_of_day ? Json(timeText(seen.taken)) : Json(nullptr);
    json["state"] = stateText(seen.state);
    for (const auto& figure : kFigures) json[figure.name] = number(seen.*figure.value, figure.decimals);
    json["standing_water"] = known(seen.standing_water);
    json["notes"] = seen.notes;
    json["outline"] = outline(seen.outline);
    json["water_line"] = outline(seen.water_line);
    return json;
}

Json pointJson(const SeriesPoint& point)
{
    Json json = observationJson(point.seen);
    json["days_since_stuck"] = known(point.days_since_stuck);
    json["coverage_percent_per_day"] = number(point.coverage_percent_per_day, kPerDayDecimals);
    json["root_length_mm_per_day"] = number(point.root_length_mm_per_day, kPerDayDecimals);
    json["coverage_relative_per_day"] = number(point.coverage_relative_per_day, kPerDayDecimals);
    json["root_length_relative_per_day"] = number(point.root_length_relative_per_day, kPerDayDecimals);
    json["potting_reached"] = known(point.potting_reached);
    return json;
}

Json seriesJson(const Series& series, const std::string& file)
{
    const PlannedCutting& cutting = series.cutting;
    Json json{{"cutting", cutting.cutting},
              {"tub", cutting.tub},
              {"position", cutting.position},
              {"variety", cutting.variety},
              {"medium", cutting.medium},
              {"treatment", cutting.treatment},
              {"stuck_on", date(cutting.stuck_on)},
              {"tub_type", cutting.tub_type},
              {"note", cutting.note},
              {"own_columns", cutting.own_columns}};
    json["in_plan"] = series.in_plan;
    json["cuttings_in_tub"] = series.cuttings_in_tub;
    json["figures_shared_in_tub"] = series.cuttings_in_tub > 1 && series.part.empty();
    json["shared_because"] = series.tub_parts.shared;
    json["part"] = series.part;
    json["days_since_stuck"] = known(series.days_since_stuck);
    json["first_photo"] = date(series.first_photo);
    json["latest_photo"] = date(series.latest_photo);
    json["given_up_on"] = date(series.given_up_on);
    json["potted_up_on"] = date(series.potted_up_on);
    json["state"] = strikeText(series.state);
    json["roots_first_seen"] = date(series.roots_first_seen);
    json["rootless_until"] = date(series.rootless_until);
    json["struck"] = strikeJson(series.struck);
    json["growth"] = growthJson(series);
    json["potting"] = pottingJson(series.potting);
    json["standing_water_days"] = series.standing_water_days;
    json["graph"] = graphName(file);
    json["care"] = careJson(series.care);
    json["weight"] = weightJson(series.weight);
    json["points"] = Json::array();
    for (const auto& point : series.points) {
        json["points"].push_back(pointJson(point));
        if (!series.part.empty()) json["points"].back()["part"] = partJson(series, point.seen);
    }
    return json;
}

Json flagJson(const Flag& flag)
{
    return {{"tub", flag.tub},
            {"cutting", flag.cutting},
            {"date", isoDate(flag.date)},
            {"flag", flag.name},
            {"severity", severityText(flag.severity)},
            {"evidence", english(flag.evidence)},
            {"advice", english(flag.advice)},
            {"holds", flag.holds},
            {"cleared", date(flag.cleared)},
            {"photos", flag.photos},
            {"waits_for", flag.waits_for},
            {"done_on", date(flag.done_on)}};
}

Json problemJson(const Problem& problem)
{
    return {{"file", problem.file},
            {"tub", problem.tub},
            {"state", problem.state},
            {"reason", problem.reason},
            {"remedy", problem.remedy}};
}

}  // namespace

std::string seasonJson(const SeasonReport& season)
{
    Json json = Json::object();
    json["schema_version"] = kSchemaVersion;
    json["detection_limit_percent"] = season.settings.detection_limit_percent;
    json["detection_limit_alone_percent"] = season.settings.detection_limit_alone_percent;
    json["potting_coverage_percent"] = season.settings.potting_coverage_percent;
    json["potting_length_mm"] = season.settings.potting_length_mm;
    json["potting_base_mm"] = season.settings.potting_base_mm;
    json["series"] = Json::array();
    for (const auto& series : season.series)
        json["series"].push_back(seriesJson(series, season.files.at(series.cutting.cutting)));
    json["flags"] = Json::array();
    for (const auto& flag : season.flags) json["flags"].push_back(flagJson(flag));
    json["water"] = waterJson(season.water);
    json["water_by_medium"] = mediaJson(waterByMedium(season.water));
    json["problems"] = Json::array();
    for (const auto& problem : season.problems) json["problems"].push_back(problemJson(problem));
    json["warnings"] = season.warnings;
    return json.dump(1, ' ', false, Json::error_handler_t::replace) + "\n";
}

}  // namespace slipglass
