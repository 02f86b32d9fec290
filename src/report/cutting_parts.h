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
                    const SeasonSettings& settings);

/// What the scripts work on. "<" is written as its code, so that no text ends the script element.
std::string scriptData(const Series& series, const std::vector<Shown>& shown, const Graph& graph,
                       const SeasonSettings& settings);

/// The latest figures, with what they are when they are not of the latest photo.
PageData figuresOf(const Series& series, const SeasonSettings& settings);
/// The table of observations.
PageData rowsOf(const Series& series, const SeasonSettings& settings);

}  // namespace slipglass
