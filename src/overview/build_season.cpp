#include <algorithm>
#include <set>
#include <tuple>

#include "slipglass/overview/season_report.h"
#include "slipglass/season/medium_height.h"
#include "slipglass/season/wetness.h"

namespace slipglass {

SeasonReport buildSeason(std::vector<Observation> observations, std::vector<Problem> problems,
                         const std::optional<Plan>& plan, const VerdictSettings& settings,
                         const CareLog& care)
{
    SeasonReport season;
    doubtOddHeights(observations, problems);
    setStanding(observations, settings.standing);
    setWetness(observations);
    season.settings = settings.season;
    season.pages = settings.pages;
    season.tables = settings.tables;
    season.series = buildSeries(observations, plan, settings.season, care);
    std::set<std::string> cuttings;
    for (const Series& series : season.series) cuttings.insert(series.cutting.cutting);
    season.files = safeFileNames(cuttings);
    season.flags = findFlags(season.series, settings.flags);
    if (plan) {
        season.own_columns = plan->own_column_names;
        season.warnings = plan->warnings;
    }
    season.water = waterBehaviour(season.series);
    const auto warn = [&](const std::vector<std::string>& more) {
        season.warnings.insert(season.warnings.end(), more.begin(), more.end());
    };
    if (plan) warn(positionWarnings(*plan));
    warn(care.warnings);
    warn(careWarnings(care, season.series));
    warn(seriesWarnings(season.series, plan.has_value()));

    season.observations = std::move(observations);
    std::sort(season.observations.begin(), season.observations.end(), [](const auto& a, const auto& b) {
        return a.tub != b.tub ? a.tub < b.tub : takenBefore(a, b);
    });
    season.problems = std::move(problems);
    std::sort(season.problems.begin(), season.problems.end(), [](const auto& a, const auto& b) {
        return std::tie(a.file, a.tub, a.state, a.reason, a.remedy) <
               std::tie(b.file, b.tub, b.state, b.reason, b.remedy);
    });
    return season;
}

}  // namespace slipglass
