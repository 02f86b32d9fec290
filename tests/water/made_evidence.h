#pragma once
// Evidence laid on a panel as a perfect network would give it for a known surface.
#include <cmath>
#include <functional>

#include "../support/drawn_tub.h"
#include "slipglass/panel/panel.h"
#include "slipglass/panel/water_evidence.h"

namespace slipglass::test {

constexpr double kMediumTopMm = 100;

/// The wall of a drawn tub, seen down to the heel; 801 columns show 76 degrees to either side.
inline Panel wallPanel(int columns = 801)
{
    Panel panel;
    panel.inner = innerWall(standing(6, 0));
    panel.unit_per_px = 0.15;
    panel.px_per_unit = 4.4;
    panel.top = 103;
    panel.in_mm = true;
    panel.bgr = cv::Mat::zeros(static_cast<int>(105 / panel.unit_per_px), columns, CV_8UC3);
    panel.wall = cv::Mat::zeros(panel.bgr.size(), CV_8U);
    panel.wall.rowRange(static_cast<int>(panel.rowAt(kMediumTopMm)), static_cast<int>(panel.rowAt(1.4)))
        .setTo(255);
    panel.visible = panel.wall.clone();
    panel.frontal = panel.wall.clone();
    return panel;
}

/// Hidden from one height to another where `there` says so of the place round the wall, mm.
inline void hide(
    Panel& panel, double from_mm, double to_mm,
    const std::function<bool(double)>& there = [](double) { return true; })
{
    for (int r = 0; r < panel.visible.rows; ++r)
        for (int c = 0; c < panel.visible.cols; ++c) {
            const PanelPoint at = panel.pointAt(c, r);
            if (at.y >= from_mm && at.y <= to_mm && there(at.x)) panel.visible.at<uchar>(r, c) = 0;
        }
    panel.frontal &= panel.visible;
}

inline double logistic(double logit)
{
    return 1 / (1 + std::exp(-logit));
}

/// The same everywhere.
inline WaterEvidence evenEvidence(const Panel& panel, double below, double line = 0.02)
{
    const cv::Size cells((panel.bgr.cols + 3) / 4, (panel.bgr.rows + 3) / 4);
    return {cv::Mat(cells, CV_32F, cv::Scalar(below)), cv::Mat(cells, CV_32F, cv::Scalar(line))};
}

inline WaterEvidence dry(const Panel& panel)
{
    return evenEvidence(panel, 0.02);
}

/// How high the surface lies at a place round the wall, mm; below it `sure`, the line as broad as one is
/// drawn in training.
inline WaterEvidence poured(const Panel& panel, const std::function<double(double)>& surface,
                            double sure = 0.98, double line = 0.6)
{
    WaterEvidence evidence = dry(panel);
    for (int r = 0; r < evidence.below.rows; ++r)
        for (int c = 0; c < evidence.below.cols; ++c) {
            const PanelPoint at = panel.pointAt(4 * c + 1.5, 4 * r + 1.5);
            const double under = surface(at.x) - at.y;
            evidence.below.at<float>(r, c) =
                static_cast<float>(0.02 + (sure - 0.02) * logistic(under / 0.15));
            evidence.line.at<float>(r, c) =
                static_cast<float>(0.02 + line * std::exp(-std::pow(under / 0.45, 2)));
        }
    return evidence;
}

inline WaterEvidence poured(const Panel& panel, double level_mm)
{
    return poured(panel, [=](double) { return level_mm; });
}

}  // namespace slipglass::test
