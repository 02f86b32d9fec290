#pragma once
#include <opencv2/core/mat.hpp>

#include "slipglass/panel/panel.h"

namespace slipglass {

/// How well the picture shows the wall.
struct Quality {
    double sharpness = 0;      ///< 0 blurred .. 1 sharp
    double glare_percent = 0;  ///< share of the wall lost to glare
    double in_frame = 1;       ///< share of the front wall's area that lies within the picture
};
Quality qualityOf(const Panel& panel, const cv::Mat& bgr, double reduction);

}  // namespace slipglass
