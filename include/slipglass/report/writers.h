#pragma once
#include <set>
#include <string>
#include <vector>

#include "slipglass/report/season_report.h"

namespace slipglass {

// The content of each file of a report. All pure except graphSvg; all the same bytes for the same season.
// Text that is not UTF-8 (ids from file names) is written with the replacement character.

/// One record of RFC 4180, ending in CRLF; a field is quoted only when it must be.
std::string csvRecord(const std::vector<std::string>& fields);

std::string observationsCsv(const SeasonReport& season);
std::string flagsCsv(const SeasonReport& season);
std::string problemsCsv(const SeasonReport& season);
std::string waterCsv(const SeasonReport& season);

/// Carries "schema_version". A figure that is not known is null.
std::string seasonJson(const SeasonReport& season);

/// Coverage with its 90 % interval, root length and water level over time, as SVG.
/// Uses PLplot, which keeps its state in the process: calls wait for each other. Throws Error when it cannot
/// draw.
std::string graphSvg(const Series& series, const SeasonSettings& settings);

/// The page report/index.html. Needs no network and no script.
/// @param pictures  overlays there are, as named by overlayNames.
std::string indexHtml(const SeasonReport& season, const std::set<std::string>& pictures);

/// `text`, with the replacement character for what is not UTF-8.
std::string validUtf8(const std::string& text);

}  // namespace slipglass
