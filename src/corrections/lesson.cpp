#include "slipglass/corrections/lesson.h"

#include <algorithm>
#include <opencv2/core.hpp>

#include "slipglass/corrections/on_panel.h"
#include "slipglass/panel/in_mask.h"
#include "slipglass/roots/root_layer.h"

namespace slipglass {

namespace {

constexpr int kMostRows =
    300;  // kept of a stroke, or of a range of what was left alone: neighbours tell the same
/// A hand does not keep to a root's edge: of a stroke 'root', its inner half is learnt from. Guess.
constexpr double kInnerShare = 0.5;
/// Ranges of the shipped probability that are sampled apart: most of a wall is plainly no root, and what can
/// change lies between.
constexpr double kRanges[] = {0, 0.01, 0.1, 0.3, 0.45, 0.7, 0.9, 1.01};

/// Rows of features at an even sample of a mask's pixels.
cv::Mat sampled(const std::vector<cv::Mat>& features, const cv::Mat& mask)
{
    std::vector<cv::Point> at;
    if (cv::countNonZero(mask)) cv::findNonZero(mask, at);
    const size_t count = std::min(at.size(), static_cast<size_t>(kMostRows));
    cv::Mat rows(static_cast<int>(count), static_cast<int>(features.size()), CV_32F);
    for (size_t i = 0; i < count; ++i)
        for (size_t k = 0; k < features.size(); ++k)
            rows.at<float>(static_cast<int>(i), static_cast<int>(k)) =
                features[k].at<float>(at[i * at.size() / count]);
    return rows;
}

}  // namespace

Lesson lessonFrom(const Panel& panel, const std::vector<cv::Mat>& features, const RootLayer& shipped,
                  const std::vector<Stroke>& strokes)
{
    Lesson lesson;
    const PaintedPanel painted = paintedOnPanel(panel, strokes);
    for (const Stroke& stroke : strokes) {
        const cv::Mat& holds = stroke.root ? painted.root : painted.not_root;
        const cv::Mat under = strokeOnPanel(panel, stroke, stroke.root ? kInnerShare : 1) & holds;
        StrokePixels pixels{stroke.root, sampled(features, under), cv::countNonZero(under)};
        if (pixels.area_px > 0) lesson.strokes.push_back(std::move(pixels));
    }
    const cv::Mat drawn = dilated(painted.root | painted.not_root, 3);
    const cv::Mat left = panel.frontal & ~drawn;
    cv::Mat probability;
    cv::exp(-rootLogOdds(features, shipped), probability);
    probability = 1 / (1 + probability);
    for (size_t i = 0; i + 1 < std::size(kRanges); ++i) {
        const cv::Mat range = left & (probability >= kRanges[i]) & (probability < kRanges[i + 1]);
        UntouchedPixels pixels{sampled(features, range), cv::countNonZero(range)};
        if (pixels.area_px > 0) lesson.untouched.push_back(std::move(pixels));
    }
    return lesson;
}

}  // namespace slipglass
