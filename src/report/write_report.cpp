#include "slipglass/report/write_report.h"

#include "slipglass/layout/file_names.h"
#include "slipglass/report/compare_report.h"
#include "slipglass/report/writers.h"
#include "slipglass/store/write_file.h"

namespace slipglass {

void writeReport(const SeasonReport& season, const std::filesystem::path& out_dir)
{
    writeFile(out_dir / output::kObservations, observationsCsv(season));
    writeFile(out_dir / output::kCuttings, cuttingsCsv(season));
    writeFile(out_dir / output::kSeasonJson, seasonJson(season));
    writeFile(out_dir / output::kFlags, flagsCsv(season));
    writeFile(out_dir / output::kProblems, problemsCsv(season));
    writeFile(out_dir / output::kWater, waterCsv(season));
    const ForPages with = forPages(season, picturesIn(out_dir, season.observations));
    for (size_t i = 0; i < season.series.size(); ++i) {
        const Series& series = season.series[i];
        const Graph graph = drawGraph(series, season.flags, season.settings, with.words);
        writeFile(out_dir / graphName(series.cutting.cutting), graph.svg);
        writeFile(out_dir / cuttingPageName(series.cutting.cutting), cuttingHtml(season, i, graph, with));
    }
    for (const Comparison& comparison : with.comparisons)
        writeFile(out_dir / comparisonName(comparison.by), compareJson(comparison));
    writeFile(out_dir / output::kCalendar, calendarIcs(season, with.rounds));
    writeFile(out_dir / output::kBenchSheet, benchSheetHtml(season, with.rounds));
    writeFile(out_dir / output::kFirstPage, indexHtml(season, with));
}

}  // namespace slipglass
