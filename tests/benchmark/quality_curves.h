#pragma once
#include <filesystem>
#include <vector>

#include "quality_trials.h"

namespace slipglass::benchmark {

/// A small graph for each way to spoil a photo: Dice and the share called measured, step by step. SVG.
void drawCurves(const std::vector<Trial>& trials, const std::filesystem::path& file);

}  // namespace slipglass::benchmark
