#include "fit_layer.h"

#include <ceres/ceres.h>

#include <algorithm>
#include <cmath>
#include <optional>

#include "tally.h"

namespace slipglass {

namespace {

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

}  // namespace

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

}  // namespace slipglass
