#include "rows.h"

#include <nlohmann/json.hpp>

#include "slipglass/error.h"
#include "slipglass/season/figures.h"
#include "slipglass/store/content_hash.h"

namespace slipglass {

namespace {

using nlohmann::json;

// The observation's columns other than its figures, before and after them.
constexpr const char* kBefore = "photo, tub, date, second_of_day, state";
constexpr const char* kAfter = "read_level, read_low, read_high, notes, outline, water_line, parts";

Error notOurs(const std::string& file, const std::string& which)
{
    return {file, "holds a row" + which + " that slipglass did not write",
            "Run 'slipglass measure' with --rescue: it keeps what can be read, and this file beside it"};
}

/// JSON text; bytes that are not UTF-8 (from file names of old systems) become the replacement character.
std::string jsonText(const json& value)
{
    return value.dump(-1, ' ', false, json::error_handler_t::replace);
}

std::string pointsText(const std::vector<PhotoPoint>& points)
{
    json list = json::array();
    for (const auto& point : points) list.push_back({point.x_px, point.y_px});
    return jsonText(list);
}

std::vector<PhotoPoint> parsePoints(const std::string& text)
{
    std::vector<PhotoPoint> points;
    for (const auto& pair : json::parse(text))
        points.push_back({pair.at(0).get<double>(), pair.at(1).get<double>()});
    return points;
}

std::string partsText(const std::vector<PartFigures>& parts)
{
    json list = json::array();
    for (const auto& part : parts) {
        json one{{"place", part.place}};
        for (const auto& figure : kPartFigures)
            if (const auto value = finite(part.*figure.value)) one[figure.name] = *value;
        list.push_back(one);
    }
    return jsonText(list);
}

std::vector<PartFigures> parseParts(const std::string& text)
{
    std::vector<PartFigures> parts;
    for (const auto& one : json::parse(text)) {
        PartFigures part;
        part.place = one.at("place").get<std::string>();
        for (const auto& figure : kPartFigures)
            if (one.contains(figure.name)) part.*figure.value = one[figure.name].get<double>();
        parts.push_back(std::move(part));
    }
    return parts;
}

Observation readObservation(sqlite::Statement& row, const std::string& file)
{
    Observation seen;
    seen.photo = row.readText();
    seen.tub = row.readText();
    const auto date = parseIsoDate(row.readText());
    seen.taken.second_of_day = row.readWhole();
    const auto state = parseState(row.readText());
    for (const auto& figure : kFigures) seen.*figure.value = row.readNumber();
    if (!date || !state) throw notOurs(file, " of the photo '" + seen.photo + "'");
    seen.taken.date = *date;
    seen.state = *state;
    for (auto* height : {&seen.water.level, &seen.water.low, &seen.water.high}) *height = row.readNumber();
    seen.notes = json::parse(row.readText()).get<std::vector<std::string>>();
    seen.outline = parsePoints(row.readText());
    seen.water_line = parsePoints(row.readText());
    seen.parts = parseParts(row.readText());
    return seen;
}

Problem readProblem(sqlite::Statement& row)
{
    Problem problem;
    for (std::string* text : {&problem.file, &problem.tub, &problem.state, &problem.reason, &problem.remedy})
        *text = row.readText();
    return problem;
}

}  // namespace

std::string figureNames(const char* suffix)
{
    std::string names;
    for (const auto& figure : kFigures) names += std::string(figure.name) + suffix + ", ";
    return names;
}

std::string observationColumns()
{
    return std::string(kBefore) + ", " + figureNames("") + kAfter;
}

std::string labelsText(const std::vector<std::string>& labels)
{
    return jsonText(json(labels));
}

void insertPhoto(sqlite::Connection& to, const std::string& photo, const MadeFrom& made,
                 const std::optional<Date>& measured_on)
{
    auto row = to.prepare("INSERT INTO photo (name, measured_on, " + std::string(kMadeColumns) +
                          ") VALUES (?,?,?,?,?,?,?,?,?)");
    row.text(photo).text(measured_on ? isoDate(*measured_on) : "");
    row.text(made.content).text(made.program).text(made.settings).text(made.moved).text(made.tubs);
    row.text(made.corrected);
    made.labels ? row.text(labelsText(*made.labels)) : row.nothing();
    row.step();
}

void insertObservation(sqlite::Connection& to, const Observation& seen)
{
    std::string marks;
    for (size_t i = 0; i < kFigures.size() + 11; ++i) marks += "?, ";
    auto row = to.prepare("INSERT INTO observation (" + observationColumns() + ") VALUES (" + marks + "?)");
    row.text(seen.photo).text(seen.tub).text(isoDate(seen.taken.date)).whole(seen.taken.second_of_day);
    row.text(stateText(seen.state));
    for (const auto& figure : kFigures) row.number(finite(seen.*figure.value));
    for (const auto& height : {seen.water.level, seen.water.low, seen.water.high}) row.number(finite(height));
    row.text(jsonText(seen.notes));
    row.text(pointsText(seen.outline)).text(pointsText(seen.water_line)).text(partsText(seen.parts));
    row.step();
}

void insertProblem(sqlite::Connection& to, const std::string& photo, int place, const Problem& problem)
{
    auto row = to.prepare("INSERT INTO problem (photo, place, " + std::string(kProblemColumns) +
                          ") VALUES (?,?,?,?,?,?,?)");
    row.text(photo)
        .whole(place)
        .text(problem.file)
        .text(problem.tub)
        .text(problem.state)
        .text(problem.reason);
    row.text(problem.remedy).step();
}

void insertView(sqlite::Connection& to, const std::string& photo, const KeptView& view)
{
    auto row = to.prepare(
        "INSERT INTO wall_view (photo, tub, basis, side, meta, picture, picture_hash, panel, panel_hash, "
        "drawn)"
        " VALUES (?,?,?,?,?,?,?,?,?,?)");
    row.text(photo).text(view.tub).text(view.basis).text(view.side).text(view.meta);
    row.blob(view.picture).text(contentHash(view.picture));
    row.blob(view.panel).text(contentHash(view.panel)).whole(view.drawn ? 1 : 0);
    row.step();
}

MadeFrom readMadeFrom(sqlite::Statement& row, const std::string& file)
{
    MadeFrom made;
    for (std::string* part :
         {&made.content, &made.program, &made.settings, &made.moved, &made.tubs, &made.corrected})
        *part = row.readText();
    const std::string labels = row.readText();
    if (labels.empty()) return made;
    try {
        made.labels = json::parse(labels).get<std::vector<std::string>>();
    } catch (const json::exception&) {
        throw notOurs(file, "");
    }
    return made;
}

std::vector<Observation> readObservations(sqlite::Statement& query, const std::string& file)
{
    std::vector<Observation> all;
    try {
        while (query.step()) all.push_back(readObservation(query, file));
    } catch (const json::exception&) {
        throw notOurs(file, "");
    }
    return all;
}

std::vector<Problem> readProblems(sqlite::Statement& query)
{
    std::vector<Problem> all;
    while (query.step()) all.push_back(readProblem(query));
    return all;
}

std::vector<Observation> observationsOf(sqlite::Connection& file, const std::string& photo)
{
    auto rows =
        file.prepare("SELECT " + observationColumns() + " FROM observation WHERE photo = ? ORDER BY tub");
    return readObservations(rows.text(photo), file.path());
}

std::map<std::string, StoredPhoto> readPhotos(sqlite::Connection& file)
{
    std::map<std::string, StoredPhoto> all;
    auto photos = file.prepare("SELECT name, measured_on, " + std::string(kMadeColumns) + " FROM photo");
    while (photos.step()) {
        StoredPhoto& kept = all[photos.readText()];
        kept.measured_on = parseIsoDate(photos.readText());
        kept.made = readMadeFrom(photos, file.path());
    }
    auto rows = file.prepare("SELECT " + observationColumns() + " FROM observation ORDER BY photo, tub");
    for (Observation& seen : readObservations(rows, file.path()))
        all[seen.photo].observations.push_back(std::move(seen));
    auto problems =
        file.prepare("SELECT photo, " + std::string(kProblemColumns) + " FROM problem ORDER BY photo, place");
    while (problems.step()) {
        StoredPhoto& kept = all[problems.readText()];
        kept.problems.push_back(readProblem(problems));
    }
    return all;
}

std::optional<StoredPhoto> readPhoto(sqlite::Connection& file, const std::string& photo)
{
    auto row =
        file.prepare("SELECT measured_on, " + std::string(kMadeColumns) + " FROM photo WHERE name = ?");
    if (!row.text(photo).step()) return std::nullopt;
    StoredPhoto kept;
    kept.measured_on = parseIsoDate(row.readText());
    kept.made = readMadeFrom(row, file.path());
    kept.observations = observationsOf(file, photo);
    auto problems = file.prepare("SELECT " + std::string(kProblemColumns) +
                                 " FROM problem WHERE photo = ? ORDER BY place");
    kept.problems = readProblems(problems.text(photo));
    return kept;
}

}  // namespace slipglass
