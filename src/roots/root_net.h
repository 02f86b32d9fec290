#pragma once
#include <opencv2/core/mat.hpp>
#include <optional>

#include "slipglass/roots/find_roots.h"

namespace slipglass {

/// What the learned root map says of a panel.
struct NetReading {
    cv::Mat root;     ///< each pixel shows a root, white or browned: CV_32F log-odds, same size as the panel
    cv::Mat browned;  ///< each pixel shows a browned root, likewise
    WaterEvidence water;
};

/// Runs the shipped network (src/roots/training/README.md) on a panel of 0.15 mm a pixel.
/// @param taught  its last layer for roots, if another than the shipped one.
NetReading runNetwork(const Panel& panel, const std::optional<EarlierPanel>& past,
                      const std::optional<RootLayer>& taught);

/// The same for water alone.
WaterEvidence waterByNetwork(const Panel& panel, const std::optional<EarlierPanel>& past);

}  // namespace slipglass
