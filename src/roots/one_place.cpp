#include "one_place.h"

#include <algorithm>
#include <cmath>

namespace slipglass {

namespace {

/// Chance of a root at a place on a tub's first photo: cuttings are stuck without roots.
constexpr float kAtFirst = 0.01F;
constexpr float kSurest = 1e-6F;  // keeps logarithms finite

float logOdds(float p)
{
    const float within = std::clamp(p, kSurest, 1 - kSurest);
    return std::log(within / (1 - within));
}

}  // namespace

float usualOdds(const ComeAndGo& rates, bool first_photo)
{
    return logOdds(first_photo ? kAtFirst : rates.appears);
}

void readOnePlace(const std::vector<float>& said, const ComeAndGo& rates, std::vector<float>& from_others)
{
    const size_t count = said.size();
    from_others.resize(count);
    // Forward: chance of a root before this photo has its say, against what its own odds allow for already.
    float before = kAtFirst;
    for (size_t i = 0; i < count; ++i) {
        from_others[i] = logOdds(before) - usualOdds(rates, i == 0);
        const float weight = std::exp(said[i]);
        const float now = before * weight / (before * weight + 1 - before);
        before = now * (1 - rates.vanishes) + (1 - now) * rates.appears;
    }
    // Backward: how much likelier what later photos say is with a root here than without.
    float with = 0.5F, without = 0.5F;
    for (size_t i = count; i-- > 0;) {
        from_others[i] += logOdds(with);
        const float weight = std::exp(said[i]);
        const float a = weight * with * (1 - rates.vanishes) + without * rates.vanishes;
        const float b = weight * with * rates.appears + without * (1 - rates.appears);
        with = a / (a + b);
        without = b / (a + b);
    }
}

}  // namespace slipglass
