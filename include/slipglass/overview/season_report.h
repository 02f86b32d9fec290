#pragma once
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "slipglass/flags/verdict_settings.h"
#include "slipglass/layout/file_names.h"
#include "slipglass/observation.h"
#include "slipglass/season/compare.h"
#include "slipglass/season/plan.h"
#include "slipglass/season/series.h"
#include "slipglass/season/water_behaviour.h"

namespace slipglass {

/// A whole season, ready to be written.
struct SeasonReport {
    std::vector<Observation> observations;  ///< by tub, then in order taken
    std::vector<Problem> problems;          ///< by file, tub, state, reason
    std::vector<Series> series;             ///< in the order of the plan, then unplanned tubs
    std::vector<Flag> flags;                ///< most urgent first
    std::vector<WaterBehaviour> water;      ///< by tub
    std::vector<std::string> warnings;      ///< of the plan, the care log and the series, each one clear line
    std::vector<std::string> own_columns;   ///< of the plan
    std::map<std::string, std::string> files;  ///< safeFileNames of the cuttings
    SeasonSettings settings;
    PageSettings pages;
    TableSettings tables;
    /// What people drew on a tub in a photo, all of it together, as text that a page can show (JSON, as one
    /// file of corrections). Empty unless who measures sets it.
    std::map<PhotoAndTub, std::string> drawn;
};

/// Everything derived from the measurements. Pure: reads no clock, so the same season gives the same files on
/// any day; "latest" is the latest photo's day.
SeasonReport buildSeason(std::vector<Observation> observations, std::vector<Problem> problems,
                         const std::optional<Plan>& plan, const VerdictSettings& settings,
                         const CareLog& care = {});

/// The season compared by each column of its plan that has two values or more, own columns only where some
/// cuttings share a value.
std::vector<Comparison> comparisonsOf(const SeasonReport& season);

}  // namespace slipglass
