#include "growth_json.h"

namespace slipglass {

namespace {

constexpr int kParameterDecimals = 6;
constexpr int kPerDayDecimals = 4;

Json numbers(const std::vector<double>& values)
{
    Json list = Json::array();
    for (const double value : values) list.push_back(number(value, kParameterDecimals));
    return list;
}

Json curveJson(const CurveFit& fit)
{
    return {{"curve", curveText(fit.kind)},
            {"parameters", numbers(fit.parameters)},
            {"standard_errors", numbers(fit.standard_errors)},
            {"photos", fit.points},
            {"weighted_residual_ss", number(fit.residual_ss, kParameterDecimals)},
            {"aicc", number(fit.aicc, 3)}};
}

Json trendJson(const Growth& growth)
{
    if (!growth.trend || !growth.trend_test) return nullptr;
    return {{"per_day", number(growth.trend->slope, kPerDayDecimals)},
            {"low", number(growth.trend->limits.low, kPerDayDecimals)},
            {"high", number(growth.trend->limits.high, kPerDayDecimals)},
            {"mann_kendall_s", growth.trend_test->s},
            {"p", number(growth.trend_test->p, 4)}};
}

Json figureJson(const Growth& growth)
{
    Json json{{"days", growth.photos}};
    json["curves"] = Json::array();
    for (const auto& fit : growth.curves) json["curves"].push_back(curveJson(fit));
    json["trend"] = trendJson(growth);
    return json;
}

}  // namespace

Json strikeJson(const std::optional<Strike>& struck)
{
    if (!struck) return nullptr;
    return {{"after", date(struck->after)},
            {"by", isoDate(struck->by)},
            {"confirmed", isoDate(struck->confirmed)}};
}

Json growthJson(const Series& series)
{
    Json json{{"days_from", date(series.grows_from)},
              {"days_from_what", series.cutting.stuck_on ? "stuck_on" : "first photo"}};
    if (!series.grows_from) json["days_from_what"] = nullptr;
    json["coverage_percent"] = figureJson(series.coverage_growth);
    json["root_length_mm"] = figureJson(series.root_length_growth);
    return json;
}

Json pottingJson(const Potting& potting)
{
    return {{"reached_on", date(potting.reached_on)},
            {"earliest", date(potting.earliest)},
            {"likely", date(potting.likely)},
            {"latest", date(potting.latest)},
            {"chance_percent", number(potting.chance_percent, 0)},
            {"why_not", potting.why_not}};
}

}  // namespace slipglass
