#pragma once
// Private to report: the parts of a cutting's page.
#include <string>
#include <vector>

#include "page_parts.h"
#include "slipglass/report/writers.h"

namespace slipglass {

/// A photo whose pictures are all there.
struct Shown {
    const SeriesPoint* point;
    const PhotoPictures* pictures;
};

std::vector<Shown> shownOf(const Series& series, const PicturesThere& there);

/// The picture that is there before a script runs: the latest. False when there is none.
PageData viewerData(const std::vector<Shown>& shown, const PicturesThere& there,
                    const SeasonSettings& settings, const Words& words);

/// What the scripts work on. "<" is written as its code, so that no text ends the script element.
std::string scriptData(const Series& series, const std::vector<Shown>& shown, const Graph& graph,
                       const SeasonReport& season, const Words& words);

/// All in words and figures of season.series[nth]: needs, figures, table, care.
PageData cuttingData(const SeasonReport& season, std::size_t nth, const ForPages& with);
/// The colours of a growth map and what they mean; empty where there is no map, or none with a root on it.
std::vector<PageData> growthColours(const std::string& tub, const PicturesThere& there, const Words& words);
/// The latest figures, with what they are when they are not of the latest photo.
PageData figuresOf(const Series& series, const SeasonSettings& settings, const Words& words);
/// A photo's figures in one line.
std::string captionOf(const SeriesPoint& point, const SeasonSettings& settings, const Words& words);
/// The table of observations.
PageData rowsOf(const Series& series, const SeasonSettings& settings, const Words& words);

}  // namespace slipglass
