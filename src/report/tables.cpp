#include "slipglass/report/writers.h"
#include "slipglass/season/csv.h"
#include "slipglass/season/figures.h"
#include "slipglass/text.h"

namespace slipglass {

namespace {

std::string yesNo(std::optional<bool> value)
{
    if (!value) return {};
    return *value ? "true" : "false";
}

// The figures are in the order of kFigures; two columns that are no numbers stand between them.
bool standingWaterPrecedes(const Figure& figure)
{
    return figure.value == &Observation::wetness;
}
bool notesFollow(const Figure& figure)
{
    return figure.value == &Observation::confidence;
}

std::vector<std::string> observationHeader()
{
    std::vector<std::string> names{"photo", "tub", "date", "state"};
    for (const auto& figure : kFigures) {
        if (standingWaterPrecedes(figure)) names.emplace_back("standing_water");
        names.emplace_back(figure.name);
        if (notesFollow(figure)) names.emplace_back("notes");
    }
    names.emplace_back("time");
    return names;
}

std::vector<std::string> observationFields(const Observation& seen)
{
    std::vector<std::string> fields{seen.photo, seen.tub, isoDate(seen.taken.date), stateText(seen.state)};
    for (const auto& figure : kFigures) {
        if (standingWaterPrecedes(figure)) fields.push_back(yesNo(seen.standing_water));
        fields.push_back(figureText(seen.*figure.value, figure.decimals));
        if (notesFollow(figure)) fields.push_back(joined(seen.notes, "; "));
    }
    fields.push_back(timeText(seen.taken));
    return fields;
}

}  // namespace

std::string observationsCsv(const SeasonReport& season)
{
    std::string text = csvRecord(observationHeader());
    for (const auto& seen : season.observations) text += csvRecord(observationFields(seen), season.tables);
    return text;
}

std::string flagsCsv(const SeasonReport& season)
{
    std::string text = csvRecord({"tub", "cutting", "date", "flag", "severity", "evidence", "advice", "holds",
                                  "cleared", "photos", "waits_for", "done_on"});
    for (const auto& flag : season.flags)
        text += csvRecord({flag.tub, flag.cutting, isoDate(flag.date), flag.name, severityText(flag.severity),
                           english(flag.evidence), english(flag.advice), yesNo(flag.holds),
                           flag.cleared ? isoDate(*flag.cleared) : "", joined(flag.photos, "; "),
                           flag.waits_for, flag.done_on ? isoDate(*flag.done_on) : ""},
                          season.tables);
    return text;
}

std::string problemsCsv(const SeasonReport& season)
{
    std::string text = csvRecord({"file", "tub", "state", "reason", "remedy"});
    for (const auto& problem : season.problems)
        text += csvRecord({problem.file, problem.tub, problem.state, problem.reason, problem.remedy},
                          season.tables);
    return text;
}

}  // namespace slipglass
