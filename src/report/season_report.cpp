#include "slipglass/report/season_report.h"

#include <algorithm>
#include <tuple>

#include "slipglass/report/compare_report.h"
#include "slipglass/report/file_names.h"
#include "slipglass/report/writers.h"
#include "slipglass/season/wetness.h"
#include "slipglass/store/write_file.h"

namespace slipglass {

SeasonReport buildSeason(std::vector<Observation> observations, std::vector<Problem> problems,
                         const std::optional<Plan>& plan, const SeasonSettings& season_settings,
                         const FlagSettings& flag_settings, const CareLog& care)
{
    SeasonReport season;
    setWetness(observations);
    season.settings = season_settings;
    season.series = buildSeries(observations, plan, season_settings, care);
    season.flags = findFlags(season.series, flag_settings);
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

void writeReport(const SeasonReport& season, const std::filesystem::path& out_dir)
{
    writeFile(out_dir / "observations.csv", observationsCsv(season));
    writeFile(out_dir / "cuttings.csv", cuttingsCsv(season));
    writeFile(out_dir / "season.json", seasonJson(season));
    writeFile(out_dir / "flags.csv", flagsCsv(season));
    writeFile(out_dir / "problems.csv", problemsCsv(season));
    writeFile(out_dir / "water.csv", waterCsv(season));
    const ForPages with = forPages(season, picturesIn(out_dir, season.observations));
    for (size_t i = 0; i < season.series.size(); ++i) {
        const Series& series = season.series[i];
        const Graph graph = drawGraph(series, season.flags, season.settings);
        writeFile(out_dir / graphName(series.cutting.cutting), graph.svg);
        writeFile(out_dir / cuttingPageName(series.cutting.cutting), cuttingHtml(season, i, graph, with));
    }
    for (const Comparison& comparison : with.comparisons)
        writeFile(out_dir / comparisonName(comparison.by), compareJson(comparison));
    writeFile(out_dir / "report" / "index.html", indexHtml(season, with));
}

}  // namespace slipglass
