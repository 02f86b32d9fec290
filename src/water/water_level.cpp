#include "slipglass/water/water_level.h"

#include <algorithm>
#include <cmath>

#include "level_profile.h"
#include "slipglass/observation.h"

namespace slipglass {

namespace {

/// Grains stick out of the medium's surface this far.
constexpr double kRaggedMm = 4;
/// How many px of the photo a surface may be off, besides WaterSettings::level_error_mm. Guess.
constexpr double kPhotoPx = 1;

/// Support that a wall wet over 5 mm has.
constexpr double kContradicts = 20;

bool less(const LevelSupport& a, const LevelSupport& b)
{
    return a.support < b.support;
}

std::string spanOf(const Panel& panel, double from, double to)
{
    if (!panel.in_mm) return "";
    const auto whole = [](double mm) { return std::to_string(std::lround(mm)); };
    return "between " + whole(from) + " and " + whole(to) + " mm ";
}

}  // namespace

WaterReading readingOf(const LevelProfile& profile, const Panel& panel, const WaterSettings& settings)
{
    WaterReading reading;
    const auto begin = profile.heights.begin(), end = profile.heights.end();
    const auto standing =
        std::find_if(begin, end, [&](const LevelSupport& at) { return at.level >= kLeastWaterMm; });
    if (!panel.base_known || standing == begin || standing == end ||
        profile.foot_seen < settings.least_foot) {
        reading.note = "water not known: the tub's foot is not in sight";
        return reading;
    }
    // Heel and base look a little like a film of water: what speaks for standing water has to be more than
    // what speaks for a film or none.
    const LevelSupport &lower = *std::max_element(begin, standing, less),
                       &best = *std::max_element(standing, end, less);
    const double for_water = best.support - lower.support;
    // Wet as if right under a surface, over a wall that seems dry: very deep water, or another thing.
    const LevelSupport& deep = *std::max_element(
        standing, end, [](const auto& a, const auto& b) { return a.from_near < b.from_near; });
    const bool contradicted = for_water < settings.water_support && deep.from_near > kContradicts;
    const auto likely = [&](const LevelSupport& at) {
        return at.support >= std::max(best.support, lower.support) - settings.interval_support;
    };
    const double error = settings.level_error_mm + kPhotoPx / panel.px_per_unit;
    const double lowest = std::find_if(begin, end, likely)->level - error,
                 highest =
                     std::find_if(profile.heights.rbegin(), profile.heights.rend(), likely)->level + error;
    reading.low = for_water < settings.water_support ? 0 : std::max(0.0, lowest);
    reading.high = contradicted ? std::max(highest, deep.level + error) : highest;
    const std::string heights = spanOf(panel, *reading.low, *reading.high);
    if (for_water < -settings.dry_support && !contradicted) {
        reading.level = 0;
    } else if (for_water < settings.water_support) {
        reading.note = "water " + heights + "or none: look";
    } else if (*reading.high - *reading.low > settings.widest_mm) {
        reading.note = "water " + heights + "behind the label or glare";
    } else {
        reading.level = best.level;
        reading.tilt = best.tilt;
        if (best.level > profile.heights.back().level - kRaggedMm)
            reading.note = "water stands at the medium's surface";
    }
    return reading;
}

WaterReading waterLevel(const Panel& panel, const WaterEvidence& evidence, double confidence,
                        const WaterSettings& settings)
{
    if (confidence >= settings.least_confidence)
        return readingOf(levelProfile(panel, evidence), panel, settings);
    WaterReading reading;
    reading.note = "water not known: the tub's place is in doubt";
    return reading;
}

}  // namespace slipglass
