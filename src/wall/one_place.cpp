#include "one_place.h"

#include <algorithm>
#include <cmath>

namespace slipglass {

namespace {

constexpr float kSurest = 1e-6F;  // keeps logarithms finite

float logOdds(float p)
{
    const float within = std::clamp(p, kSurest, 1 - kSurest);
    return std::log(within / (1 - within));
}

}  // namespace

float usualLogOdds(const ComeAndGo& rates, bool first_photo)
{
    return logOdds(first_photo ? kAtFirst : rates.appears);
}

void fromOthers(const float* before, const std::vector<const float*>& later, int count, float usual,
                const ComeAndGo& rates, float* add)
{
    // Backward: how much likelier what later photos say is with a root here than without.
    std::vector<float> root(static_cast<size_t>(count), 0.5F), none = root;
    float *with = root.data(), *without = none.data();
    for (size_t nth = later.size(); nth-- > 0;) {
        const float* weight = later[nth];
        for (int i = 0; i < count; ++i) {
            const float a = weight[i] * with[i] * (1 - rates.vanishes) + without[i] * rates.vanishes;
            const float b = weight[i] * with[i] * rates.appears + without[i] * (1 - rates.appears);
            with[i] = a / (a + b);
            without[i] = b / (a + b);
        }
    }
    // Against what the photo's own log-odds allow for already. Most places are as the one before.
    for (int i = 0; i < count; ++i)
        add[i] = i > 0 && before[i] == before[i - 1] && with[i] == with[i - 1]
                     ? add[i - 1]
                     : logOdds(before[i]) - usual + logOdds(with[i]);
}

void stepOn(float* before, const float* weight, int count, const ComeAndGo& rates)
{
    for (int i = 0; i < count; ++i) {
        const float w = weight ? weight[i] : 1;
        const float now = before[i] * w / (before[i] * w + 1 - before[i]);
        before[i] = now * (1 - rates.vanishes) + (1 - now) * rates.appears;
    }
}

}  // namespace slipglass
