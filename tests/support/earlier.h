#pragma once
// A look at a photo as later photos are shown it.
#include "slipglass/observe.h"

namespace slipglass::test {

inline EarlierView earlier(const Look& look, const std::string& side = "first")
{
    OnSide place = look.place;
    if (place.side.empty()) place.side = side;
    return {place, look.panel->in_mm, look.light, [panel = look.panel] { return panel; }, look.root_share};
}

}  // namespace slipglass::test
