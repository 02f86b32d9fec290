#include <algorithm>
#include <map>

#include "slipglass/season/series.h"
#include "slipglass/text.h"
#include "spreadsheet.h"

namespace slipglass {

namespace {

/// What the season knows of a tub.
struct KnownTub {
    std::vector<std::string> cuttings;
    std::optional<Date> stuck_on;  ///< of the first; empty when one of them is not known
};

std::map<std::string, KnownTub> tubsOf(const std::vector<Series>& series)
{
    std::map<std::string, KnownTub> tubs;
    for (const Series& one : series) {
        const bool first = !tubs.count(one.cutting.tub);
        KnownTub& tub = tubs[one.cutting.tub];
        tub.cuttings.push_back(one.cutting.cutting);
        if (first || !one.cutting.stuck_on || !tub.stuck_on)
            tub.stuck_on = first || tub.stuck_on ? one.cutting.stuck_on : std::nullopt;
        else
            tub.stuck_on = std::min(*tub.stuck_on, *one.cutting.stuck_on);
    }
    return tubs;
}

/// Only ids that differ in capitals: T01 is as near to T02 as to T07.
std::string meant(const std::string& id, const std::vector<std::string>& known)
{
    const auto same = std::find_if(known.begin(), known.end(),
                                   [&](const std::string& one) { return inSmall(one) == inSmall(id); });
    return same == known.end() ? "" : "; did you mean '" + *same + "'?";
}

/// Rows about tubs that nobody knows: a line for each tub.
std::vector<std::string> unknownTubs(const CareLog& care, const std::map<std::string, KnownTub>& tubs)
{
    std::vector<std::string> ids;
    ids.reserve(tubs.size());
    for (const auto& [id, tub] : tubs) ids.push_back(id);
    std::map<std::string, std::vector<int>> lines;
    for (const CareEvent& event : care.events)
        if (!tubs.count(event.tub)) lines[event.tub].push_back(event.line);
    std::vector<std::string> warnings;
    for (auto& [id, of_tub] : lines) {
        std::string where = lineOf(care.file, *std::min_element(of_tub.begin(), of_tub.end()));
        if (of_tub.size() > 1) where += " and " + std::to_string(of_tub.size() - 1) + " more";
        where += ": the tub '" + id + "' is neither in the plan nor on a photo";
        warnings.push_back(where + meant(id, ids));
    }
    return warnings;
}

}  // namespace

std::vector<std::string> careWarnings(const CareLog& care, const std::vector<Series>& series)
{
    const auto tubs = tubsOf(series);
    std::vector<std::string> warnings = unknownTubs(care, tubs);
    for (const CareEvent& event : care.events) {
        const auto tub = tubs.find(event.tub);
        if (tub == tubs.end()) continue;
        const auto& [cuttings, stuck_on] = tub->second;
        const std::string where = lineOf(care.file, event.line);
        if (stuck_on && event.date < *stuck_on)
            warnings.push_back(where + ": date is " + isoDate(event.date) +
                               ", before anything was stuck in the tub '" + event.tub + "' (" +
                               isoDate(*stuck_on) + "); is it right?");
        if (!event.cutting.empty() &&
            std::find(cuttings.begin(), cuttings.end(), event.cutting) == cuttings.end())
            warnings.push_back(where + ": the cutting '" + event.cutting + "' is not in the tub '" +
                               event.tub + "'" + meant(event.cutting, cuttings));
    }
    return warnings;
}

}  // namespace slipglass
