#include "slipglass/corrections/correction.h"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <tuple>

#include "../words/strict_json.h"
#include "slipglass/error.h"
#include "slipglass/layout/file_names.h"
#include "slipglass/read_file.h"
#include "slipglass/settings.h"

namespace slipglass {

namespace {

using nlohmann::json;

constexpr int kSchema = 1;
// No photo the program reads is as large; a slip of the pen is.
constexpr double kFarthest_px = 100000, kWidest_px = 1000;

/// A value with its place in the file, for messages.
struct Place {
    const std::string& file;
    std::string name;

    Place at(const std::string& key) const { return {file, name.empty() ? key : name + "." + key}; }
    Place at(size_t i) const { return {file, name + "[" + std::to_string(i) + "]"}; }
    Error error(const std::string& problem, const std::string& remedy) const
    {
        return {file, (name.empty() ? "it" : name) + " " + problem, remedy};
    }
};

std::string shown(const json& value)
{
    std::string text = value.dump(-1, ' ', true, json::error_handler_t::replace);
    if (text.size() > 40) text = text.substr(0, 40) + "...";
    return text;
}

void requireObject(const json& value, const Place& place, const std::vector<std::string>& known)
{
    if (!value.is_object())
        throw place.error("is " + shown(value), "Write {\"" + known.front() + "\": ...} there");
    for (const auto& [key, unused] : value.items()) {
        if (std::find(known.begin(), known.end(), key) != known.end()) continue;
        const std::string near = nearestWord(key, known);
        std::string list;
        for (const std::string& word : known) list += (list.empty() ? "" : ", ") + word;
        throw place.error("has the unknown key \"" + key + "\"",
                          near.empty() ? "Known here: " + list : "Perhaps \"" + near + "\" is meant");
    }
}

double numberIn(const json& value, const Place& place, double low, double high)
{
    if (!value.is_number()) throw place.error("is " + shown(value), "Give a number, without quotes");
    const auto number = value.get<double>();
    if (!(number >= low && number <= high))
        throw place.error("is " + shown(value) + ", which no photo has",
                          "Give pixels of the upright photo in its full size");
    return number;
}

std::vector<PhotoPoint> pointsIn(const json& value, const Place& place)
{
    if (!value.is_array()) throw place.error("is " + shown(value), "Give points as [[x, y], [x, y]]");
    std::vector<PhotoPoint> points;
    for (size_t i = 0; i < value.size(); ++i) {
        const json& point = value[i];
        if (!point.is_array() || point.size() != 2)
            throw place.at(i).error("is " + shown(point), "Give a point as [x, y]");
        points.push_back({numberIn(point[0], place.at(i), -kFarthest_px, kFarthest_px),
                          numberIn(point[1], place.at(i), -kFarthest_px, kFarthest_px)});
    }
    return points;
}

std::string textIn(const json& value, const Place& place)
{
    if (!value.is_string()) throw place.error("is " + shown(value), "Give a name, in quotes");
    return value.get<std::string>();
}

Stroke strokeIn(const json& value, const Place& place)
{
    requireObject(value, place, {"kind", "width", "points"});
    for (const char* key : {"kind", "width", "points"})
        if (!value.contains(key))
            throw place.error("has no \"" + std::string(key) + "\"", "A stroke needs kind, width and points");
    const std::string kind = textIn(value["kind"], place.at("kind"));
    if (kind != "root" && kind != "not root")
        throw place.at("kind").error("is " + shown(value["kind"]), "Write \"root\" or \"not root\"");
    Stroke stroke;
    stroke.root = kind == "root";
    stroke.width_px = numberIn(value["width"], place.at("width"), 0.1, kWidest_px);
    stroke.points = pointsIn(value["points"], place.at("points"));
    if (stroke.points.empty()) throw place.at("points").error("is empty", "Give at least one point");
    return stroke;
}

/// Twice the area of a triangle, positive when its corners follow each other clockwise as seen.
double turn(PhotoPoint a, PhotoPoint b, PhotoPoint c)
{
    return (b.x_px - a.x_px) * (c.y_px - a.y_px) - (b.y_px - a.y_px) * (c.x_px - a.x_px);
}

std::array<PhotoPoint, 4> outlineIn(const json& value, const Place& place)
{
    const std::vector<PhotoPoint> points = pointsIn(value, place);
    if (points.size() != 4)
        throw place.error("has " + std::to_string(points.size()) + " corners",
                          "Give four: rim left, rim right, base right, base left");
    // In that order every corner of a tub turns the same way, and none is flat.
    for (size_t i = 0; i < 4; ++i)
        if (turn(points[i], points[(i + 1) % 4], points[(i + 2) % 4]) <= 1)
            throw place.error("is crossed, folded or upside down",
                              "Give the corners in this order: rim left, rim right, base right, base left");
    if (points[0].y_px + points[1].y_px >= points[2].y_px + points[3].y_px)
        throw place.error("has its rim below its base",
                          "Give the corners in this order: rim left, rim right, base right, base left");
    return {points[0], points[1], points[2], points[3]};
}

json pointsAsJson(const std::vector<PhotoPoint>& points)
{
    json list = json::array();
    for (const PhotoPoint& p : points) list.push_back({p.x_px, p.y_px});
    return list;
}

std::string bytesOf(const std::filesystem::path& path)
{
    try {
        return readFile(path);
    } catch (const Error&) {
        return {};  // said when it is parsed: it is one of many
    }
}

bool isJsonFile(const std::filesystem::path& path)
{
    std::string ending = path.extension().string();
    std::transform(ending.begin(), ending.end(), ending.begin(),
                   [](char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c; });
    return ending == ".json" && path.filename().string().front() != '.';
}

}  // namespace

Correction parseCorrection(std::string_view text, const std::string& file_name)
{
    if (text.find_first_not_of(" \t\r\n") == std::string_view::npos)
        throw Error(file_name, "is empty, or cannot be read",
                    "Save the correction again, or delete the file");
    const json parsed = parseStrictJson(text, file_name);
    const Place place{file_name, ""};
    requireObject(parsed, place, {"schema", "photo", "tub", "strokes", "outline", "water_line"});
    if (!parsed.contains("schema")) throw place.error("has no \"schema\"", "Write \"schema\": 1");
    if (parsed["schema"] != kSchema)
        throw place.at("schema").error("is " + shown(parsed["schema"]),
                                       "This slipglass reads schema 1; a newer one may read yours");
    Correction correction;
    if (parsed.contains("photo")) correction.photo = textIn(parsed["photo"], place.at("photo"));
    if (parsed.contains("tub")) correction.tub = textIn(parsed["tub"], place.at("tub"));
    if (parsed.contains("strokes")) {
        const json& strokes = parsed["strokes"];
        if (!strokes.is_array())
            throw place.at("strokes").error("is " + shown(strokes), "Give a list of strokes, in [ ]");
        for (size_t i = 0; i < strokes.size(); ++i)
            correction.strokes.push_back(strokeIn(strokes[i], place.at("strokes").at(i)));
    }
    if (parsed.contains("outline")) correction.outline = outlineIn(parsed["outline"], place.at("outline"));
    if (parsed.contains("water_line")) {
        correction.water_line = pointsIn(parsed["water_line"], place.at("water_line"));
        if (correction.water_line->size() == 1)
            throw place.at("water_line")
                .error("has one point", "Give two or more along the line, or none, [], when no water stands");
    }
    return correction;
}

std::string correctionText(const Correction& correction)
{
    json text = {{"schema", kSchema}};
    if (!correction.strokes.empty()) text["strokes"] = json::array();
    for (const Stroke& stroke : correction.strokes)
        text["strokes"].push_back({{"kind", stroke.root ? "root" : "not root"},
                                   {"width", stroke.width_px},
                                   {"points", pointsAsJson(stroke.points)}});
    if (correction.outline)
        text["outline"] = pointsAsJson({correction.outline->begin(), correction.outline->end()});
    if (correction.water_line) text["water_line"] = pointsAsJson(*correction.water_line);
    return text.dump();
}

bool isFor(const CorrectionFile& file, const std::string& photo, const std::string& tub, bool only_tub)
{
    const std::string stem = std::filesystem::path(photo).replace_extension().generic_string();
    const Correction& said = file.correction;
    const bool names_tub = file.stem == stem + "." + safeFileName(tub);
    const bool of_photo = said.photo.empty() ? file.stem == stem || names_tub : said.photo == photo;
    return of_photo && (said.tub.empty() ? names_tub || only_tub : said.tub == tub);
}

void checkAgainstPhoto(const Correction& correction, const std::string& file_name, double width_px,
                       double height_px)
{
    const auto within = [&](const PhotoPoint& p) {
        return p.x_px >= -0.5 && p.y_px >= -0.5 && p.x_px <= width_px && p.y_px <= height_px;
    };
    const auto require = [&](const std::string& what, const auto& points) {
        if (points.empty() || std::any_of(points.begin(), points.end(), within)) return;
        throw Error(file_name, what + " lies outside the photo",
                    "Give pixels of the upright photo in its full size, " +
                        std::to_string(static_cast<int>(width_px)) + " x " +
                        std::to_string(static_cast<int>(height_px)));
    };
    for (size_t i = 0; i < correction.strokes.size(); ++i)
        require("strokes[" + std::to_string(i) + "]", correction.strokes[i].points);
    if (correction.outline) require("outline", *correction.outline);
    if (correction.water_line) require("water_line", *correction.water_line);
}

Correction together(Correction earlier, const Correction& later)
{
    earlier.strokes.insert(earlier.strokes.end(), later.strokes.begin(), later.strokes.end());
    if (later.outline) earlier.outline = later.outline;
    if (later.water_line) earlier.water_line = later.water_line;
    return earlier;
}

std::vector<CorrectionText> correctionTexts(const std::filesystem::path& folder)
{
    if (!std::filesystem::is_directory(folder))
        throw Error(folder.string(), "is no folder", "Name the folder that holds the corrections");
    std::vector<CorrectionText> texts;
    for (const auto& entry : std::filesystem::recursive_directory_iterator(folder)) {
        if (!entry.is_regular_file() || !isJsonFile(entry.path())) continue;
        const auto saved = std::chrono::duration_cast<std::chrono::seconds>(
            std::filesystem::last_write_time(entry.path()).time_since_epoch());
        texts.push_back({entry.path().lexically_relative(folder).generic_string(), bytesOf(entry.path()),
                         static_cast<std::int64_t>(saved.count())});
    }
    std::sort(texts.begin(), texts.end(), [](const auto& a, const auto& b) { return a.name < b.name; });
    return texts;
}

CorrectionListing parseCorrections(std::vector<CorrectionText> texts)
{
    // "NAME (1).json" is a later copy of "NAME.json".
    std::sort(texts.begin(), texts.end(), [](const CorrectionText& a, const CorrectionText& b) {
        return std::make_tuple(a.saved, a.name.size(), a.name) <
               std::make_tuple(b.saved, b.name.size(), b.name);
    });
    CorrectionListing listing;
    for (const CorrectionText& one : texts) {
        CorrectionFile file{
            one.name, std::filesystem::path(one.name).replace_extension().generic_string(), {}};
        try {
            file.correction = parseCorrection(one.text, file.name);
            listing.files.push_back(file);
        } catch (const Error& error) {
            listing.problems.push_back({file.name, "", "not measured", error.problem(), error.remedy()});
        }
    }
    return listing;
}

}  // namespace slipglass
