#pragma once
#include <filesystem>
#include <functional>
#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "slipglass/layout/page_pictures.h"
#include "slipglass/overview/rounds.h"
#include "slipglass/overview/season_report.h"
#include "slipglass/season/compare.h"
#include "slipglass/season/csv.h"
#include "slipglass/text.h"
#include "slipglass/words.h"

namespace slipglass {

// The content of each file of a report. All pure except drawGraph; all the same bytes for the same season.
// Text that is not UTF-8 (ids from file names) is written with the replacement character.

std::string observationsCsv(const SeasonReport& season);
std::string cuttingsCsv(const SeasonReport& season);
std::string flagsCsv(const SeasonReport& season);
std::string problemsCsv(const SeasonReport& season);
std::string waterCsv(const SeasonReport& season);

/// Carries "schema_version". A figure that is not known is null.
std::string seasonJson(const SeasonReport& season);

/// What a photo's day shows on a graph, in the SVG's own px.
struct GraphDay {
    double x = 0;
    std::string heading;                            ///< the day, for people
    std::vector<std::string> lines;                 ///< "Roots cover 3.2 % (2.9 to 3.6)"
    std::vector<std::pair<double, double>> places;  ///< of the dots
};

struct Graph {
    std::string svg;
    std::vector<GraphDay> days;  ///< from left to right
};

/// Coverage with its 90 % interval, root length, water level and wetness over time, under each other, with
/// the time in which it will likely be ready to pot up; below them when which flag held, and what was done.
/// Uses PLplot, which keeps its state in the process: calls wait for each other. Throws Error when it cannot
/// draw.
/// @param flags   of any cutting; this one's are taken.
/// @param before  the SVG as drawn earlier; taken where the same would be drawn again.
Graph drawGraph(const Series& series, const std::vector<Flag>& flags, const SeasonSettings& settings,
                const Words& words = Words(), const std::string& before = "");

class Skeleton;

/// What the pages are made from, besides the season itself.
struct ForPages {
    Words words;
    PicturesThere pictures;
    Rounds rounds;
    std::vector<Comparison> comparisons;
    /// The address of a file below the output folder, for a page in `folder` there.
    std::function<std::string(const std::string& name, const std::string& folder)> address;
    std::shared_ptr<const Skeleton> cutting;   ///< of the cuttings' pages
    std::map<std::string, std::string> files;  ///< SeasonReport::files
};
ForPages forPages(const SeasonReport& season, PicturesThere pictures);

/// calendar.ics: the next photo days with their rounds, and the days on which cuttings can likely be potted
/// up. RFC 5545; stamped with the day of the newest photo. Empty of events before the first photo.
std::string calendarIcs(const SeasonReport& season, const Rounds& rounds);

/// The page report/bench-sheet.html, to be printed: a line with a box to tick for each thing a tub needs.
std::string benchSheetHtml(const SeasonReport& season, const Rounds& rounds);

/// The page report/index.html: what needs doing, a card for each cutting, groups, problems. Needs no network;
/// a content rule in it allows none. Without scripts it shows everything, and only filter and order are gone.
std::string indexHtml(const SeasonReport& season, const ForPages& with);

/// The page cuttingPageName() of season.series[nth]: its photos through time, growth map, graph, table, and
/// the easel for touching up.
/// @param graph  as drawGraph draws it.
std::string cuttingHtml(const SeasonReport& season, std::size_t nth, const Graph& graph,
                        const ForPages& with);

/// All of it in one file, to be sent: the season, then a part for each cutting, with pictures reduced and in
/// the file itself. Draws the graphs.
/// @param out_dir  with the pictures.
std::string oneFileHtml(const SeasonReport& season, const std::filesystem::path& out_dir);

}  // namespace slipglass
