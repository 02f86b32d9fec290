#pragma once
// One function for each flag: from a series to its latest run, empty when it was never raised. What each
// means is on findFlags and FlagSettings.
#include <optional>

#include "slipglass/flags/flags.h"

namespace slipglass {

// water_flags.cpp
std::optional<Flag> standingWater(const Series& series, const FlagSettings& settings);
std::optional<Flag> waterlogged(const Series& series, const FlagSettings& settings);
std::optional<Flag> drying(const Series& series, const FlagSettings& settings);
std::optional<Flag> slowToAbsorb(const Series& series, const FlagSettings& settings);

// crowding_flag.cpp
std::optional<Flag> crowding(const Series& series, const FlagSettings& settings);

// root_flags.cpp
std::optional<Flag> browning(const Series& series, const FlagSettings& settings);
std::optional<Flag> noRootsYet(const Series& series, const FlagSettings& settings);

// growth_flags.cpp
std::optional<Flag> stalled(const Series& series, const FlagSettings& settings);
std::optional<Flag> readyToPot(const Series& series, const FlagSettings& settings);

// photo_flags.cpp
std::optional<Flag> greenWall(const Series& series, const FlagSettings& settings);
std::optional<Flag> retake(const Series& series, const FlagSettings& settings);

}  // namespace slipglass
