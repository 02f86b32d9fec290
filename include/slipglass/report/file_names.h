#pragma once
#include <map>
#include <string>
#include <utility>
#include <vector>

#include "slipglass/observation.h"

namespace slipglass {

/// A file name for a tub's or cutting's id, safe on every file system, and readable: letters and digits of
/// any script, '.', '_', '-' and inner blanks stay. Anything else, and a dot after a dot, becomes '_', and
/// such a name, as well as one that was shortened or that an operating system keeps for itself, ends in '~'
/// and a hash of the id, so that two ids never share a name. ("../T01" -> "___T01~" + 10 hex digits.) Ids
/// that differ in nothing but capitals get names that do too, and would share a file on a USB stick or in
/// Windows; readPlan warns of those. Depends on the id alone, so a name never changes between runs. Never
/// empty, "." or ".."; at most 100 bytes.
std::string safeFileName(const std::string& id);

/// "overlays/<safe tub>/<date>.jpg"; the tub's second photo of the day is "<date>_2.jpg".
/// @param nth_of_day  from 1, in the order of takenBefore.
std::string overlayName(const std::string& tub, Date date, int nth_of_day);

/// Photo and tub of an observation.
using PhotoAndTub = std::pair<std::string, std::string>;

/// The overlay of each observation, below the output folder. The order of `observations` does not matter.
std::map<PhotoAndTub, std::string> overlayNames(const std::vector<Observation>& observations);

/// "graphs/<safe cutting>.svg".
std::string graphName(const std::string& cutting);

}  // namespace slipglass
