#include "slipglass/report/write_report.h"

#include <set>
#include <vector>

#include "slipglass/in_parallel.h"
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

void writeCutting(const SeasonReport& season, size_t nth, const ForPages& with,
                  const std::filesystem::path& out_dir)
{
    const Series& series = season.series[nth];
    const std::string& file = season.files.at(series.cutting.cutting);
    const std::filesystem::path drawing = out_dir / graphName(file);
    const Graph graph = drawGraph(series, season.flags, season.settings, with.words, bytesIn(drawing));
    writeFile(drawing, graph.svg);
    writeFile(out_dir / cuttingPageName(file), cuttingHtml(season, nth, graph, with));
}

}  // namespace

void writeReport(const SeasonReport& season, const std::filesystem::path& out_dir, int threads)
{
    const auto write = [&](const std::filesystem::path& name, const std::string& bytes) {
        writeFile(out_dir / name, bytes);
    };
    write(output::kObservations, observationsCsv(season));
    write(output::kCuttings, cuttingsCsv(season));
    write(output::kFlags, flagsCsv(season));
    write(output::kProblems, problemsCsv(season));
    write(output::kWater, waterCsv(season));
    const ForPages with = forPages(season, picturesIn(out_dir, season.observations));
    inParallel(1 + season.series.size(), threads, [&](size_t i) {
        if (i == 0) return write(output::kSeasonJson, seasonJson(season));
        writeCutting(season, i - 1, with, out_dir);
    });
    std::set<std::string> pages;
    for (const Series& series : season.series)
        pages.insert(std::filesystem::path(cuttingPageName(season.files.at(series.cutting.cutting)))
                         .filename()
                         .string());
    removeOldPages((out_dir / cuttingPageName("any")).parent_path(), pages);
    for (const Comparison& comparison : with.comparisons)
        write(comparisonName(comparison.by), compareJson(comparison));
    write(output::kCalendar, calendarIcs(season, with.rounds));
    write(output::kBenchSheet, benchSheetHtml(season, with.rounds));
    write(output::kFirstPage, indexHtml(season, with));
}

}  // namespace slipglass
