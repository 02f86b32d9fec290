#pragma once
#include <opencv2/core/mat.hpp>
#include <optional>

#include "slipglass/roots/find_roots.h"

namespace slipglass {

/// What the learned root map says of each panel pixel, CV_32F 0..1, same size as the panel.
struct RootProbability {
    cv::Mat root;     ///< shows a root, white or browned
    cv::Mat browned;  ///< shows a browned root
};

/// Runs the shipped network (docs/root-map.md) on a panel of 0.15 mm a pixel.
/// @param taught  its last layer for roots, if another than the shipped one.
RootProbability rootProbability(const Panel& panel, const std::optional<EarlierPanel>& first,
                                const std::optional<RootLayer>& taught);

}  // namespace slipglass
