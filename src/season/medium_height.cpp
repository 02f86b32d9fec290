#include "slipglass/season/medium_height.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <string>

#include "slipglass/coverage_interval.h"

namespace slipglass {

namespace {

// Shares of the height. On 104 renderings the surface was read within 3 % of the tub's other photos where it
// was read right, 6 % off where drops hid it and 11 % where the medium's own top was taken for it. Guess:
// media settle by less from photo to photo.
constexpr double kOdd = 0.08, kAgree = 0.04;

/// How much higher the surface is than on two other photos that agree; 0 where it is not, or they do not.
double oddness(double height, const std::array<double, 2>& others)
{
    const double mean = (others[0] + others[1]) / 2;
    if (std::abs(others[0] - others[1]) > kAgree * mean || std::abs(height - mean) <= kOdd * mean) return 0;
    return height - mean;
}

/// As for all that is measured with caution.
void widen(RootMeasures& measures, int photos_read)
{
    if (!measures.coverage_percent) return;
    const CoverageInterval wide = coverageInterval(*measures.coverage_percent, photos_read, State::caution);
    measures.coverage_low = wide.low;
    measures.coverage_high = wide.high;
}

void doubt(Observation& seen, double higher_mm, std::vector<Problem>& problems)
{
    const std::string why =
        "the medium's surface was read " + std::to_string(std::lround(std::abs(higher_mm))) + " mm" +
        (higher_mm > 0 ? " higher than on the photos around it" : " lower than on the photos around it");
    if (seen.state == State::measured) {
        const int photos_read = static_cast<int>(seen.photos_read.value_or(1));
        widen(seen, photos_read);
        for (PartFigures& part : seen.parts) widen(part, photos_read);
    }
    seen.state = State::caution;
    seen.notes.push_back(why);
    problems.push_back(
        {seen.photo, seen.tub, "caution", why,
         "If no medium was added or taken out, photograph the tub against a plain background, with "
         "drops and mist wiped off the wall above the medium"});
}

}  // namespace

void doubtOddHeights(std::vector<Observation>& observations, std::vector<Problem>& problems)
{
    std::map<std::string, std::vector<Observation*>> tubs;
    for (Observation& seen : observations)
        if (usable(seen) && seen.medium_height_mm && *seen.medium_height_mm > 0)
            tubs[seen.tub].push_back(&seen);
    for (auto& [tub, photos] : tubs) {
        if (photos.size() < 3) continue;
        std::sort(photos.begin(), photos.end(),
                  [](const Observation* a, const Observation* b) { return takenBefore(*a, *b); });
        for (size_t i = 0; i < photos.size(); ++i) {
            // The photo before and the one after; at an end of the series the nearest two.
            const size_t first = std::clamp<size_t>(i, 1, photos.size() - 2) - 1, last = first + 2;
            const size_t one = i == first ? first + 1 : first, other = i == last ? last - 1 : last;
            const double higher = oddness(*photos[i]->medium_height_mm,
                                          {*photos[one]->medium_height_mm, *photos[other]->medium_height_mm});
            if (higher != 0) doubt(*photos[i], higher, problems);
        }
    }
}

}  // namespace slipglass
