#include <nlohmann/json.hpp>
#include <stdexcept>

#include "slipglass/error.h"
#include "slipglass/report/season_report.h"

namespace slipglass {

namespace {

using nlohmann::json;

std::vector<SettingField> fieldsOf(Given& given)
{
    std::vector<SettingField> fields;
    appendFields("season", given.season, fields);
    appendFields("flags", given.flags, fields);
    return fields;
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
    for (const json& row : json::parse(text))
        problems.push_back({row.at(0), row.at(1), row.at(2), row.at(3), row.at(4)});
    return problems;
}

using FileOf = std::optional<Given::File> Given::*;
constexpr std::pair<const char*, FileOf> kFiles[] = {{"plan", &Given::plan},
                                                     {"care", &Given::care},
                                                     {"settings_file", &Given::settings},
                                                     {"corrections", &Given::corrections}};

}  // namespace

void putGiven(SeasonStore& store, const Given& given)
{
    Given copy = given;
    std::map<std::string, std::string> texts{{"settings", settingsJson(fieldsOf(copy))},
                                             {"problems", problemsText(given.problems)},
                                             {"today", isoDate(given.today)}};
    for (const auto& [name, file] : kFiles)
        if (const auto& one = given.*file) {
            texts[name] = one->text;
            texts[std::string(name) + "_file"] = one->name;
            texts[std::string(name) + "_since"] = isoDate(one->since);
        }
    store.putGiven(texts);
}

std::optional<Given> givenIn(const SeasonStore& store)
{
    const std::map<std::string, std::string> texts = store.given();
    if (texts.empty()) return std::nullopt;
    const std::optional<Date> day = parseIsoDate(texts.at("today"));
    if (!day) throw std::out_of_range("today");
    Given given;
    given.today = *day;
    for (const auto& [name, file] : kFiles) {
        if (!texts.count(name)) continue;
        // Seasons of before 2026-12 do not say since when.
        const auto since = texts.find(std::string(name) + "_since");
        given.*file = {texts.at(name), texts.at(std::string(name) + "_file"),
                       (since == texts.end() ? std::nullopt : parseIsoDate(since->second)).value_or(*day)};
    }
    readSettings(texts.at("settings"), "settings", fieldsOf(given), {});
    given.problems = parseProblems(texts.at("problems"));
    return given;
}

SeasonReport seasonIn(const SeasonStore& store)
{
    const std::optional<Given> given = givenIn(store);
    if (!given) throw std::out_of_range("no run has come to its end");
    std::optional<Plan> plan;
    if (given->plan) plan = parsePlan(given->plan->text, given->plan->name, given->today);
    CareLog care;
    if (given->care) care = parseCare(given->care->text, given->care->name, given->today);
    std::vector<Problem> problems = store.problems();
    problems.insert(problems.end(), given->problems.begin(), given->problems.end());
    return buildSeason(store.observations(), problems, plan, given->season, given->flags, care);
}

SeasonReport readSeason(const std::filesystem::path& out_dir)
{
    const std::filesystem::path file = out_dir / "season.db";
    const SeasonStore store(file, SeasonStore::Use::read);
    try {
        return seasonIn(store);
    } catch (const std::out_of_range&) {
    } catch (const json::exception&) {
    }
    throw Error(file.string(), "holds no whole season",
                "Run 'slipglass measure' with --out " + out_dir.string() + " to its end");
}

}  // namespace slipglass
