#pragma once
// Private to report: the parts of the season's page.
#include <optional>
#include <string>

#include "page_parts.h"
#include "slipglass/report/writers.h"
#include "slipglass/season/compare.h"

namespace slipglass {

/// The span of time and of coverage that all cards share.
struct Scale {
    std::optional<Date> first, last;
    double top_percent = 1;  ///< at least, so that noise does not look like growth
};

Scale scaleOf(const SeasonReport& season);

/// From the season's page to a cutting's.
std::string pageAddress(const Series& series, const ForPages& with);
/// The latest picture with what was found; false when there is none.
PageData pictureData(const Series& series, const ForPages& with, const SeasonSettings& settings);
PageData cardData(const Series& series, const SeasonReport& season, const ForPages& with, const Scale& scale);
/// The SVG of roots over time, a line for each cutting that shows any, its name beside it where there is
/// room;
/// "" when none does.
std::string drawSeason(const SeasonReport& season, const Words& words);
/// The season's large figures, and what changed in the week to its newest photo.
void addGlance(PageData& page, const SeasonReport& season, const ForPages& with);
/// All that the season's page shows, for season_main.mustache.
PageData seasonData(const SeasonReport& season, const ForPages& with);
/// Whether two of its groups or more have so many tubs that they tell something.
bool tellsGroups(const Comparison& comparison, const SeasonReport& season);
/// A comparison in words and as a table; groups of few tubs apart.
PageData groupsData(const Comparison& comparison, const SeasonReport& season, const Words& words);

}  // namespace slipglass
