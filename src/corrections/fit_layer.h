#pragma once
#include <vector>

#include "slipglass/corrections/lesson.h"

namespace slipglass {

/// A lesson and how often it counts.
struct Counted {
    const Lesson* lesson;
    double times;
};

/// The layer that fits the lessons best; see fittedLayer().
RootLayer fitted(const std::vector<Counted>& lessons, const RootLayer& shipped, double caution);

/// Log loss of a layer on lessons, strokes and what was left alone by their area: what it would cost to be
/// taken at its word there.
double lossOn(const std::vector<Counted>& lessons, const RootLayer& layer, const RootLayer& shipped);

}  // namespace slipglass
