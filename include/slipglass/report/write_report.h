#pragma once
#include <filesystem>

#include "slipglass/overview/season_report.h"

namespace slipglass {

/// Writes observations.csv, cuttings.csv, season.json, flags.csv, problems.csv, water.csv,
/// calendar.ics, graphs/<cutting>.svg and the pages of report/ into `out_dir`, each whole or not at all. The
/// pages show the pictures that are in `out_dir` already. Graphs there that would be the same are not drawn
/// again. Not to be called twice at once. Throws Error when something cannot be written.
/// @param threads  0 = one per core.
void writeReport(const SeasonReport& season, const std::filesystem::path& out_dir, int threads = 0);

}  // namespace slipglass
