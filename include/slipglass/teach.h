#pragma once
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "slipglass/corrections/taught.h"
#include "slipglass/measure.h"

namespace slipglass {

struct TeachOptions {
    std::filesystem::path out;                  ///< a folder that `measure` wrote
    std::filesystem::path corrections;          ///< folder of corrections/<photo stem>.json
    std::vector<std::filesystem::path> photos;  ///< files and folders, as given to `measure`
    std::optional<std::filesystem::path> batch, settings;
    int threads = 0;  ///< 0 = one per core
    Date today;
};

struct TeachResult {
    Taught taught;                  ///< what was learnt, and how it does
    bool in_use = false;            ///< whether it was written, for `measure` to use
    std::string why_not;            ///< for people, when it was not
    std::vector<Problem> problems;  ///< corrections and corrected photos that could not be used
    int photos_elsewhere = 0;       ///< without strokes; taught.elsewhere holds an even sample of them
    bool stopped = false;
};

/// Learns the root map's last layer anew from the strokes of a folder of corrections, for this season, and
/// writes OUT/taught.json if it does better on photos it was not taught; else OUT keeps, or goes back to, the
/// shipped layer. The same input writes the same bytes.
/// Throws Error when OUT holds no season, or there is nothing to learn from at all.
TeachResult teach(const TeachOptions& options, const MeasureEvents& events);

/// Takes away what was taught; the next `measure` gives the figures of the shipped layer. False when nothing
/// had been.
bool forgetTaught(const std::filesystem::path& out);

}  // namespace slipglass
