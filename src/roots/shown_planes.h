#pragma once
#include <opencv2/core/mat.hpp>
#include <optional>

#include "slipglass/roots/find_roots.h"

namespace slipglass {

/// What the network is shown of a panel, as it was while it learned (LocalLight in
/// src/roots/training/model.py): thirteen planes in steps of kPlaneStep, laid by fours as Network::run takes
/// them. B, G, R of today, then of the past, 0..1, 0 where nothing is visible; of the same six the half, with
/// the light evened out over about 14 mm; and how much of the past is visible there.
cv::Mat shownPlanes(const Panel& panel, const std::optional<EarlierPanel>& past);

}  // namespace slipglass
