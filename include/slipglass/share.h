#pragma once
#include <filesystem>
#include <string>
#include <vector>

#include "slipglass/measure.h"

namespace slipglass {

// A season measured in shares, on several computers or one after another, and joined again: docs/scale.md.

/// "2/8". Throws Error on anything else.
TubShare parseTubShare(const std::string& text);

struct FoundTubs {
    int by_label = 0, kept = 0;  ///< photos; kept: as the season in MeasureOptions::out has them
    std::vector<KnownByGrains> by_grains;
    std::vector<Problem> problems;  ///< photos of no tub, or that cannot be read
    bool stopped = false;           ///< nothing was written
};

/// Finds the tubs of all photos that do not name theirs, as `measure` would, and writes them to a file that
/// all shares are given (MeasureOptions::tubs). Photos that name their tub are opened only where grains have
/// to be compared. A season in MeasureOptions::out is asked what it knows, and stays as it is.
FoundTubs findTubs(const MeasureOptions& options, const std::filesystem::path& list,
                   const MeasureEvents& events);

struct Merged {
    SeasonReport season;
    size_t photos = 0;
};

/// Joins the seasons of all shares into one, and writes its report. The order does not matter, and a folder
/// given twice is given once. `out` is new, or holds what was merged before, whose place it takes.
/// Throws Error, and leaves `out` as it was, where a share is missing, has not been measured to its end, or
/// was measured by another version, with other settings, plan, care log or corrections, from other photos or
/// another list of tubs than the first.
Merged mergeShares(const std::vector<std::filesystem::path>& shares, const std::filesystem::path& out);

}  // namespace slipglass
