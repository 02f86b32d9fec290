#pragma once
#include <opencv2/core/mat.hpp>
#include <optional>
#include <string>
#include <vector>

#include "slipglass/corrections/correction.h"
#include "slipglass/corrections/taught.h"
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

/// Logistic regression of the strokes, pulled towards the shipped layer.
///
/// Strokes are drawn where the map is wrong, so they alone would teach it that it is always wrong. What was
/// left alone is learnt too, with the shipped layer's own word for it and all of its area: at caution 1 a
/// pixel of it counts as much as one drawn on, at caution 10 ten times as much. A stroke counts by its area
/// up to a cap. The squared change of each weight, in standard deviations of its feature, is held down by
/// caution as well. Few strokes change little. Deterministic.
/// @param caution  > 0.
RootLayer fittedLayer(const Lessons& lessons, const RootLayer& shipped, double caution);

/// What a layer says of the strokes against what they say, each stroke counted as fittedLayer() does.
StrokeAgreement agreementOf(const std::vector<Lesson>& lessons, const RootLayer& layer,
                            const RootLayer& shipped, double min_probability);

/// A layer learnt from all lessons, and how layers learnt so do on photos left out of the lessons.
struct Learnt {
    RootLayer layer;
    double caution =
        0;  ///< that which did best on left-out photos; 0: none did better than the shipped layer
    StrokeAgreement held_out_before, held_out_after;
    std::string why_not;  ///< for people; empty when it is better on left-out photos, by more than a hair
};

/// The layer is the shipped one where there is too little to learn from: strokes on fewer than two photos,
/// none of which could be left out to try the lesson on, or hardly a root on all of them.
Learnt learn(const Lessons& lessons, const RootLayer& shipped, double min_probability);

}  // namespace slipglass
