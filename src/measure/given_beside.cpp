#include "given_beside.h"

#include <nlohmann/json.hpp>

#include "slipglass/error.h"
#include "slipglass/read_file.h"

namespace slipglass {

namespace {

/// Throws on an unknown tub type, naming the plan and the tub.
void checkPlan(const Plan& plan, const std::string& name, const Settings& settings)
{
    for (const PlannedCutting& cutting : plan.cuttings) try {
            if (!cutting.tub_type.empty()) tubType(cutting.tub_type, settings.tub_types);
        } catch (const Error& error) {
            throw Error(name, "tub " + cutting.tub + ": " + error.input() + " " + error.problem(),
                        error.remedy());
        }
}

/// All corrections of a folder in one text (correctionTextsIn).
std::string correctionsText(const std::vector<CorrectionText>& texts)
{
    nlohmann::json list = nlohmann::json::array();
    for (const CorrectionText& one : texts) list.push_back({one.name, one.text, one.saved});
    return list.dump(-1, ' ', false, nlohmann::json::error_handler_t::replace);
}

/// The same text was given on an earlier day already.
Given::File asGiven(const std::filesystem::path& typed, const std::string& text,
                    const std::optional<Given::File>& kept, Date today)
{
    return {text, typed.string(), kept && kept->text == text ? kept->since : today};
}

/// In which language and units pages are read holds until others are named, whatever settings file is given.
void keepPages(std::optional<Given::File>& settings, const MeasureOptions& options, const Given& before)
{
    const PageSettings standard;
    std::string language = options.language, units = options.units;
    const std::string text = settings ? settings->text : "";
    const auto keep = [&](const char* name, const std::string& was, const std::string& otherwise,
                          std::string& now) {
        const nlohmann::json named = nlohmann::json::parse(text, nullptr, false);
        const bool says = named.is_object() && named.contains(nlohmann::json::json_pointer("/pages") / name);
        if (now.empty() && !says && was != otherwise && options.without.count("settings") == 0) now = was;
    };
    keep("language", before.pages.language, standard.language, language);
    keep("units", before.pages.units, standard.units, units);
    const std::string with = withPages(text, language, units);
    if (with == text) return;
    const std::string name = settings ? settings->name : "of the pages";
    const auto& kept = before.settings;
    settings = Given::File{with, name, kept && kept->text == with ? kept->since : options.today};
}

}  // namespace

std::vector<CorrectionText> correctionTextsIn(const std::string& text)
{
    std::vector<CorrectionText> texts;
    try {
        for (const auto& row : nlohmann::json::parse(text))
            texts.push_back({row.at(0), row.at(1), row.at(2)});
    } catch (const nlohmann::json::exception&) {
        throw Error("The corrections in the season file", "are not as slipglass wrote them",
                    "Give them again with --corrections, or do --without corrections");
    }
    return texts;
}

Given givenBeside(const MeasureOptions& options, const Given& before, std::vector<std::string>& as_before)
{
    Given given;
    given.today = options.today;
    const auto choose = [&](const char* option, const std::optional<std::filesystem::path>& typed,
                            std::optional<Given::File> Given::*file, const std::string& what,
                            const auto& read) {
        const std::string name = option;
        const bool without = options.without.count(name) > 0;
        const auto& kept = before.*file;
        if (typed && without)
            throw Error("--without " + name, "says the opposite of --" + name, "Leave one of the two out");
        if (typed) {
            given.*file = asGiven(*typed, read(*typed), kept, options.today);
        } else if (kept && !without) {
            given.*file = kept;
            as_before.push_back(what + " " + kept->name + " as given on " + isoDate(kept->since) + " (--" +
                                name + " again when changed, --without " + name + " to do without)");
        }
    };
    const auto read = [](const std::filesystem::path& file) { return readFile(file); };
    choose("batch", options.batch, &Given::plan, "Plan", read);
    choose("care", options.care, &Given::care, "Care log", read);
    choose("settings", options.settings, &Given::settings, "Settings", read);
    choose("corrections", options.corrections, &Given::corrections, "Corrections",
           [](const std::filesystem::path& folder) { return correctionsText(correctionTexts(folder)); });
    keepPages(given.settings, options, before);
    if (given.care)
        parseCare(given.care->text, given.care->name, options.today);  // said now if it cannot be read
    return given;
}

std::optional<Given::File> typedOrKept(const std::optional<std::filesystem::path>& typed,
                                       const std::optional<Given::File>& kept, Date today)
{
    return typed ? asGiven(*typed, readFile(*typed), kept, today) : kept;
}

Settings settingsIn(const std::optional<Given::File>& given, Date today)
{
    if (!given) return {};
    try {
        return settingsFrom(given->text, given->name);
    } catch (const Error& error) {
        if (given->since == today) throw;
        throw Error(given->name + " as given on " + isoDate(given->since), error.problem(),
                    error.remedy() + ". Then give it again with --settings, or do --without settings");
    }
}

std::optional<Plan> planIn(const std::optional<Given::File>& given, const Settings& settings, Date today)
{
    if (!given) return std::nullopt;
    Plan plan = parsePlan(given->text, given->name, today);
    checkPlan(plan, given->name, settings);
    return plan;
}

CorrectionListing correctionsIn(const Given::File& given)
{
    return parseCorrections(correctionTextsIn(given.text));
}

void checkClock(const SeasonStore& store, Date today)
{
    const std::optional<Observation> newest = store.newest();
    // A day's grace, for those who travel.
    if (!newest ||
        std::chrono::sys_days(newest->taken.date) <= std::chrono::sys_days(today) + std::chrono::days{1})
        return;
    throw Error(newest->photo,
                "was taken on " + isoDate(newest->taken.date) + ", but today is " + isoDate(today) +
                    " by this computer's clock; nothing was changed",
                "Set the clock right and run again");
}

}  // namespace slipglass
