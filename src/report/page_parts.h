#pragma once
// Private to report: what the pages have in common.
#include <kainjow/mustache.hpp>
#include <map>
#include <string>
#include <vector>

#include "slipglass/layout/page_pictures.h"
#include "slipglass/overview/rounds.h"
#include "slipglass/overview/season_report.h"
#include "slipglass/words.h"

namespace slipglass {

using PageData = kainjow::mustache::data;

PageData emptyList();

/// A path below the output folder as an address from a page in `folder` ("report"), whatever letters are in
/// it.
std::string addressOf(const std::string& path, const std::string& folder);

/// A page but for its data: a skeleton in a language, with the style and script that its content rule names
/// by their hashes. Read once for all pages of its kind, from any thread.
class Skeleton {
public:
    Skeleton(const std::string& skeleton, const std::string& script, const Words& words);

    /// The whole page.
    std::string pageOf(PageData& data, const std::string& title) const;

private:
    PageData all_;                              ///< what all its pages have
    mutable kainjow::mustache::mustache page_;  ///< changed by giving pages only where it is unsound
};

/// A drawing as part of a page: without what makes it a file of its own.
/// @param of  sets the names inside it apart where a page holds several.
std::string inlineSvg(const std::string& svg, const std::string& of = "");

/// "act-today", "look-soon" or "note".
std::string severityClass(Severity severity);

/// Whether it is this cutting that needs it.
bool isAbout(const Need& need, const std::string& cutting);
/// What to do, why, since when, advice and evidence.
PageData needData(const Need& need, const Words& words);

/// The latest photo that `picture` is there of; null when there is none.
const SeriesPoint* latestWith(const Series& series, const PicturesThere& pictures,
                              std::string PhotoPictures::*picture);
const PhotoPictures& picturesOf(const SeriesPoint& point, const PicturesThere& pictures);
/// What a picture of a photo shows, in words.
std::string pictureWords(const Observation& seen, const SeasonSettings& settings, const Words& words);

/// The latest point that knows whether water stands, or how high; null when none does.
const SeriesPoint* latestWater(const Series& series);
/// "on 3 Feb" where a figure is not of the latest photo; else "".
std::string whenNotLatest(const Series& series, const SeriesPoint& point, const Words& words);

/// "tub T01" where the cutting is called otherwise; else "".
std::string tubWords(const PlannedCutting& cutting, const Words& words);
/// "Quince Plot Nine; shed sill; no hormone. Stuck on 12 Jan 2026."
std::string aboutCutting(const Series& series, const Words& words);
/// The day of the newest photo, which a script tells the age of (age.js); false when there is none.
PageData newestData(const std::optional<Date>& day, const Words& words);
/// "43 days" at the latest photo; "" when not known.
std::string ageWords(const Series& series, const Words& words);

}  // namespace slipglass
