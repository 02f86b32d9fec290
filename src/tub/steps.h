#pragma once

#include <algorithm>
#include <cmath>
#include <vector>

namespace slipglass {

/// -reach, -reach + step, ... up to reach. Counted, not summed: summed steps of 2 degrees left out the last.
/// @param reach  finite; none when below 0.
/// @param step   of the same unit, finite and above 0.
inline std::vector<double> stepsAcross(double reach, double step)
{
    constexpr double kRounding = 1e-9;  // of a step: 124 / 2 steps are 62, whatever the division says
    std::vector<double> steps;
    const int many = std::max(0, static_cast<int>(std::floor(2 * reach / step + kRounding)) + 1);
    steps.reserve(static_cast<size_t>(many));
    for (int i = 0; i < many; ++i) steps.push_back(i * step - reach);
    return steps;
}

}  // namespace slipglass
