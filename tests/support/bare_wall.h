#pragma once
// A wall for the tests of roots: drawn pixel by pixel, so that what is on it is known.
#include <opencv2/core.hpp>

#include "slipglass/wall/wall_history.h"

namespace slipglass::test {

constexpr int kWide = 301, kHigh = 201;
constexpr double kScale = 0.15;  // mm per px
const cv::Size kReference{kWide, kHigh};

/// All of it in sight, lying on its side's reference panel as it is.
inline WallView bareWall()
{
    WallView view;
    view.panel.bgr = cv::Mat::zeros(kHigh, kWide, CV_8UC3);
    view.panel.wall = cv::Mat(kHigh, kWide, CV_8U, cv::Scalar(255));
    view.panel.visible = view.panel.wall.clone();
    view.panel.frontal = view.panel.wall.clone();
    view.panel.unit_per_px = kScale;
    view.panel.top = kHigh * kScale;
    view.panel.in_mm = true;
    view.to_reference = Drift{kReference, {}, {}};
    return view;
}

}  // namespace slipglass::test
