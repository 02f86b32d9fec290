#include <array>
#include <charconv>
#include <cmath>

#include "json_values.h"
#include "slipglass/report/compare_report.h"
#include "slipglass/report/writers.h"
#include "slipglass/season/figures.h"

namespace slipglass {

namespace {

constexpr int kSchemaVersion = 1;
constexpr int kPercentDecimals = 1, kDayDecimals = 0, kCoverageDecimals = 2;

/// Four digits that count, so that a small p is not written as 0; no locale.
std::string pText(double p)
{
    std::array<char, 32> text{};
    const auto end = std::to_chars(text.data(), text.data() + text.size(), p, std::chars_format::general, 4);
    return {text.data(), end.ptr};
}

double strikePercent(const Share& share)
{
    return 100.0 * share.struck / share.of;
}

std::optional<double> dayLow(const ComparedGroup& group)
{
    if (!group.median_days) return std::nullopt;
    return group.median_days->left;
}

/// Empty also where half of them may not have struck yet.
std::optional<double> dayHigh(const ComparedGroup& group)
{
    if (!group.median_days || !std::isfinite(group.median_days->right)) return std::nullopt;
    return group.median_days->right;
}

Json groupJson(const ComparedGroup& group)
{
    return {{"value", validUtf8(group.value)},
            {"cuttings", group.cuttings},
            {"struck", group.struck},
            {"not_yet", group.not_yet},
            {"failed", group.failed},
            {"strike_percent", number(strikePercent({group.struck, group.cuttings}), kPercentDecimals)},
            {"strike_percent_low", number(100 * group.strike_rate.low, kPercentDecimals)},
            {"strike_percent_high", number(100 * group.strike_rate.high, kPercentDecimals)},
            {"median_days_after", number(dayLow(group), kDayDecimals)},
            {"median_days_by", number(dayHigh(group), kDayDecimals)},
            {"coverage_percent", number(group.coverage_percent, kCoverageDecimals)},
            {"water_days", number(group.water_days, 1)}};
}

Json testJson(const std::optional<ComparedTest>& test)
{
    if (!test) return nullptr;
    const auto& error = test->chance.standard_error;
    return {{"p", numberIn(pText(test->chance.p))},
            {"p_standard_error", error ? numberIn(pText(*error)) : Json(nullptr)},
            {"method", validUtf8(test->method)}};
}

Json differenceJson(const Comparison& all, const ComparedPair& pair)
{
    return {{"value", validUtf8(all.groups[pair.a].value)},
            {"less", validUtf8(all.groups[pair.b].value)},
            {"points", number(100 * pair.difference.value, kPercentDecimals)},
            {"points_low", number(100 * pair.difference.limits.low, kPercentDecimals)},
            {"points_high", number(100 * pair.difference.limits.high, kPercentDecimals)},
            {"test", testJson(pair.test)},
            {"p_adjusted", numberIn(pText(pair.p_adjusted))}};
}

Json blockJson(const Comparison& all, const ComparedBlock& block)
{
    Json groups = Json::array();
    for (size_t g = 0; g < block.shares.size(); ++g)
        if (block.shares[g].of > 0)
            groups.push_back({{"value", validUtf8(all.groups[g].value)},
                              {"cuttings", block.shares[g].of},
                              {"struck", block.shares[g].struck}});
    return {{"name", validUtf8(block.name)}, {"groups", groups}};
}

Json texts(const std::vector<std::string>& lines)
{
    Json list = Json::array();
    for (const std::string& line : lines) list.push_back(validUtf8(line));
    return list;
}

}  // namespace

std::string compareJson(const Comparison& all)
{
    Json json{{"schema_version", kSchemaVersion}, {"by", validUtf8(all.by)}};
    json["kept_apart"] = texts(all.kept_apart);
    json["groups"] = Json::array();
    for (const ComparedGroup& group : all.groups) json["groups"].push_back(groupJson(group));
    json["within"] = Json::array();
    if (!all.kept_apart.empty())
        for (const ComparedBlock& block : all.blocks) json["within"].push_back(blockJson(all, block));
    json["strike_rates"] = testJson(all.rates);
    json["days_to_strike"] = testJson(all.days);
    json["differences"] = Json::array();
    for (const ComparedPair& pair : all.pairs) json["differences"].push_back(differenceJson(all, pair));
    json["left_out"] = all.left_out;
    json["warnings"] = Json::array();
    for (const Said& warning : all.warnings) json["warnings"].push_back(validUtf8(english(warning)));
    return json.dump(2) + "\n";
}

std::string compareGroupsCsv(const Comparison& all, const TableSettings& tables)
{
    std::string text = csvRecord({"column", "value", "within", "cuttings", "struck", "not_yet", "failed",
                                  "strike_percent", "strike_percent_low", "strike_percent_high",
                                  "median_days_after", "median_days_by", "coverage_percent", "water_days"});
    const auto percent = [](double value) { return figureText(value, kPercentDecimals); };
    for (const ComparedGroup& group : all.groups)
        text += csvRecord(
            {all.by, group.value, "", std::to_string(group.cuttings), std::to_string(group.struck),
             std::to_string(group.not_yet), std::to_string(group.failed),
             percent(strikePercent({group.struck, group.cuttings})), percent(100 * group.strike_rate.low),
             percent(100 * group.strike_rate.high), figureText(dayLow(group), kDayDecimals),
             figureText(dayHigh(group), kDayDecimals), figureText(group.coverage_percent, kCoverageDecimals),
             figureText(group.water_days, 1)},
            tables);
    if (all.kept_apart.empty()) return text;
    for (const ComparedBlock& block : all.blocks) {
        for (size_t g = 0; g < block.shares.size(); ++g) {
            const Share& share = block.shares[g];
            if (share.of == 0) continue;
            const Limits limits = wilsonLimits(share);
            text += csvRecord({all.by, all.groups[g].value, block.name, std::to_string(share.of),
                               std::to_string(share.struck), "", "", percent(strikePercent(share)),
                               percent(100 * limits.low), percent(100 * limits.high), "", "", "", ""},
                              tables);
        }
    }
    return text;
}

std::string compareDifferencesCsv(const Comparison& all, const TableSettings& tables)
{
    std::string text = csvRecord(
        {"column", "value", "less", "points", "points_low", "points_high", "p", "p_adjusted", "method"});
    for (const ComparedPair& pair : all.pairs)
        text += csvRecord({all.by, all.groups[pair.a].value, all.groups[pair.b].value,
                           figureText(100 * pair.difference.value, kPercentDecimals),
                           figureText(100 * pair.difference.limits.low, kPercentDecimals),
                           figureText(100 * pair.difference.limits.high, kPercentDecimals),
                           pText(pair.test.chance.p), pText(pair.p_adjusted), pair.test.method},
                          tables);
    return text;
}

}  // namespace slipglass
