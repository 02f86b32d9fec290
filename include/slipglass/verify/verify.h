#pragma once
#include <filesystem>
#include <string>
#include <vector>

#include "slipglass/verify/summary.h"

namespace slipglass {

/// Truth of one photo on disk (docs/verify.md). Paths are empty where there is no such file.
struct TruthFiles {
    std::string stem;  ///< path below the truth folder, '/' between parts, without ".truth.json" and the like
    std::filesystem::path json, roots, wall;
};

/// All truths in a folder and below, or in its folder `truth` when it has one, sorted by stem. Masks beside
/// an observations.csv are the program's own and passed over. Throws Error when there are none.
std::vector<TruthFiles> listTruth(const std::filesystem::path& folder);

/// Throws Error on broken JSON or a value that cannot be, naming the field.
Truth readTruth(const std::filesystem::path& json);

/// The rows of DIR/observations.csv. Only the column `photo` is needed; a missing column is an unknown
/// figure, and a missing state counts as measured. Throws Error.
std::vector<Observation> readObservations(const std::filesystem::path& csv);

struct Verification {
    VerifySettings settings;
    std::vector<PhotoAgreement> photos;  ///< one a truth, sorted by stem
    std::vector<std::string> problems;   ///< one line for each truth that was not compared
    long photos_without_truth = 0;       ///< rows of observations.csv that no truth speaks of
};

/// Compares a folder that `measure` wrote with truth.
/// @param tubs  only these; empty = all.
/// Throws Error when there are no observations or no truth to compare.
Verification verify(const std::filesystem::path& measured, const std::filesystem::path& truth,
                    const VerifySettings& settings, const std::vector<std::string>& tubs = {});

}  // namespace slipglass
