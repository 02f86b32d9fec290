#include "slipglass/season/wetness.h"

#include <algorithm>
#include <cmath>
#include <map>

#include "slipglass/season/series.h"

namespace slipglass {

namespace {

/// Wet grains send back about half of the light that dry ones do (Lekner and Dorf, "Why some things are
/// darker when wet", Applied Optics 27:1278, 1988; from memory). Lightness goes with the cube root of light.
const double kLeastRange = std::log(2.0) / 3;

/// Fog over more of the wall than this, percent, adds more to its median lightness than photos differ by.
constexpr double kHidden = 20;

/// How light the medium is, in the logarithm.
std::optional<double> lightnessOf(const Observation& seen)
{
    if (!usable(seen) || !seen.wall_lightness || *seen.wall_lightness <= 0) return std::nullopt;
    if (seen.condensation_percent.value_or(0) > kHidden) return std::nullopt;
    return std::log(*seen.wall_lightness);
}

/// @param tub  its observations by date.
void setWetnessOfTub(const std::vector<Observation*>& tub)
{
    std::vector<double> known;
    for (Observation* seen : tub) {
        seen->wetness.reset();
        if (const auto lightness = lightnessOf(*seen)) known.push_back(*lightness);
    }
    if (known.size() < 2) return;
    const auto [wettest, driest] = std::minmax_element(known.begin(), known.end());
    const double range = std::max(kLeastRange, *driest - *wettest);
    // Both bounds are the wettest where the tub's own range is the whole; rounding must not cross them.
    const double wet = std::clamp(known.front() - range / 2, std::min(*driest - range, *wettest), *wettest);
    for (Observation* seen : tub)
        if (const auto lightness = lightnessOf(*seen))
            seen->wetness = std::clamp(1 - (*lightness - wet) / range, 0.0, 1.0);
}

}  // namespace

void setWetness(std::vector<Observation>& observations)
{
    std::map<std::string, std::vector<Observation*>> tubs;
    for (Observation& seen : observations) tubs[seen.tub].push_back(&seen);
    for (auto& [name, tub] : tubs) {
        std::sort(tub.begin(), tub.end(),
                  [](const Observation* a, const Observation* b) { return takenBefore(*a, *b); });
        setWetnessOfTub(tub);
    }
}

}  // namespace slipglass
