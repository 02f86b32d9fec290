#include "slipglass/report/write_report.h"

#include <set>
#include <vector>

#include "slipglass/layout/file_names.h"
#include "slipglass/report/compare_report.h"
#include "slipglass/report/writers.h"
#include "slipglass/store/write_file.h"

namespace slipglass {

namespace {

/// Pages of cuttings that the season has no more, since their photos turned out to be another's: they would
/// tell what is not so.
void removeOldPages(const std::filesystem::path& folder, const std::set<std::string>& of_season)
{
    std::vector<std::filesystem::path> old;
    if (!std::filesystem::is_directory(folder)) return;
    for (const auto& entry : std::filesystem::directory_iterator(folder))
        if (entry.path().extension() == ".html" && !of_season.count(entry.path().filename().string()))
            old.push_back(entry.path());
    for (const auto& page : old) std::filesystem::remove(page);
}

}  // namespace

void writeReport(const SeasonReport& season, const std::filesystem::path& out_dir)
{
    writeFile(out_dir / output::kObservations, observationsCsv(season));
    writeFile(out_dir / output::kCuttings, cuttingsCsv(season));
    writeFile(out_dir / output::kSeasonJson, seasonJson(season));
    writeFile(out_dir / output::kFlags, flagsCsv(season));
    writeFile(out_dir / output::kProblems, problemsCsv(season));
    writeFile(out_dir / output::kWater, waterCsv(season));
    const ForPages with = forPages(season, picturesIn(out_dir, season.observations));
    std::set<std::string> pages;
    for (size_t i = 0; i < season.series.size(); ++i) {
        const Series& series = season.series[i];
        const Graph graph = drawGraph(series, season.flags, season.settings, with.words);
        writeFile(out_dir / graphName(series.cutting.cutting), graph.svg);
        const std::filesystem::path page = cuttingPageName(series.cutting.cutting);
        writeFile(out_dir / page, cuttingHtml(season, i, graph, with));
        pages.insert(page.filename().string());
    }
    removeOldPages((out_dir / cuttingPageName("any")).parent_path(), pages);
    for (const Comparison& comparison : with.comparisons)
        writeFile(out_dir / comparisonName(comparison.by), compareJson(comparison));
    writeFile(out_dir / output::kCalendar, calendarIcs(season, with.rounds));
    writeFile(out_dir / output::kBenchSheet, benchSheetHtml(season, with.rounds));
    writeFile(out_dir / output::kFirstPage, indexHtml(season, with));
}

}  // namespace slipglass
