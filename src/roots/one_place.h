#pragma once
#include <vector>

namespace slipglass {

/// How roots come and go at one place of a wall, from photo to photo.
struct ComeAndGo {
    float appears, vanishes;
};

/// What the other photos of a wall add, at one place of it, to each photo's own log-odds of a root there:
/// forward-backward over the photos (see readTogether).
/// @param said         each photo's log-odds, in order of date; 0 = it does not show the place.
/// @param from_others  written, one entry a photo; the caller's, so that its memory is used again.
void readOnePlace(const std::vector<float>& said, const ComeAndGo& rates, std::vector<float>& from_others);

/// Log-odds of a root at a place of which a photo says nothing, before any photo is asked.
float usualOdds(const ComeAndGo& rates, bool first_photo);

}  // namespace slipglass
