// Patches of a panel's grains found again on another panel.
#pragma once
#include <opencv2/core/mat.hpp>
#include <vector>

#include "slipglass/panel/align.h"

namespace slipglass {

/// Detail of a panel's lightness between grains and panel, each part brought to like contrast: light and
/// wetness drop out.
struct Grains {
    double scale = 0;  ///< of the panel's size
    cv::Mat detail;    ///< CV_16SC1, in hundredths of how far lightness goes to and fro around a place
    cv::Mat visible, frontal;  ///< the panel's, at this scale
};

struct PanelGrains {
    Grains half, quarter;

    explicit PanelGrains(const Panel& panel);
};

struct Patch {
    double x, y;    ///< centre in today's panel, px
    double dx, dy;  ///< how much further on the same grains lie in the earlier panel, px
    double score;   ///< correlation, -1..1
};

/// @param reach_px  how far around the guess is looked, px of the panel.
/// @param apart  from patch to patch, in halves of one.
std::vector<Patch> matchPatches(const Grains& today, const Grains& earlier, const Drift& guess,
                                double reach_px, int apart);

}  // namespace slipglass
