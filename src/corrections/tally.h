#pragma once
#include <map>

#include "slipglass/corrections/lesson.h"
#include "slipglass/corrections/taught.h"

namespace slipglass {

/// What a layer makes of one row of features.
double logitOf(const float* features, const RootLayer& layer);
double probabilityOf(double logit);

/// Panel px that count in full: 15 mm along a root of 0.6 mm. Guess.
constexpr double kFullStroke_px = 400;
/// How much a stroke counts, 0..1.
double weightOf(const StrokePixels& stroke);

/// What a layer says of lessons against what they say.
class Tally {
public:
    Tally(const RootLayer& shipped, double min_probability) : shipped_(shipped), threshold_(min_probability)
    {
    }

    void add(const Lesson& lesson, const RootLayer& layer);
    StrokeAgreement agreement();

private:
    bool says(const RootLayer& layer, const cv::Mat& features, int row) const;

    const RootLayer& shipped_;
    double threshold_, left_ = 0, otherwise_ = 0;
    std::map<bool, double> all_, right_;  // by what the strokes say
};

/// Panel px of root in all lessons, drawn or said by the shipped layer.
double rootArea(const Lessons& lessons, const RootLayer& shipped, double min_probability);

}  // namespace slipglass
