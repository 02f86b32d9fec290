#include "slipglass/corrections/learn.h"

#include <ceres/ceres.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <opencv2/imgproc.hpp>

#include "slipglass/corrections/on_panel.h"
#include "slipglass/panel/in_mask.h"
#include "slipglass/roots/root_layer.h"

namespace slipglass {

namespace {

/// Panel px of a stroke that counts in full: 15 mm along a root of 0.6 mm. Guess.
constexpr double kFullStroke_px = 400;
constexpr int kMostRows =
    300;  // kept of a stroke, or of a range of what was left alone: neighbours tell the same
/// A hand does not keep to a root's edge: of a stroke 'root', its inner half is learnt from. Guess.
constexpr double kInnerShare = 0.5;
/// Tried, the most cautious first.
constexpr double kCautions[] = {30, 10, 3, 1, 0.5};
constexpr size_t kMostFolds = 8;
/// Share of left-out strokes that must be said better, or chance could have done it. Guess.
constexpr double kHair = 0.02;
/// Least area of root to learn from, panel px: 75 mm of a root of 0.6 mm. Guess.
constexpr double kLeastRoots_px = 2000;
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

/// Log loss of a logit against a target 0..1, without overflow.
double lossOf(double logit, double target)
{
    return std::max(logit, 0.0) - logit * target + std::log1p(std::exp(-std::abs(logit)));
}

/// Rows of features that count together.
struct Group {
    const cv::Mat* rows;
    double weight;               ///< of each row
    std::optional<double> root;  ///< 1 or 0; empty: as the shipped layer says
};

double weightOf(const StrokePixels& stroke)
{
    return std::min(1.0, stroke.area_px / kFullStroke_px);
}

/// A lesson and how often it counts.
struct Counted {
    const Lesson* lesson;
    double times;
};

/// @param folds  parts the corrected photos are in; one may be left out.
std::vector<Counted> counted(const std::vector<std::vector<const Lesson*>>& folds,
                             std::optional<size_t> left_out, const std::vector<Lesson>& elsewhere)
{
    std::vector<Counted> all;
    for (size_t i = 0; i < folds.size(); ++i)
        if (i != left_out)
            for (const Lesson* lesson : folds[i]) all.push_back({lesson, 1});
    const double times =
        static_cast<double>(all.size()) / static_cast<double>(std::max<size_t>(1, elsewhere.size()));
    for (const Lesson& lesson : elsewhere) all.push_back({&lesson, times});
    return all;
}

std::vector<Group> groupsOf(const std::vector<Counted>& lessons, double caution)
{
    std::vector<Group> groups;
    for (const auto& [lesson, times] : lessons) {
        for (const StrokePixels& stroke : lesson->strokes)
            groups.push_back(
                {&stroke.features, times * weightOf(stroke) / stroke.features.rows, stroke.root ? 1.0 : 0.0});
        for (const UntouchedPixels& left : lesson->untouched)
            groups.push_back({&left.features,
                              times * caution * left.area_px / kFullStroke_px / left.features.rows,
                              std::nullopt});
    }
    return groups;
}

/// The rows of all groups, ready for the solver.
struct Table {
    std::vector<double> features;  ///< scaled to mean 0, standard deviation 1; row after row
    std::vector<double> logit;     ///< by the shipped layer
    std::vector<double> target, weight;
    std::vector<double> mean, spread;
};

Table tableOf(const std::vector<Group>& groups, const RootLayer& shipped)
{
    const size_t count = shipped.weights.size();
    Table table;
    table.mean.assign(count, 0);
    table.spread.assign(count, 0);
    double weights = 0;
    for (const Group& group : groups)
        for (int r = 0; r < group.rows->rows; ++r) {
            const auto* row = group.rows->ptr<float>(r);
            weights += group.weight;
            for (size_t k = 0; k < count; ++k) {
                table.mean[k] += group.weight * row[k];
                table.spread[k] += group.weight * row[k] * row[k];
            }
            table.logit.push_back(logitOf(row, shipped));
            table.target.push_back(group.root.value_or(probabilityOf(table.logit.back())));
            table.weight.push_back(group.weight);
        }
    for (size_t k = 0; k < count; ++k) {
        table.mean[k] /= weights;
        table.spread[k] = std::sqrt(std::max(0.0, table.spread[k] / weights - table.mean[k] * table.mean[k]));
    }
    for (const Group& group : groups)
        for (int r = 0; r < group.rows->rows; ++r)
            for (size_t k = 0; k < count; ++k) {
                // A feature that never changes here has nothing to teach.
                const double off = group.rows->at<float>(r, static_cast<int>(k)) - table.mean[k];
                table.features.push_back(table.spread[k] > 1e-6 ? off / table.spread[k] : 0);
            }
    return table;
}

/// Parameters: change of the logit for each scaled feature, then for all.
class Loss : public ceres::FirstOrderFunction {
public:
    Loss(const Table& table, double caution) : table_(table), caution_(caution) {}

    bool Evaluate(const double* change, double* cost, double* gradient) const override
    {
        const size_t count = table_.mean.size();
        std::vector<double> slope(count + 1, 0);
        double sum = 0;
        for (size_t r = 0; r < table_.logit.size(); ++r) {
            const double* z = &table_.features[r * count];
            double logit = table_.logit[r] + change[count];
            for (size_t k = 0; k < count; ++k) logit += change[k] * z[k];
            sum += table_.weight[r] * lossOf(logit, table_.target[r]);
            const double error = table_.weight[r] * (probabilityOf(logit) - table_.target[r]);
            for (size_t k = 0; k < count; ++k) slope[k] += error * z[k];
            slope[count] += error;
        }
        for (size_t k = 0; k <= count; ++k) {
            sum += caution_ / 2 * change[k] * change[k];
            slope[k] += caution_ * change[k];
            if (gradient) gradient[k] = slope[k];
        }
        *cost = sum;
        return std::isfinite(sum);
    }
    int NumParameters() const override { return static_cast<int>(table_.mean.size()) + 1; }

private:
    const Table& table_;
    double caution_;
};

RootLayer fitted(const std::vector<Counted>& lessons, const RootLayer& shipped, double caution)
{
    const Table table = tableOf(groupsOf(lessons, caution), shipped);
    if (table.logit.empty()) return shipped;
    const size_t count = shipped.weights.size();
    std::vector<double> change(count + 1, 0);
    const ceres::GradientProblem problem(new Loss(table, caution));
    ceres::GradientProblemSolver::Options options;
    options.logging_type = ceres::SILENT;
    options.max_num_iterations = 200;
    options.function_tolerance = 1e-9;
    ceres::GradientProblemSolver::Summary summary;
    ceres::Solve(options, problem, change.data(), &summary);
    RootLayer layer = shipped;
    layer.bias += change[count];
    for (size_t k = 0; k < count; ++k) {
        if (table.spread[k] <= 1e-6) continue;
        layer.weights[k] += change[k] / table.spread[k];
        layer.bias -= change[k] / table.spread[k] * table.mean[k];
    }
    return layer;
}

/// Log loss of a layer on lessons, strokes and what was left alone by their area: what it would cost to be
/// taken at its word there.
double lossOn(const std::vector<Counted>& lessons, const RootLayer& layer, const RootLayer& shipped)
{
    double sum = 0;
    for (const Group& group : groupsOf(lessons, 1))
        for (int r = 0; r < group.rows->rows; ++r) {
            const auto* row = group.rows->ptr<float>(r);
            const double target = group.root.value_or(probabilityOf(logitOf(row, shipped)));
            sum += group.weight * lossOf(logitOf(row, layer), target);
        }
    return sum;
}

/// What a layer says of lessons against what they say.
class Tally {
public:
    Tally(const RootLayer& shipped, double min_probability) : shipped_(shipped), threshold_(min_probability)
    {
    }

    void add(const Lesson& lesson, const RootLayer& layer)
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

    StrokeAgreement agreement()
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

private:
    bool says(const RootLayer& layer, const cv::Mat& features, int row) const
    {
        return probabilityOf(logitOf(features.ptr<float>(row), layer)) > threshold_;
    }
    const RootLayer& shipped_;
    double threshold_, left_ = 0, otherwise_ = 0;
    std::map<bool, double> all_, right_;  // by what the strokes say
};

/// Lessons in as many parts as there are photos, but not too many: each is left out once.
std::vector<std::vector<const Lesson*>> foldsOf(const std::vector<Lesson>& lessons)
{
    std::map<std::string, std::vector<const Lesson*>> by_photo;
    for (const Lesson& lesson : lessons)
        if (!lesson.strokes.empty()) by_photo[lesson.photo].push_back(&lesson);
    std::vector<std::vector<const Lesson*>> folds(std::min(by_photo.size(), kMostFolds));
    size_t next = 0;
    for (const auto& [photo, of_photo] : by_photo) {
        auto& fold = folds[next++ % folds.size()];
        fold.insert(fold.end(), of_photo.begin(), of_photo.end());
    }
    return folds;
}

/// Panel px of root in all lessons, drawn or said by the shipped layer.
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
    const cv::Mat left = panel.frontal & ~drawn, probability = rootProbability(features, shipped);
    for (size_t i = 0; i + 1 < std::size(kRanges); ++i) {
        const cv::Mat range = left & (probability >= kRanges[i]) & (probability < kRanges[i + 1]);
        UntouchedPixels pixels{sampled(features, range), cv::countNonZero(range)};
        if (pixels.area_px > 0) lesson.untouched.push_back(std::move(pixels));
    }
    return lesson;
}

RootLayer fittedLayer(const Lessons& lessons, const RootLayer& shipped, double caution)
{
    return fitted(counted(foldsOf(lessons.corrected), std::nullopt, lessons.elsewhere), shipped, caution);
}

StrokeAgreement agreementOf(const std::vector<Lesson>& lessons, const RootLayer& layer,
                            const RootLayer& shipped, double min_probability)
{
    Tally tally(shipped, min_probability);
    for (const Lesson& lesson : lessons) tally.add(lesson, layer);
    return tally.agreement();
}

Learnt learn(const Lessons& lessons, const RootLayer& shipped, double min_probability)
{
    const auto folds = foldsOf(lessons.corrected);
    Learnt learnt;
    learnt.layer = shipped;
    learnt.held_out_before = agreementOf(lessons.corrected, shipped, shipped, min_probability);
    learnt.held_out_after = learnt.held_out_before;
    if (folds.size() < 2) {
        learnt.why_not =
            "strokes on two photos or more are needed, since what is learnt on one is tried on another";
        return learnt;
    }
    if (rootArea(lessons, shipped, min_probability) < kLeastRoots_px) {
        learnt.why_not =
            "there is hardly a root on these photos, and from what is no root alone it would learn that "
            "nothing is; add photos with roots";
        return learnt;
    }
    double least = 0;
    for (const auto& fold : folds)
        least += lossOn(counted({fold}, std::nullopt, lessons.elsewhere), shipped, shipped);
    for (const double caution : kCautions) {
        double loss = 0;
        Tally tally(shipped, min_probability);
        for (size_t i = 0; i < folds.size(); ++i) {
            const RootLayer layer = fitted(counted(folds, i, lessons.elsewhere), shipped, caution);
            loss += lossOn(counted({folds[i]}, std::nullopt, lessons.elsewhere), layer, shipped);
            for (const Lesson* lesson : folds[i]) tally.add(*lesson, layer);
        }
        if (loss >= least) continue;
        least = loss;
        learnt.caution = caution;
        learnt.held_out_after = tally.agreement();
    }
    if (learnt.caution > 0) learnt.layer = fittedLayer(lessons, shipped, learnt.caution);
    const auto worse = [](const std::optional<double>& before, const std::optional<double>& after) {
        return before && *after < *before - kHair;
    };
    const StrokeAgreement &before = learnt.held_out_before, &after = learnt.held_out_after;
    if (*after.right <= *before.right + kHair)
        learnt.why_not = "on photos left out, what was learnt does no better than the map as it was";
    else if (worse(before.roots_right, after.roots_right))
        learnt.why_not = "on photos left out, what was learnt misses more roots than the map as it was";
    else if (worse(before.rest_right, after.rest_right))
        learnt.why_not =
            "on photos left out, what was learnt takes more for roots that is none than the map as it was";
    return learnt;
}

}  // namespace slipglass
