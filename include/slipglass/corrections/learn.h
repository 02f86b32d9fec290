#pragma once
#include <string>
#include <vector>

#include "slipglass/corrections/lesson.h"
#include "slipglass/corrections/taught.h"

namespace slipglass {

/// Logistic regression of the strokes, pulled towards the shipped layer.
///
/// Strokes are drawn where the map is wrong, so they alone would teach it that it is always wrong. What was
/// left alone is learnt too, with the shipped layer's own word for it and all of its area: at caution 1 a
/// pixel of it counts as much as one drawn on, at caution 10 ten times as much. A stroke counts by its area
/// up to a cap. The squared change of each weight, in standard deviations of its feature, is held down by
/// caution as well. Few strokes change little. Deterministic.
/// @param caution  > 0.
RootLayer fittedLayer(const Lessons& lessons, const RootLayer& shipped, double caution);

/// What a layer says of the strokes against what they say, each stroke counted as fittedLayer() does.
StrokeAgreement agreementOf(const std::vector<Lesson>& lessons, const RootLayer& layer,
                            const RootLayer& shipped, double min_probability);

/// A layer learnt from all lessons, and how layers learnt so do on photos left out of the lessons.
struct Learnt {
    RootLayer layer;
    double caution =
        0;  ///< that which did best on left-out photos; 0: none did better than the shipped layer
    StrokeAgreement held_out_before, held_out_after;
    std::string why_not;  ///< for people; empty when it is better on left-out photos, by more than a hair
};

/// The layer is the shipped one where there is too little to learn from: strokes on fewer than two photos,
/// none of which could be left out to try the lesson on, or hardly a root on all of them.
Learnt learn(const Lessons& lessons, const RootLayer& shipped, double min_probability);

}  // namespace slipglass
