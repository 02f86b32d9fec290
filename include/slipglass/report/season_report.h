#pragma once
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "slipglass/flags/flags.h"
#include "slipglass/observation.h"
#include "slipglass/season/plan.h"
#include "slipglass/season/series.h"
#include "slipglass/season/standing.h"
#include "slipglass/season/water_behaviour.h"
#include "slipglass/store/season_store.h"

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
    SeasonSettings settings;
};

/// Everything derived from the measurements. Pure: reads no clock, so the same season gives the same files on
/// any day; "latest" is the latest photo's day.
SeasonReport buildSeason(std::vector<Observation> observations, std::vector<Problem> problems,
                         const std::optional<Plan>& plan, const SeasonSettings& season_settings,
                         const FlagSettings& flag_settings, const CareLog& care = {});

/// What the user gave beside the photos, as it is kept in the season file, so that other commands rebuild the
/// season from DIR alone.
struct Given {
    struct File {
        std::string text;
        std::string name;  ///< for messages
        Date since;        ///< day of the run that was first given this text
    };
    std::optional<File> plan, care, settings;
    std::optional<File> corrections;  ///< all files of the folder, as the caller puts them into one text
    StandingSettings standing;        ///< those of `settings` that turn figures into verdicts
    SeasonSettings season;
    FlagSettings flags;
    std::vector<Problem> problems;  ///< those that belong to no photo that is kept
    Date today;                     ///< of that run
};

/// Keeps it in the season file, in place of what the run before gave.
void putGiven(SeasonStore& store, const Given& given);

/// Empty before a first run has come to its end.
std::optional<Given> givenIn(const SeasonStore& store);

/// The season as the last `measure` into `out_dir` left it: its measurements, plan, settings and problems.
/// Throws Error when `out_dir` holds no season file, or one that slipglass did not write.
SeasonReport readSeason(const std::filesystem::path& out_dir);

/// The same from an open season file: what was measured, and on it all verdicts, worked out anew.
SeasonReport seasonIn(const SeasonStore& store);

/// Writes observations.csv, cuttings.csv, season.json, flags.csv, problems.csv, water.csv,
/// graphs/<cutting>.svg and report/index.html into `out_dir`, each whole or not at all. The page shows the
/// overlays that are in `out_dir` already. Not to be called from two threads at once (PLplot). Throws Error
/// when something cannot be written.
void writeReport(const SeasonReport& season, const std::filesystem::path& out_dir);

}  // namespace slipglass
