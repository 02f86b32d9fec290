#include "plan_form.h"

#include <algorithm>
#include <cmath>

#include "../words/strict_json.h"
#include "json_in.h"
#include "slipglass/error.h"
#include "slipglass/report/plan_csv.h"
#include "slipglass/season/csv.h"
#include "slipglass/season/draw_plan.h"
#include "slipglass/season/plan.h"

namespace slipglass {

using Json = nlohmann::json;

namespace {

constexpr const char* kFile = "batch.csv";

int wholeIn(const Json& object, const std::string& name, int otherwise)
{
    const auto at = object.find(name);
    if (at == object.end() || !at->is_number()) return otherwise;
    const double value = at->get<double>();
    if (std::abs(value) > 1e6 || value != std::floor(value))
        throw Error("The form", name + " is no whole number", "Correct it");
    return static_cast<int>(value);
}

}  // namespace

Json planForm(const std::string& text, const std::vector<TubType>& own_types)
{
    Json form{{"columns", Json::array()}, {"rows", Json::array()}, {"types", Json::array()}};
    std::vector<std::string> names;
    for (const CsvRecord& record :
         text.empty() ? std::vector<CsvRecord>{} : parseSpreadsheetCsv(text, kFile)) {
        if (names.empty()) {
            names = record.fields;
            continue;
        }
        Json row = Json::object();
        for (size_t i = 0; i < std::min(names.size(), record.fields.size()); ++i)
            row[names[i]] = record.fields[i];
        form["rows"].push_back(row);
    }
    if (names.empty()) names = {"tub", "variety", "medium", "treatment", "stuck_on", "tub_type", "note"};
    form["columns"] = names;
    std::vector<TubType> types = own_types;
    types.insert(types.end(), shippedTubTypes().begin(), shippedTubTypes().end());
    for (const TubType& type : types)
        form["types"].push_back({{"name", type.name},
                                 {"rim_diameter_mm", type.rim_diameter_mm},
                                 {"base_diameter_mm", type.base_diameter_mm},
                                 {"height_mm", type.height_mm}});
    return form;
}

std::string planIn(const Json& form, Date today)
{
    std::vector<std::string> names;
    if (form.contains("columns") && form["columns"].is_array())
        for (const Json& name : form["columns"])
            if (name.is_string()) names.push_back(name);
    if (names.empty() || !form.contains("rows") || !form["rows"].is_array())
        throw Error("The form", "has no rows", "Load the page again");
    std::string text = csvRecord(names);
    for (const Json& row : form["rows"]) {
        std::vector<std::string> fields;
        fields.reserve(names.size());
        for (const std::string& name : names) fields.push_back(row.is_object() ? textIn(row, name) : "");
        const bool empty = std::all_of(fields.begin(), fields.end(), [](const auto& f) { return f.empty(); });
        if (!empty) text += csvRecord(fields);
    }
    parsePlan(text, kFile, today);
    return text;
}

Json drawnForm(const Json& wish, const std::vector<TubType>& own_types)
{
    BatchWish batch;
    batch.tubs = wholeIn(wish, "tubs", 0);
    batch.cuttings_per_tub = wholeIn(wish, "cuttings_per_tub", 1);
    batch.seed = static_cast<std::uint64_t>(std::max(0, wholeIn(wish, "seed", 1)));
    batch.stuck_on = parseIsoDate(textIn(wish, "stuck_on"));
    batch.tub_type = textIn(wish, "tub_type");
    if (wish.contains("factors") && wish["factors"].is_array())
        for (const Json& one : wish["factors"]) {
            Factor factor{one.is_object() ? textIn(one, "column") : "", {}};
            if (factor.column != "variety" && factor.column != "medium" && factor.column != "treatment")
                throw Error("The form", "asks for another column than variety, medium or treatment",
                            "Load the page again");
            if (one.contains("levels") && one["levels"].is_array())
                for (const Json& level : one["levels"])
                    if (level.is_string()) factor.levels.push_back(level);
            if (!factor.levels.empty()) batch.factors.push_back(factor);
        }
    return planForm(planCsv(drawPlan(batch).plan), own_types);
}

std::string withTubType(const std::string& text, const Json& type)
{
    Json settings = text.empty() ? Json::object() : parseStrictJson(text, "settings.json");
    Json ours = {{"name", textIn(type, "name")}};
    for (const char* size : {"rim_diameter_mm", "base_diameter_mm", "height_mm"})
        ours[size] = type.value(size, 0.0);
    if (!settings.contains("tub_types")) settings["tub_types"] = Json::array();
    Json& types = settings["tub_types"];
    const auto had = std::find_if(types.begin(), types.end(),
                                  [&](const Json& one) { return one.value("name", "") == ours["name"]; });
    if (had == types.end())
        types.push_back(ours);
    else
        had->update(ours);
    std::string with = settings.dump(1) + "\n";
    readTubTypes(with, "settings.json");
    return with;
}

}  // namespace slipglass
