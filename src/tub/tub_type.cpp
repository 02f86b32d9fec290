#include "slipglass/tub/tub_type.h"

#include <algorithm>
#include <array>
#include <numbers>

#include "../words/strict_json.h"
#include "slipglass/error.h"
#include "slipglass/settings.h"

namespace slipglass {
namespace {

using nlohmann::json;

constexpr std::array kKeys = {"name", "rim_diameter_mm", "base_diameter_mm", "height_mm", "wall_mm"};

void requireKnownKeys(const json& entry, const std::string& file_name)
{
    const std::vector<std::string> known(kKeys.begin(), kKeys.end());
    for (const auto& [key, value] : entry.items()) {
        if (std::find(known.begin(), known.end(), key) != known.end()) continue;
        const std::string near = nearestWord(key, known);
        throw Error(file_name, "unknown key \"" + key + "\" in tub_types",
                    near.empty() ? "Known: name, rim_diameter_mm, base_diameter_mm, height_mm, wall_mm"
                                 : "Perhaps \"" + near + "\" is meant");
    }
}

double sizeOf(const json& entry, const std::string& key, const std::string& name,
              const std::string& file_name)
{
    if (entry.contains(key) && entry[key].is_number()) return entry[key].get<double>();
    throw Error(file_name, "tub type \"" + name + "\" has no number \"" + key + "\"", "Give it in mm");
}

void requireTub(const TubType& type, const std::string& file_name)
{
    const auto refuse = [&](const std::string& what, const std::string& remedy) {
        throw Error(file_name, "tub type \"" + type.name + "\": " + what, remedy);
    };
    if (!(type.base_diameter_mm > 0 && type.height_mm > 0 && type.wall_mm > 0))
        refuse("a size is not above 0", "Give all sizes in mm");
    if (type.rim_diameter_mm < type.base_diameter_mm)
        refuse("the base is wider than the rim", "Swap the two diameters, or measure again");
    // Bounds are wide on purpose: they catch inches, cm and metres typed for mm, not odd tubs.
    if (type.base_diameter_mm < 20 || type.rim_diameter_mm > 1000 || type.height_mm < 20 ||
        type.height_mm > 1000)
        refuse("a size is outside 20..1000 mm", "Give all sizes in mm");
    if (2 * type.wall_mm >= type.base_diameter_mm || type.wall_mm >= type.height_mm)
        refuse("the wall is thicker than the tub", "Give the thickness of the plastic in mm");
}

TubType readTubType(const json& entry, const std::string& file_name)
{
    if (!entry.is_object() || !entry.contains("name") || !entry["name"].is_string() ||
        entry["name"].get<std::string>().empty())
        throw Error(file_name, "a tub type has no name", R"(Write {"name": "pint", "rim_diameter_mm": ...})");
    requireKnownKeys(entry, file_name);
    TubType type;
    type.name = entry["name"].get<std::string>();
    type.rim_diameter_mm = sizeOf(entry, "rim_diameter_mm", type.name, file_name);
    type.base_diameter_mm = sizeOf(entry, "base_diameter_mm", type.name, file_name);
    type.height_mm = sizeOf(entry, "height_mm", type.name, file_name);
    if (entry.contains("wall_mm")) type.wall_mm = sizeOf(entry, "wall_mm", type.name, file_name);
    requireTub(type, file_name);
    return type;
}

const TubType* find(const std::string& name, const std::vector<TubType>& types)
{
    const auto found =
        std::find_if(types.begin(), types.end(), [&](const auto& t) { return t.name == name; });
    return found == types.end() ? nullptr : &*found;
}

}  // namespace

double TubType::volumeMl() const
{
    const double r0 = base_diameter_mm / 2 - wall_mm;
    const double r1 = rim_diameter_mm / 2 - wall_mm;
    const double mm3 = std::numbers::pi * (height_mm - wall_mm) / 3 * (r0 * r0 + r0 * r1 + r1 * r1);
    return mm3 / 1000;
}

const std::vector<TubType>& shippedTubTypes()
{
    // Common practice: sizes of thermoformed food tubs sold by these names; makers differ by a few mm.
    static const std::vector<TubType> types = {{"quart", 117, 90, 140, 0.8}, {"gallon", 192, 156, 165, 1.0}};
    return types;
}

const TubType& tubType(const std::string& name, const std::vector<TubType>& user_types)
{
    if (const TubType* own = find(name, user_types)) return *own;
    if (const TubType* shipped = find(name, shippedTubTypes())) return *shipped;
    std::vector<std::string> known;
    for (const auto* types : {&user_types, &shippedTubTypes()})
        for (const auto& type : *types) known.push_back(type.name);
    const std::string near = nearestWord(name, known);
    throw Error("tub type \"" + name + "\"", "is not known",
                near.empty() ? "Add it to \"tub_types\" in settings.json, or use quart or gallon"
                             : "Perhaps \"" + near + "\" is meant");
}

std::vector<TubType> readTubTypes(const std::string& json_text, const std::string& file_name)
{
    const json settings = parseStrictJson(json_text, file_name);
    std::vector<TubType> types;
    if (!settings.is_object() || !settings.contains("tub_types")) return types;
    if (!settings["tub_types"].is_array())
        throw Error(file_name, "\"tub_types\" is not a list", R"(Write "tub_types": [{"name": ...}])");
    for (const auto& entry : settings["tub_types"]) {
        types.push_back(readTubType(entry, file_name));
        if (find(types.back().name, types) != &types.back())
            throw Error(file_name, "tub type \"" + types.back().name + "\" is given twice", "Keep one");
    }
    return types;
}

}  // namespace slipglass
