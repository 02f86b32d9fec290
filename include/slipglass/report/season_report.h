#pragma once
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "slipglass/flags/flags.h"
#include "slipglass/observation.h"
#include "slipglass/season/plan.h"
#include "slipglass/season/series.h"

namespace slipglass {

/// A whole season, ready to be written.
struct SeasonReport {
    std::vector<Observation> observations;  ///< by tub, then in order taken
    std::vector<Problem> problems;          ///< by file, tub, state, reason
    std::vector<Series> series;             ///< in the order of the plan, then unplanned tubs
    std::vector<Flag> flags;                ///< most urgent first
    std::vector<std::string> warnings;      ///< of the plan and the series, each one clear line
    std::vector<std::string> own_columns;   ///< of the plan
    SeasonSettings settings;
};

/// Everything derived from the measurements. Pure: reads no clock, so the same season gives the same files on
/// any day; "latest" is the latest photo's day.
SeasonReport buildSeason(std::vector<Observation> observations, std::vector<Problem> problems,
                         const std::optional<Plan>& plan, const SeasonSettings& season_settings,
                         const FlagSettings& flag_settings);

/// Writes observations.csv, season.json, flags.csv, problems.csv, graphs/<cutting>.svg and report/index.html
/// into `out_dir`, each whole or not at all. The page shows the overlays that are in `out_dir` already. Not
/// to be called from two threads at once (PLplot). Throws Error when something cannot be written.
void writeReport(const SeasonReport& season, const std::filesystem::path& out_dir);

}  // namespace slipglass
