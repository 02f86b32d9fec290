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

/// What there is to learn from one corrected tub in one photo.
struct Lesson {
    std::string photo, tub;
    std::vector<StrokePixels> strokes;
    /// An even sample of the wall that was not drawn on, rows of features: a person who has looked at this
    /// photo has left it as it was.
    cv::Mat untouched_root, untouched_rest;
};

/// @param features  as rootFeatures() gives them for the panel.
/// @param said      what the shipped layer calls root on it, CV_8UC1 0/255.
Lesson lessonFrom(const Panel& panel, const std::vector<cv::Mat>& features, const cv::Mat& said,
                  const std::vector<Stroke>& strokes);

/// Logistic regression of the strokes, pulled towards the shipped layer.
///
/// Each stroke counts by its area up to a cap, strokes 'root' as much in all as strokes 'not root', and what
/// was left alone half as much as what was drawn on, with the shipped layer's own word for it. The pull is
/// caution / 2 x the squared change of the logit, feature by feature, where each feature is by one standard
/// deviation from its mean: much caution and few strokes change little. Deterministic.
/// @param caution  > 0.
RootLayer fittedLayer(const std::vector<Lesson>& lessons, const RootLayer& shipped, double caution);

/// What a layer says of the strokes against what they say, each stroke counted as fittedLayer() does.
StrokeAgreement agreementOf(const std::vector<Lesson>& lessons, const RootLayer& layer,
                            double min_probability);

/// A layer learnt from all lessons, and how one learnt so does on lessons it was not taught.
struct Learnt {
    RootLayer layer;
    double caution = 0;  ///< chosen for the best word on left-out photos
    StrokeAgreement held_out_before, held_out_after;
    bool better = false;  ///< on left-out photos, by more than a hair
};

/// Empty when there are strokes on fewer than two photos: nothing could be left out to try it on.
std::optional<Learnt> learn(const std::vector<Lesson>& lessons, const RootLayer& shipped,
                            double min_probability);

}  // namespace slipglass
