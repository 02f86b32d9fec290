#include <algorithm>
#include <map>

#include "../words/strict_json.h"
#include "slipglass/error.h"
#include "slipglass/layout/file_names.h"
#include "slipglass/read_file.h"
#include "slipglass/settings.h"
#include "slipglass/verify/verify.h"

namespace slipglass {

namespace {

namespace fs = std::filesystem;
using nlohmann::json;

struct Ending {
    const char* text;
    fs::path TruthFiles::*path;
};
constexpr Ending kEndings[] = {
    {".truth.json", &TruthFiles::json}, {".roots.png", &TruthFiles::roots}, {".wall.png", &TruthFiles::wall}};

[[noreturn]] void badField(const std::string& file, const std::string& field, const std::string& wanted)
{
    throw Error(file, field + " is not " + wanted, "Give " + wanted + ", or leave " + field + " out");
}

/// A number in low..high; empty when missing or null.
std::optional<double> numberIn(const json& object, const char* field, double low, double high,
                               const std::string& file)
{
    const auto at = object.find(field);
    if (at == object.end() || at->is_null()) return std::nullopt;
    if (!at->is_number() || !(at->get<double>() >= low && at->get<double>() <= high))
        badField(file, field, "a number from " + exactText(low) + " to " + exactText(high));
    return at->get<double>();
}

std::optional<bool> yesNo(const json& object, const char* field, const std::string& file)
{
    const auto at = object.find(field);
    if (at == object.end() || at->is_null()) return std::nullopt;
    if (!at->is_boolean()) badField(file, field, "true or false");
    return at->get<bool>();
}

/// `water_level_mm` of null says that none stands; without the key nothing is said.
void takeWater(Truth& truth, const json& object, const std::string& file)
{
    truth.water_level_mm = numberIn(object, "water_level_mm", 0, 2000, file);
    if (object.contains("water_level_mm") && !truth.water_level_mm) truth.water_level_mm = 0;
    truth.standing_water = yesNo(object, "standing_water", file);
    if (!truth.standing_water && truth.water_level_mm)
        truth.standing_water = *truth.water_level_mm >= kLeastWaterMm;
}

void takePanel(Truth& truth, const json& object, const std::string& file)
{
    const auto front = object.find("front60");
    if (front == object.end() || front->is_null()) return;
    if (!front->is_object()) badField(file, "front60", "an object");
    if (const auto share = numberIn(*front, "coverage_fraction", 0, 1, file))
        truth.panel_coverage_percent = 100 * *share;
    truth.panel_root_length_mm = numberIn(*front, "visible_root_length_distinct_mm", 0, 1e6, file);
}

/// Masks that `measure` wrote, in a folder that holds truth and output alike, are no truth.
bool isMeasuredMasks(const fs::directory_entry& entry)
{
    return entry.is_directory() && entry.path().filename() == output::kMasks &&
           fs::exists(entry.path().parent_path() / output::kObservations);
}

}  // namespace

std::vector<TruthFiles> listTruth(const fs::path& folder)
{
    const fs::path root = fs::is_directory(folder / "truth") ? folder / "truth" : folder;
    if (!fs::is_directory(root))
        throw Error(folder.string(), "is not a folder", "Name the folder that holds the truth");
    std::map<std::string, TruthFiles> found;
    const auto options = fs::directory_options::skip_permission_denied;
    for (auto at = fs::recursive_directory_iterator(root, options); at != fs::recursive_directory_iterator();
         ++at) {
        const fs::directory_entry& entry = *at;
        if (isMeasuredMasks(entry)) at.disable_recursion_pending();
        const std::string name = entry.path().lexically_relative(root).generic_string();
        for (const Ending& ending : kEndings) {
            if (!name.ends_with(ending.text) || !entry.is_regular_file()) continue;
            const std::string stem = name.substr(0, name.size() - std::string(ending.text).size());
            found[stem].stem = stem;
            found[stem].*ending.path = entry.path();
        }
    }
    std::vector<TruthFiles> list;
    list.reserve(found.size());
    for (auto& [stem, files] : found) list.push_back(std::move(files));
    if (list.empty())
        throw Error(root.string(), "holds no truth",
                    "Put NAME.truth.json or NAME.roots.png there for a photo NAME.jpg");
    return list;
}

Truth readTruth(const fs::path& path)
{
    const std::string file = path.string();
    const json object = parseStrictJson(readFile(path), file);
    if (!object.is_object()) throw Error(file, "is not a JSON object", "Write {\"tub\": \"T01\"} at least");
    Truth truth;
    if (const auto tub = object.find("tub"); tub != object.end() && !tub->is_null()) {
        if (!tub->is_string()) badField(file, "tub", "a text");
        truth.tub = tub->get<std::string>();
    }
    if (const auto scale = numberIn(object, "px_per_mm", 0, 1e4, file); scale > 0.0) truth.px_per_mm = scale;
    takeWater(truth, object, file);
    takePanel(truth, object, file);
    return truth;
}

}  // namespace slipglass
