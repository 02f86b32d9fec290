#pragma once
// Private to report: the parts of the season's page.
#include <optional>
#include <string>

#include "page_parts.h"
#include "slipglass/season/compare.h"

namespace slipglass {

/// The span of time and of coverage that all cards share.
struct Scale {
    std::optional<Date> first, last;
    double top_percent = 1;  ///< at least, so that noise does not look like growth
};

Scale scaleOf(const SeasonReport& season);

/// From the season's page to a cutting's.
std::string pageAddress(const Series& series);
/// The latest picture with what was found; false when there is none.
PageData pictureData(const Series& series, const PicturesThere& pictures, const SeasonSettings& settings);
PageData cardData(const Series& series, const SeasonReport& season, const PicturesThere& pictures,
                  const Scale& scale, const Rounds& rounds);
/// A comparison in words and as a table.
PageData groupsData(const Comparison& comparison);

}  // namespace slipglass
