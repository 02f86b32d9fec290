#pragma once
#include <optional>
#include <string>
#include <vector>

#include "slipglass/corrections/correction.h"
#include "slipglass/measure.h"
#include "slipglass/observe.h"
#include "slipglass/overview/given.h"

namespace slipglass {

/// What the user gave beside the photos, now or to an earlier run, read before the first photo is opened.
/// @param before  what the season file has.
/// @param as_before  gets a line for each that was not given now.
Given givenBeside(const MeasureOptions& options, const Given& before, std::vector<std::string>& as_before);

/// A file that was typed, else the one kept from before.
std::optional<Given::File> typedOrKept(const std::optional<std::filesystem::path>& typed,
                                       const std::optional<Given::File>& kept, Date today);

/// Defaults where none were given. Throws Error as settingsFrom does.
Settings settingsIn(const std::optional<Given::File>& given, Date today);

/// Empty where none was given. Throws Error as parsePlan does, and on a tub type that is not known.
std::optional<Plan> planIn(const std::optional<Given::File>& given, const Settings& settings, Date today);

CorrectionListing correctionsIn(const Given::File& given);

/// Throws Error when the season has photos of after today: a clock set back.
void checkClock(const SeasonStore& store, Date today);

}  // namespace slipglass
