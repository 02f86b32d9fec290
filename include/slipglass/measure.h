#pragma once
#include <atomic>
#include <filesystem>
#include <functional>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "slipglass/corrections/correction.h"
#include "slipglass/overview/given.h"
#include "slipglass/overview/season_report.h"

namespace slipglass {

/// Some of a season's tubs: the nth of so many shares. Which a tub falls to hangs on its name alone.
struct TubShare {
    int nth = 1, of = 1;
    bool operator==(const TubShare&) const = default;
};

struct MeasureOptions {
    std::vector<std::filesystem::path> photos;  ///< files and folders; none: the season is put together anew
    /// What is left out here is as an earlier run was given it, but for what `without` names.
    std::optional<std::filesystem::path> batch, care, settings;
    std::optional<std::filesystem::path> corrections;  ///< folder of corrections/<photo stem>.json
    std::string language, units;                       ///< of the pages; "": as an earlier run was told
    std::set<std::string> without;                     ///< of "batch", "care", "settings", "corrections"
    std::filesystem::path out;
    std::optional<TubShare> share;              ///< of the photos, those of its tubs alone are opened
    std::optional<std::filesystem::path> tubs;  ///< with a share: what findTubs wrote
    bool rescue = false;  ///< a damaged season file is replaced by what can be read of it (rescueSeason)
    int threads = 0;      ///< 0 = one per core
    Date today;
};

/// How a run tells about itself and is told to end. Called from one thread at a time.
struct MeasureEvents {
    std::function<void(int done, int of)> progress = [](int, int) {};
    std::function<void(const std::string&)> warn = [](const std::string&) {};
    /// Set from outside (Ctrl-C): photos under way are finished and kept, no more are begun.
    const std::atomic<bool>* stop = nullptr;
};

/// A photo whose tub was known by the grains of its wall alone.
struct KnownByGrains {
    std::string photo, tub;
};
/// A photo whose tub nobody told and its grains did not tell either.
struct OfNoTub {
    std::string photo;
    std::vector<std::string> likely;  ///< tubs that it might show, most like first; mostly none
};

struct MeasureResult {
    SeasonReport season;
    Given given;           ///< beside the photos, now or to an earlier run: what holds from now on
    int measured = 0;      ///< photos measured in this run
    int kept = 0;          ///< photos measured before, with the same settings
    int not_measured = 0;  ///< files of the season without a usable figure: see problems.csv
    std::vector<KnownByGrains> by_grains;  ///< in this run, by photo
    std::vector<OfNoTub> of_no_tub;        ///< by photo
    bool stopped = false;
    bool new_season = false;  ///< there was none in the output folder
    /// Plan, care log, settings and corrections that an earlier run was given and this one used, each in a
    /// line.
    std::vector<std::string> as_given_before;
    /// stuckOnNote of a plan that this run was given; not of one that an earlier run was.
    std::string plan_note;
};

/// The files of Given::corrections, from its text.
std::vector<CorrectionText> correctionTextsIn(const std::string& text);

/// The main job: everything from photos to report. One bad photo becomes a row of problems.csv; what cannot
/// be written ends the run with an Error, and what was measured until then is kept. The same files come out
/// whatever the number of threads and the order of the photos.
MeasureResult measure(const MeasureOptions& options, const MeasureEvents& events);

}  // namespace slipglass
