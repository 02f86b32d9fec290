#pragma once
#include <opencv2/core/mat.hpp>
#include <string>
#include <vector>

#include "slipglass/corrections/correction.h"
#include "slipglass/panel/panel.h"
#include "slipglass/roots/find_roots.h"

namespace slipglass {

/// What the root map's last layer sees under one stroke: a row of features a panel pixel, CV_32F.
struct StrokePixels {
    bool root = true;
    cv::Mat features;
    int area_px = 0;  ///< under the stroke, of which `features` are an even sample
};

/// Wall that a person has looked at and left as it was.
struct UntouchedPixels {
    cv::Mat features;  ///< rows, CV_32F: an even sample
    int area_px = 0;
};

/// What there is to learn from one corrected tub in one photo.
struct Lesson {
    std::string photo, tub;
    std::vector<StrokePixels> strokes;
    std::vector<UntouchedPixels> untouched;  ///< by how sure the shipped layer is
};

/// @param features  as rootFeatures() gives them for the panel.
Lesson lessonFrom(const Panel& panel, const std::vector<cv::Mat>& features, const RootLayer& shipped,
                  const std::vector<Stroke>& strokes);

/// What is learnt from.
struct Lessons {
    std::vector<Lesson> corrected;
    /// Other photos of the season, without strokes: nobody has looked at them, but what the map says of them
    /// is not to change for nothing. Together they count as much as the corrected ones.
    std::vector<Lesson> elsewhere;
};

}  // namespace slipglass
