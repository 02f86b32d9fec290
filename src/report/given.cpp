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

Given givenIn(const SeasonStore& store)
{
    const std::map<std::string, std::string> texts = store.given();
    Given given;
    if (texts.count("plan")) {
        given.plan = texts.at("plan");
        given.plan_file = texts.at("plan_file");
    }
    if (texts.count("care")) {
        given.care = texts.at("care");
        given.care_file = texts.at("care_file");
    }
    readSettings(texts.at("settings"), "settings", fieldsOf(given), {});
    given.problems = parseProblems(texts.at("problems"));
    const std::optional<Date> day = parseIsoDate(texts.at("today"));
    if (!day) throw std::out_of_range("today");
    given.today = *day;
    return given;
}

}  // namespace

void putGiven(SeasonStore& store, const Given& given)
{
    Given copy = given;
    std::map<std::string, std::string> texts{{"settings", settingsJson(fieldsOf(copy))},
                                             {"problems", problemsText(given.problems)},
                                             {"today", isoDate(given.today)}};
    if (given.plan) {
        texts["plan"] = *given.plan;
        texts["plan_file"] = given.plan_file;
    }
    if (given.care) {
        texts["care"] = *given.care;
        texts["care_file"] = given.care_file;
    }
    store.putGiven(texts);
}

SeasonReport seasonIn(const SeasonStore& store)
{
    const Given given = givenIn(store);
    std::optional<Plan> plan;
    if (given.plan) plan = parsePlan(*given.plan, given.plan_file, given.today);
    CareLog care;
    if (given.care) care = parseCare(*given.care, given.care_file, given.today);
    std::vector<Problem> problems = store.problems();
    problems.insert(problems.end(), given.problems.begin(), given.problems.end());
    return buildSeason(store.observations(), problems, plan, given.season, given.flags, care);
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
