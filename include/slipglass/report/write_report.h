#pragma once
#include <filesystem>

#include "slipglass/overview/season_report.h"

namespace slipglass {

/// Writes observations.csv, cuttings.csv, season.json, flags.csv, problems.csv, water.csv,
/// calendar.ics, graphs/<cutting>.svg and the pages of report/ into `out_dir`, each whole or not at all. The
/// pages show the pictures that are in `out_dir` already. Not to be called from two threads at once (PLplot).
/// Throws Error when something cannot be written.
void writeReport(const SeasonReport& season, const std::filesystem::path& out_dir);

}  // namespace slipglass
