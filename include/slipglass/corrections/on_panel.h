#pragma once
#include <opencv2/core/mat.hpp>
#include <optional>
#include <vector>

#include "slipglass/corrections/correction.h"
#include "slipglass/panel/panel.h"

namespace slipglass {

/// Panel pixels under a stroke, CV_8UC1 0/255, the panel's size; at least the pixels its line runs through.
/// @param width_share  of the stroke's width.
cv::Mat strokeOnPanel(const Panel& panel, const Stroke& stroke, double width_share = 1);

/// What all strokes together say, CV_8UC1 0/255. No pixel is both.
struct PaintedPanel {
    cv::Mat root, not_root;
};
PaintedPanel paintedOnPanel(const Panel& panel, const std::vector<Stroke>& strokes);

/// Height above the inner base of a level line drawn on the wall, in the panel's unit, 0 or more: the median
/// over its points. 0 for no points; empty when none of them lies on the wall.
std::optional<double> levelOnPanel(const Panel& panel, const std::vector<PhotoPoint>& line);

}  // namespace slipglass
