#pragma once
#include <opencv2/core/mat.hpp>
#include <optional>
#include <vector>

#include "slipglass/roots/find_roots.h"

namespace slipglass {

/// What a layer may weigh of each panel pixel: a plane a feature, CV_32F, the panel's size. First what the
/// network's own last layer sees; then today's L*, a*, b* and the past's, each against the median of
/// what is visible: a batch's fibres or dirt are often told by colour alone.
std::vector<cv::Mat> rootFeatures(const Panel& panel, const std::optional<EarlierPanel>& past);

/// The last layer as the network came with it: without weight on colours.
const RootLayer& shippedRootLayer();

/// Log-odds of a root, CV_32F, from the features of a panel.
/// @throws std::invalid_argument when the layer has not a weight for each feature (our bug).
cv::Mat rootLogOdds(const std::vector<cv::Mat>& features, const RootLayer& layer);

}  // namespace slipglass
