#pragma once
// A drawn tub, placed where it was drawn, and its panel.
#include "drawn_tub.h"
#include "slipglass/panel/panel.h"

namespace slipglass::test {

inline Tub placed(const DrawnTub& drawn)
{
    Tub tub;
    tub.pose = drawn.pose;
    tub.in_mm = true;
    tub.surface_angles = {-1, 1};
    tub.surface_z = {drawn.surface_mm, drawn.surface_mm};
    tub.confidence = 1;
    return tub;
}

inline Panel panelOf(const DrawnTub& drawn)
{
    return unrollWall(drawTub(drawn), 1, placed(drawn), {});
}

}  // namespace slipglass::test
