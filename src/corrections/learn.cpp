#include "slipglass/corrections/learn.h"

#include <ceres/ceres.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <opencv2/imgproc.hpp>

#include "slipglass/corrections/on_panel.h"

namespace slipglass {

namespace {

/// Panel px of a stroke that counts in full: 15 mm along a root of 0.6 mm. Guess.
constexpr double kFullStroke_px = 400;
constexpr int kMostOfStroke = 200, kMostUntouched = 1000;  // rows kept: neighbours tell the same
/// What was left alone against what was drawn on. Guess.
constexpr double kUntouchedShare = 0.5;
/// A hand does not keep to a root's edge: of a stroke 'root', its inner half is learnt from. Guess.
constexpr double kInnerShare = 0.5;
/// Pulls tried. Weaker ones let a dozen strokes turn the whole map over.
constexpr double kCautions[] = {100, 30, 10, 3, 1, 0.3, 0.1};
constexpr size_t kMostFolds = 8;
/// Share by which left-out strokes must be said better, or chance could have done it. Guess.
constexpr double kHair = 0.01;

/// Rows of features at an even sample of a mask's pixels.
cv::Mat sampled(const std::vector<cv::Mat>& features, const cv::Mat& mask, int most)
{
    std::vector<cv::Point> at;
    if (cv::countNonZero(mask)) cv::findNonZero(mask, at);
    const size_t count = std::min(at.size(), static_cast<size_t>(most));
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

/// @param total  what all strokes count; empty = as much as there are.
std::vector<Group> groupsOf(const std::vector<const Lesson*>& lessons, std::optional<double> total)
{
    std::map<bool, double> strokes, untouched_rows;
    for (const Lesson* lesson : lessons) {
        for (const StrokePixels& stroke : lesson->strokes) strokes[stroke.root] += weightOf(stroke);
        untouched_rows[true] += lesson->untouched_root.rows;
        untouched_rows[false] += lesson->untouched_rest.rows;
    }
    const double all = strokes[true] + strokes[false], counts = total.value_or(all);
    std::vector<Group> groups;
    for (const Lesson* lesson : lessons) {
        for (const StrokePixels& stroke : lesson->strokes) {
            // Both kinds alike in all, where there are both.
            const bool both = strokes[true] > 0 && strokes[false] > 0;
            const double kind = (both ? 0.5 : 1.0) * counts / strokes[stroke.root];
            groups.push_back(
                {&stroke.features, kind * weightOf(stroke) / stroke.features.rows, stroke.root ? 1.0 : 0.0});
        }
        for (const bool root : {true, false}) {
            const cv::Mat& rows = root ? lesson->untouched_root : lesson->untouched_rest;
            if (!rows.empty())
                groups.push_back({&rows, kUntouchedShare * counts / 2 / untouched_rows[root], std::nullopt});
        }
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

RootLayer fitted(const std::vector<const Lesson*>& lessons, const RootLayer& shipped, double caution)
{
    const Table table = tableOf(groupsOf(lessons, std::nullopt), shipped);
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

/// Mean loss of a layer on lessons, both kinds of stroke and what was left alone weighed as in fitting.
double lossOn(const std::vector<const Lesson*>& lessons, const RootLayer& layer, const RootLayer& shipped)
{
    double sum = 0;
    for (const Group& group : groupsOf(lessons, 1.0))
        for (int r = 0; r < group.rows->rows; ++r) {
            const auto* row = group.rows->ptr<float>(r);
            const double target = group.root.value_or(probabilityOf(logitOf(row, shipped)));
            sum += group.weight * lossOf(logitOf(row, layer), target);
        }
    return sum;
}

/// Weights of strokes, and of what of them is said right.
struct Tally {
    std::map<bool, double> all, right;

    void add(const Lesson& lesson, const RootLayer& layer, double min_probability)
    {
        for (const StrokePixels& stroke : lesson.strokes) {
            int agreed = 0;
            for (int r = 0; r < stroke.features.rows; ++r)
                agreed += (probabilityOf(logitOf(stroke.features.ptr<float>(r), layer)) > min_probability) ==
                          stroke.root;
            all[stroke.root] += weightOf(stroke);
            right[stroke.root] += weightOf(stroke) * agreed / stroke.features.rows;
        }
    }

    StrokeAgreement agreement()
    {
        StrokeAgreement result;
        if (all[true] > 0) result.roots_right = right[true] / all[true];
        if (all[false] > 0) result.rest_right = right[false] / all[false];
        result.right = result.roots_right && result.rest_right
                           ? (*result.roots_right + *result.rest_right) / 2
                           : (result.roots_right ? result.roots_right : result.rest_right);
        return result;
    }
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

std::vector<const Lesson*> allBut(const std::vector<std::vector<const Lesson*>>& folds, size_t left_out)
{
    std::vector<const Lesson*> rest;
    for (size_t i = 0; i < folds.size(); ++i)
        if (i != left_out) rest.insert(rest.end(), folds[i].begin(), folds[i].end());
    return rest;
}

std::vector<const Lesson*> pointersTo(const std::vector<Lesson>& lessons)
{
    std::vector<const Lesson*> all;
    for (const Lesson& lesson : lessons)
        if (!lesson.strokes.empty()) all.push_back(&lesson);
    return all;
}

}  // namespace

Lesson lessonFrom(const Panel& panel, const std::vector<cv::Mat>& features, const cv::Mat& said,
                  const std::vector<Stroke>& strokes)
{
    Lesson lesson;
    const PaintedPanel painted = paintedOnPanel(panel, strokes);
    for (const Stroke& stroke : strokes) {
        const cv::Mat& holds = stroke.root ? painted.root : painted.not_root;
        const cv::Mat under = strokeOnPanel(panel, stroke, stroke.root ? kInnerShare : 1) & holds;
        StrokePixels pixels{stroke.root, sampled(features, under, kMostOfStroke), cv::countNonZero(under)};
        if (pixels.area_px > 0) lesson.strokes.push_back(std::move(pixels));
    }
    cv::Mat drawn = painted.root | painted.not_root;
    cv::dilate(drawn, drawn, cv::getStructuringElement(cv::MORPH_ELLIPSE, {7, 7}));
    const cv::Mat left = panel.frontal & ~drawn;
    lesson.untouched_root = sampled(features, left & said, kMostUntouched);
    lesson.untouched_rest = sampled(features, left & ~said, kMostUntouched);
    return lesson;
}

RootLayer fittedLayer(const std::vector<Lesson>& lessons, const RootLayer& shipped, double caution)
{
    return fitted(pointersTo(lessons), shipped, caution);
}

StrokeAgreement agreementOf(const std::vector<Lesson>& lessons, const RootLayer& layer,
                            double min_probability)
{
    Tally tally;
    for (const Lesson& lesson : lessons) tally.add(lesson, layer, min_probability);
    return tally.agreement();
}

std::optional<Learnt> learn(const std::vector<Lesson>& lessons, const RootLayer& shipped,
                            double min_probability)
{
    const auto folds = foldsOf(lessons);
    if (folds.size() < 2) return std::nullopt;
    Learnt learnt;
    learnt.held_out_before = agreementOf(lessons, shipped, min_probability);
    double least = 0;
    for (const auto& fold : folds) least += lossOn(fold, shipped, shipped);
    for (const double caution : kCautions) {
        double loss = 0;
        Tally tally;
        for (size_t i = 0; i < folds.size(); ++i) {
            const RootLayer layer = fitted(allBut(folds, i), shipped, caution);
            loss += lossOn(folds[i], layer, shipped);
            for (const Lesson* lesson : folds[i]) tally.add(*lesson, layer, min_probability);
        }
        if (loss >= least) continue;
        least = loss;
        learnt.caution = caution;
        learnt.held_out_after = tally.agreement();
    }
    if (learnt.caution == 0) {  // nothing did better than the shipped layer
        learnt.layer = shipped;
        learnt.held_out_after = learnt.held_out_before;
        return learnt;
    }
    learnt.layer = fittedLayer(lessons, shipped, learnt.caution);
    learnt.better = *learnt.held_out_after.right > *learnt.held_out_before.right + kHair;
    return learnt;
}

}  // namespace slipglass
