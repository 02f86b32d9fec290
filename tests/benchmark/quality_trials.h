#pragma once
// Photos spoilt step by step, and tubs filled with what has no roots, measured by the real path.
#include <filesystem>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "slipglass/observe.h"
#include "slipglass/verify/verify.h"

namespace slipglass::benchmark {

/// What the tub's first photo was in a trial.
enum class First { none, good, alike };

/// One spoilt photo, measured.
struct Trial {
    std::string kind, unit;
    double amount = 0;
    std::string photo;  ///< stem of the photo, or of the photo painted over
    First first = First::none;
    bool rootless = false;  ///< in truth
    bool compared = false;  ///< with the reference panel: it shows the same side
    State told = State::retake;
    std::string why;                 ///< what was said against the photo
    std::optional<Quality> quality;  ///< empty: no tub found
    /// As measured with every limit of QualitySettings off, so that it can be seen what they keep back.
    Observation seen;
    PhotoAgreement agreement;
};

struct TrialOptions {
    std::filesystem::path folder;    ///< with photos/, truth/ and batch.csv
    std::filesystem::path textures;  ///< photographs without roots; empty: none
    std::filesystem::path pictures;  ///< where pasted tubs are written to be looked at; empty: nowhere
    std::vector<std::string> kinds;  ///< only these; empty: all
    int later_photos = 2;            ///< of each tub, besides its first, spread over its dates
    int threads = 2;
};

/// The same trials in the same order whatever the number of threads.
/// @param progress  called with trials done and all, from any thread, one at a time.
std::vector<Trial> runTrials(const TrialOptions& options,
                             const std::function<void(size_t, size_t)>& progress);

}  // namespace slipglass::benchmark
