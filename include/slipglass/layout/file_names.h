#pragma once
#include <map>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "slipglass/observation.h"

namespace slipglass {

// Every name of an output folder is here, but for those in the pages' own files (src/report/pages).

/// The files that hold the whole season, and the folders of files for a photo, tub or cutting.
namespace output {
// A new one belongs into kNames of isOne (file_names.cpp) too: photos may lie beside the output.
constexpr const char *kSeason = "season.db", *kObservations = "observations.csv", *kCuttings = "cuttings.csv",
                     *kFlags = "flags.csv", *kProblems = "problems.csv", *kWater = "water.csv",
                     *kSeasonJson = "season.json", *kCalendar = "calendar.ics", *kTaught = "taught.json";
constexpr const char *kMasks = "masks", *kOverlays = "overlays", *kGraphs = "graphs", *kGrowth = "growth",
                     *kComparisons = "compare", *kReport = "report";
constexpr const char *kFirstPage = "report/index.html", *kBenchSheet = "report/bench-sheet.html";

/// Whether it is the name of something that slipglass writes into an output folder: files beside the season
/// file (a copy of it, one that is being written) too.
bool isOne(const std::string& name);
}  // namespace output

/// A file name for a tub's or cutting's id, safe on every file system, and readable: letters and digits of
/// any script, '.', '_', '-' and inner blanks stay. Anything else, and a dot after a dot, becomes '_', and
/// such a name, as well as one that was shortened or that an operating system keeps for itself, ends in '~'
/// and a hash of the id, so that two ids never share a name. ("../T01" -> "___T01~" + 10 hex digits.) Depends
/// on the id alone; those that differ in nothing but capitals get names that do too. Never empty, "." or
/// ".."; at most 100 bytes.
std::string safeFileName(const std::string& id);

/// The same for all ids of a season, told apart on a USB stick and in Windows too: of those that differ in
/// nothing but capitals, all but the first have the hash.
std::map<std::string, std::string> safeFileNames(const std::set<std::string>& ids);

/// What the user called a photo, "T01_2026-01-12" or "week 3/T01", as it may stand before ".roots.png" on
/// every file system: a part of it that Windows takes for something else, or that is longer than 120 bytes,
/// is its safeFileName.
std::string safeStem(const std::string& stem);
/// A stem with a hash behind it, where another one differs from it in capitals alone.
std::string toldApart(const std::string& stem);

/// "overlays/<safe tub>/<date>.jpg"; the tub's second photo of the day is "<date>_2.jpg".
/// @param tub         as one of safeFileNames.
/// @param nth_of_day  from 1, in the order of takenBefore.
std::string overlayName(const std::string& tub, Date date, int nth_of_day);

/// Photo and tub of an observation.
using PhotoAndTub = std::pair<std::string, std::string>;

/// The overlay of each observation, below the output folder. The order of `observations` does not matter.
std::map<PhotoAndTub, std::string> overlayNames(const std::vector<Observation>& observations);

/// What an overlay's tub is called in it, as one of safeFileNames.
std::string tubIn(const std::string& overlay);

/// A photo's masks: "masks/<stem>.roots.png" and ".wall.png".
struct MaskNames {
    std::string roots, wall;
};
MaskNames maskNames(const std::string& stem);

/// "graphs/<safe cutting>.svg". @param cutting  as one of safeFileNames.
std::string graphName(const std::string& cutting);

/// What the pages show of one photo of a tub, below the output folder.
struct PagePictureNames {
    std::string photo;  ///< "report/pictures/<safe tub>/<date>.jpg": upright, reduced, nothing drawn on it
    std::string small;  ///< ".small.jpg": the overlay, for cards and lists
    std::string found;  ///< ".found.png": outline, roots and water line, see-through, the size of `photo`
    std::string wall;   ///< ".wall.jpg": the unrolled wall, on its side's reference panel
    std::string facts;  ///< ".json": {"photo_px": [width, height] in full size, "stem": its masks'}
};
/// @param overlay  as named by overlayName.
PagePictureNames pagePictureNames(const std::string& overlay);

/// "growth/<safe tub>.png": roots in the colour of the date they were first seen; ".json": what they mean.
/// @param tub  as one of safeFileNames.
std::string growthMapName(const std::string& tub);
std::string growthLegendName(const std::string& tub);

/// "compare/<safe column>.json".
std::string comparisonName(const std::string& column);

/// "report/cuttings/<safe cutting>.html". @param cutting  as one of safeFileNames.
std::string cuttingPageName(const std::string& cutting);

}  // namespace slipglass
