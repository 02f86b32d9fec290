#pragma once
#include <optional>

namespace slipglass {

/// Empty where there is no whole.
inline std::optional<double> share(double part, double whole)
{
    if (whole <= 0) return std::nullopt;
    return part / whole;
}

/// Empty where either is not known, or the truth is none.
inline std::optional<double> ratio(std::optional<double> found, std::optional<double> truth)
{
    if (!found || !truth) return std::nullopt;
    return share(*found, *truth);
}

}  // namespace slipglass
