#include <algorithm>
#include <nlohmann/json.hpp>

#include "../words/strict_json.h"
#include "slipglass/error.h"
#include "slipglass/layout/file_names.h"
#include "slipglass/overview/given.h"
#include "slipglass/season/worked_out.h"

namespace slipglass {

namespace {

using nlohmann::json;

/// Sets the fields that the text names; what it names besides, or another slipglass allowed, is let be.
void setKnown(const std::string& text, const std::vector<SettingField>& fields)
{
    const json settings = json::parse(text, nullptr, false);
    for (const SettingField& field : fields) {
        const json::json_pointer at("/" + field.group + "/" + field.name);
        if (!settings.is_object() || !settings.contains(at)) continue;
        const json& value = settings[at];
        if (field.yes_no && value.is_boolean()) *field.yes_no = value;
        if (field.word && value.is_string() && mayBe(field, value)) *field.word = value;
        if (!value.is_number() || value < field.bounds.low || value > field.bounds.high) continue;
        if (field.number) *field.number = value;
        if (field.whole) *field.whole = value;
    }
}

std::string problemsText(const std::vector<Problem>& problems)
{
    json list = json::array();
    for (const Problem& p : problems) list.push_back({p.file, p.tub, p.state, p.reason, p.remedy});
    return list.dump(-1, ' ', false, json::error_handler_t::replace);
}

std::vector<Problem> parseProblems(const std::string& text)
{
    std::vector<Problem> problems;
    const json list = json::parse(text, nullptr, false);
    if (!list.is_array()) return problems;
    for (const json& row : list)
        if (row.is_array() && row.size() == 5 &&
            std::all_of(row.begin(), row.end(), [](const json& word) { return word.is_string(); }))
            problems.push_back({row[0], row[1], row[2], row[3], row[4]});
    return problems;
}

constexpr const char *kShare = "share", *kWorkedOut = "worked_out";

std::string textOf(const WorkedOut::All& all)
{
    json list = json::array();
    for (const auto& [from, result] : all) list.push_back({from, result});
    return list.dump();
}

WorkedOut::All workedOutIn(const std::string& text)
{
    WorkedOut::All all;
    try {
        for (const json& row : json::parse(text)) all[row.at(0)] = row.at(1).get<WorkedOut::Numbers>();
    } catch (const json::exception&) {
        return {};
    }
    return all;
}

std::string textIn(const SeasonStore& store, const std::string& name)
{
    const std::map<std::string, std::string> texts = store.given();
    const auto text = texts.find(name);
    return text == texts.end() ? "" : text->second;
}

using FileOf = std::optional<Given::File> Given::*;
constexpr std::pair<const char*, FileOf> kFiles[] = {{"plan", &Given::plan},
                                                     {"care", &Given::care},
                                                     {"settings_file", &Given::settings},
                                                     {"corrections", &Given::corrections}};

}  // namespace

std::string withPages(const std::string& settings, const std::string& language, const std::string& units)
{
    if (isTooDeep(settings)) return settings;
    json with = settings.empty() ? json::object() : json::parse(settings, nullptr, false);
    if (!with.is_object() || (with.contains("pages") && !with["pages"].is_object())) return settings;
    if (language.empty() && units.empty()) return settings;
    if (!with.contains("pages")) with["pages"] = json::object();
    if (!language.empty()) with["pages"]["language"] = language;
    if (!units.empty()) with["pages"]["units"] = units;
    return with.dump(1) + "\n";
}

void putGiven(SeasonStore& store, const Given& given)
{
    Given copy = given;
    std::map<std::string, std::string> texts{{"settings", settingsJson(copy.verdictFields())},
                                             {"problems", problemsText(given.problems)},
                                             {"today", isoDate(given.today)}};
    for (const auto& [name, file] : kFiles)
        if (const auto& one = given.*file) {
            texts[name] = one->text;
            texts[std::string(name) + "_file"] = one->name;
            texts[std::string(name) + "_since"] = isoDate(one->since);
        }
    if (!given.share.empty()) texts[kShare] = given.share;
    if (const std::string known = textIn(store, kWorkedOut); !known.empty()) texts[kWorkedOut] = known;
    store.putGiven(texts);
}

void putShare(SeasonStore& store, const std::string& share)
{
    std::map<std::string, std::string> texts = store.given();
    texts[kShare] = share;
    store.putGiven(texts);
}

std::string shareIn(const SeasonStore& store)
{
    return textIn(store, kShare);
}

void keepWorkedOut(SeasonStore& store)
{
    std::map<std::string, std::string> texts = store.given();
    std::string& text = texts[kWorkedOut];
    const std::string asked = textOf(workedOut().asked());
    if (text == asked) return;
    text = asked;
    store.putGiven(texts);
}

std::optional<Given> givenIn(const SeasonStore& store)
{
    const std::map<std::string, std::string> texts = store.given();
    const auto textOf = [&](const std::string& name) {
        const auto text = texts.find(name);
        return text == texts.end() ? std::string() : text->second;
    };
    const std::optional<Date> day = parseIsoDate(textOf("today"));
    if (!day) return std::nullopt;
    Given given;
    given.today = *day;
    for (const auto& [name, file] : kFiles) {
        if (!texts.count(name)) continue;
        // Seasons of before 2026-12 do not say since when.
        const auto since = parseIsoDate(textOf(std::string(name) + "_since"));
        given.*file = {textOf(name), textOf(std::string(name) + "_file"), since.value_or(*day)};
    }
    // Before version 6 of the season file standing_mm was not among the verdicts' settings.
    setKnown(textOf("settings_file"), given.verdictFields());
    setKnown(textOf("settings"), given.verdictFields());
    given.problems = parseProblems(textOf("problems"));
    return given;
}

SeasonReport seasonIn(const SeasonStore& store)
{
    const std::optional<Given> given = givenIn(store);
    if (!given)
        throw Error(
            store.path().string(), "holds no whole season",
            "Run 'slipglass measure' with --out " + store.path().parent_path().string() + " to its end");
    std::optional<Plan> plan;
    if (given->plan) plan = parsePlan(given->plan->text, given->plan->name, given->today);
    CareLog care;
    if (given->care) care = parseCare(given->care->text, given->care->name, given->today);
    std::vector<Problem> problems = store.problems();
    problems.insert(problems.end(), given->problems.begin(), given->problems.end());
    workedOut().know(workedOutIn(textIn(store, kWorkedOut)));
    return buildSeason(store.observations(), problems, plan, *given, care);
}

SeasonReport readSeason(const std::filesystem::path& out_dir)
{
    return seasonIn(SeasonStore(out_dir / output::kSeason, SeasonStore::Use::read));
}

}  // namespace slipglass
