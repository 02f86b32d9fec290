#pragma once
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "slipglass/flags/verdict_settings.h"
#include "slipglass/overview/season_report.h"
#include "slipglass/store/season_store.h"

namespace slipglass {

/// What the user gave beside the photos, as it is kept in the season file, so that other commands rebuild the
/// season from DIR alone.
struct Given : VerdictSettings {
    struct File {
        std::string text;
        std::string name;  ///< for messages
        Date since;        ///< day of the run that was first given this text
    };
    std::optional<File> plan, care, settings;
    std::optional<File> corrections;  ///< all files of the folder, as the caller puts them into one text
    std::vector<Problem> problems;    ///< those that belong to no photo that is kept
    Date today;                       ///< of that run
    /// Of a season that holds a share of the tubs, or was joined from shares: the caller's, not looked into.
    /// Got by shareIn().
    std::string share;
};

/// The text of a settings file, in which pages are read so; what is "" stays as it was. A text that is no
/// JSON object is given back as it is, for whoever reads it to say so.
std::string withPages(const std::string& settings, const std::string& language, const std::string& units);

/// Keeps it in the season file, in place of what the run before gave.
void putGiven(SeasonStore& store, const Given& given);

/// Given::share alone, also before a first run has come to its end.
void putShare(SeasonStore& store, const std::string& share);
std::string shareIn(const SeasonStore& store);

/// Keeps what seasonIn() has reckoned (WorkedOut), for the next to whom the same tubs matter.
void keepWorkedOut(SeasonStore& store);

/// Empty before a first run has come to its end.
std::optional<Given> givenIn(const SeasonStore& store);

/// The season as the last `measure` into `out_dir` left it: its measurements, plan, settings and problems.
/// Throws Error when `out_dir` holds no season file, or one that slipglass did not write.
SeasonReport readSeason(const std::filesystem::path& out_dir);

/// The same from an open season file: what was measured, and on it all verdicts, worked out anew.
SeasonReport seasonIn(const SeasonStore& store);

}  // namespace slipglass
