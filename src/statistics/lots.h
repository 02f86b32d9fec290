#pragma once
#include <cmath>
#include <random>

#include "slipglass/statistics/exact.h"

namespace slipglass {

// Drawing lots: the same ones on every run.
constexpr int kDraws = 20'000;                // a p near 0.05 is then known to 0.0015
constexpr double kMostGoneThrough = 200'000;  // 10 against 10 has 184 756 cases: a fraction of a second
constexpr double kSame = 1e-9;                // relative; what rounding makes of two equal statistics

inline std::mt19937_64 lots()
{
    return std::mt19937_64(20260112);  // NOLINT(cert-msc51-cpp): the same lots on every run are wanted
}

/// The case seen counts as drawn too, so p is never 0 (Phipson and Smyth 2010).
inline Chance fromDraws(int as_far)
{
    const double p = (as_far + 1.0) / (kDraws + 1.0);
    return {p, std::sqrt(p * (1 - p) / kDraws)};
}

}  // namespace slipglass
