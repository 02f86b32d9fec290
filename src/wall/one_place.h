#pragma once
#include <vector>

namespace slipglass {

/// How roots come and go at one place of a wall, from photo to photo.
struct ComeAndGo {
    float appears, vanishes;
};

// The forward-backward algorithm (see readSide) over the photos of a wall, for many places at once. A photo's
// weight at a place is how much likelier it looks as it does with a root there than without: exp(log-odds), 1
// where it does not show the place.

/// Chance of a root at a place on a wall's first photo, before it is asked: cuttings are stuck without roots.
constexpr float kAtFirst = 0.01F;

/// What the other photos add, at each place, to one photo's own log-odds of a root.
/// @param before  chance of a root on the photo, by those before it.
/// @param later   weights of the photos after it that are asked, in order of date.
/// @param usual   as usualLogOdds gives it for the photo.
/// @param add     written, `count` places.
void fromOthers(const float* before, const std::vector<const float*>& later, int count, float usual,
                const ComeAndGo& rates, float* add);

/// From the chance of a root before one photo is asked to that before the next one is.
/// @param weight  the photo's; null where it says nothing of any place.
void stepOn(float* before, const float* weight, int count, const ComeAndGo& rates);

/// Log-odds of a root at a place of which a photo says nothing, before any photo is asked.
float usualLogOdds(const ComeAndGo& rates, bool first_photo);

}  // namespace slipglass
