#pragma once
// What is derived from the points of a series, one file each.
#include "slipglass/season/series.h"

namespace slipglass {

/// Whether the point's figures may be used and are the cutting's: roots on photos older than it are
/// another's.
bool isOfCutting(const SeriesPoint& point);

/// State and strike; needs the points and the end.
void setStrike(Series& series, const SeasonSettings& settings);

/// Growth, and when it can be potted up; needs the strike.
void setGrowth(Series& series, const SeasonSettings& settings);

}  // namespace slipglass
