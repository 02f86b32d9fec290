#include "tally.h"

#include <algorithm>
#include <cmath>

namespace slipglass {

double logitOf(const float* features, const RootLayer& layer)
{
    double sum = layer.bias;
    for (size_t k = 0; k < layer.weights.size(); ++k) sum += layer.weights[k] * features[k];
    return sum;
}

double probabilityOf(double logit)
{
    return 1 / (1 + std::exp(-logit));
}

double weightOf(const StrokePixels& stroke)
{
    return std::min(1.0, stroke.area_px / kFullStroke_px);
}

bool Tally::says(const RootLayer& layer, const cv::Mat& features, int row) const
{
    return probabilityOf(logitOf(features.ptr<float>(row), layer)) > threshold_;
}

void Tally::add(const Lesson& lesson, const RootLayer& layer)
{
    for (const StrokePixels& stroke : lesson.strokes) {
        int agreed = 0;
        for (int r = 0; r < stroke.features.rows; ++r) {
            agreed += says(layer, stroke.features, r) == stroke.root;
        }
        all_[stroke.root] += weightOf(stroke);
        right_[stroke.root] += weightOf(stroke) * agreed / stroke.features.rows;
    }
    for (const UntouchedPixels& left : lesson.untouched)
        for (int r = 0; r < left.features.rows; ++r) {
            const double area = static_cast<double>(left.area_px) / left.features.rows;
            left_ += area;
            if (says(layer, left.features, r) != says(shipped_, left.features, r)) otherwise_ += area;
        }
}

StrokeAgreement Tally::agreement()
{
    StrokeAgreement result;
    if (all_[true] > 0) result.roots_right = right_[true] / all_[true];
    if (all_[false] > 0) result.rest_right = right_[false] / all_[false];
    result.right = result.roots_right && result.rest_right
                       ? (*result.roots_right + *result.rest_right) / 2
                       : (result.roots_right ? result.roots_right : result.rest_right);
    if (left_ > 0) result.otherwise = otherwise_ / left_;
    return result;
}

double rootArea(const Lessons& lessons, const RootLayer& shipped, double min_probability)
{
    double area = 0;
    for (const auto* part : {&lessons.corrected, &lessons.elsewhere})
        for (const Lesson& lesson : *part) {
            for (const StrokePixels& stroke : lesson.strokes) area += stroke.root ? stroke.area_px : 0;
            for (const UntouchedPixels& left : lesson.untouched)
                for (int r = 0; r < left.features.rows; ++r)
                    if (probabilityOf(logitOf(left.features.ptr<float>(r), shipped)) > min_probability)
                        area += static_cast<double>(left.area_px) / left.features.rows;
        }
    return area;
}

}  // namespace slipglass
