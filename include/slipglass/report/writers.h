#pragma once
#include <string>
#include <vector>

#include "slipglass/report/page_pictures.h"
#include "slipglass/report/rounds.h"
#include "slipglass/report/season_report.h"
#include "slipglass/season/compare.h"

namespace slipglass {

// The content of each file of a report. All pure except graphSvg; all the same bytes for the same season.
// Text that is not UTF-8 (ids from file names) is written with the replacement character.

/// One record of RFC 4180, ending in CRLF; a field is quoted only when it must be.
std::string csvRecord(const std::vector<std::string>& fields);

std::string observationsCsv(const SeasonReport& season);
std::string cuttingsCsv(const SeasonReport& season);
std::string flagsCsv(const SeasonReport& season);
std::string problemsCsv(const SeasonReport& season);
std::string waterCsv(const SeasonReport& season);

/// Carries "schema_version". A figure that is not known is null.
std::string seasonJson(const SeasonReport& season);

/// Coverage with its 90 % interval, root length, water level and wetness over time, and the times of the
/// cutting's flags and of what was done, as SVG.
/// Uses PLplot, which keeps its state in the process: calls wait for each other. Throws Error when it cannot
/// draw.
std::string graphSvg(const Series& series, const std::vector<Flag>& flags, const SeasonSettings& settings);

/// What the pages are made from, besides the season itself.
struct ForPages {
    PicturesThere pictures;
    Rounds rounds;
    std::vector<Comparison> comparisons;
};
ForPages forPages(const SeasonReport& season, PicturesThere pictures);

/// The page report/index.html: what needs doing, a card for each cutting, groups, problems. Needs no network;
/// a content rule in it allows none. Without scripts it shows everything, and only filter and order are gone.
std::string indexHtml(const SeasonReport& season, const ForPages& with);

/// The season compared by each column of its plan that has two values or more, own columns only where some
/// cuttings share a value.
std::vector<Comparison> comparisonsOf(const SeasonReport& season);

/// The page cuttingPageName() of season.series[nth]: its photos through time, growth map, graph, table, and
/// the easel for touching up. Draws the graph as graphSvg does.
std::string cuttingHtml(const SeasonReport& season, std::size_t nth, const ForPages& with);

/// `text`, with the replacement character for what is not UTF-8.
std::string validUtf8(const std::string& text);

}  // namespace slipglass
