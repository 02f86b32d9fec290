#include "slipglass/statistics/curves.h"

#include <ceres/ceres.h>

#include <Eigen/SVD>

#include <algorithm>
#include <cmath>
#include <set>
#include <stdexcept>

namespace slipglass {

namespace {

/// Share of its largest singular value below which a Jacobian's smallest one says that some parameter could
/// be anything: about the root of what a double resolves.
constexpr double kLeastSettled = 1e-8;

/// log(1 + exp(u)) that does not overflow, also where Ceres differentiates it.
template <class T>
T softplus(const T& u)
{
    using std::exp;
    using std::log;
    return u > T(30.0) ? u : log(T(1.0) + exp(u));
}

template <class T>
T gompertzShare(const T& u)
{
    using std::exp;
    return u > T(50.0) ? T(0.0) : exp(-exp(u));
}

/// T is double, or the number with derivatives that Ceres puts in its place. Which curve it is follows from
/// the number of parameters, and for three of them from `kind`.
template <int Parameters, class T>
T curve([[maybe_unused]] CurveKind kind, const T* b, double x)
{
    using std::exp;
    if constexpr (Parameters == 2) {
        return b[0] + b[1] * x;
    } else {
        const T u = b[1] - b[2] * x;
        if constexpr (Parameters == 4) return b[0] * exp(-softplus(u) / b[3]);
        return kind == CurveKind::gompertz ? T(b[0] * gompertzShare(u)) : T(b[0] * exp(-softplus(u)));
    }
}

template <int Parameters>
struct Residual {
    CurveKind kind;
    CurvePoint point;
    template <class T>
    bool operator()(const T* parameters, T* residual) const
    {
        residual[0] = (point.y - curve<Parameters>(kind, parameters, point.x)) / point.sd;
        return true;
    }
};

template <int Parameters>
ceres::CostFunction* costWith(CurveKind kind, const CurvePoint& point)
{
    using Part = Residual<Parameters>;
    return new ceres::AutoDiffCostFunction<Part, 1, Parameters>(new Part{kind, point});  // Ceres owns both
}

ceres::CostFunction* costOf(CurveKind kind, const CurvePoint& point)
{
    switch (parameterCount(kind)) {
        case 2:
            return costWith<2>(kind, point);
        case 3:
            return costWith<3>(kind, point);
        default:
            return costWith<4>(kind, point);
    }
}

bool allFinite(const std::vector<double>& values)
{
    return std::all_of(values.begin(), values.end(), [](double v) { return std::isfinite(v); });
}

bool canBeFitted(CurveKind kind, const std::vector<CurvePoint>& points)
{
    std::set<double> different_x;
    for (const auto& point : points) {
        if (!allFinite({point.x, point.y, point.sd}) || point.sd <= 0) return false;
        different_x.insert(point.x);
    }
    return static_cast<int>(different_x.size()) >= parameterCount(kind);
}

ceres::Solver::Options optionsFor(CurveKind kind)
{
    ceres::Solver::Options options;
    options.linear_solver_type = ceres::DENSE_QR;
    options.logging_type = ceres::SILENT;
    options.max_num_iterations = 500;
    options.function_tolerance = 1e-18;  // down to rounding: these problems are tiny
    options.parameter_tolerance = 1e-14;
    options.gradient_tolerance = 1e-16;
    options.max_num_consecutive_invalid_steps = options.max_num_iterations;  // or Ceres writes to stderr
    if (kind == CurveKind::straight_line)
        options.initial_trust_region_radius = 1e16;  // linear: one whole step
    return options;
}

/// Of the residuals by the parameters, a row a point; columns scaled to length 1 by `scale`, so that
/// parameters of any unit count alike.
Eigen::MatrixXd scaledJacobian(ceres::Problem& problem, size_t parameters, Eigen::VectorXd& scale)
{
    ceres::CRSMatrix rows;
    problem.Evaluate({}, nullptr, nullptr, nullptr, &rows);
    using RowMajor = Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, Eigen::RowMajor>;
    const auto columns = static_cast<Eigen::Index>(parameters);
    Eigen::MatrixXd jacobian = Eigen::Map<const RowMajor>(rows.values.data(), rows.num_rows, columns);
    scale = jacobian.colwise().norm();
    for (Eigen::Index i = 0; i < columns; ++i)
        if (scale[i] > 0) jacobian.col(i) /= scale[i];
    return jacobian;
}

/// Not by ceres::Covariance, which writes to stderr where the points do not settle the parameters.
std::vector<double> standardErrors(ceres::Problem& problem, const CurveFit& fit)
{
    const auto parameters = static_cast<int>(fit.parameters.size());
    if (fit.points <= parameters) return {};
    Eigen::VectorXd scale;
    const Eigen::MatrixXd jacobian = scaledJacobian(problem, fit.parameters.size(), scale);
    if (!jacobian.allFinite()) return {};
    Eigen::JacobiSVD<Eigen::MatrixXd> svd(jacobian, Eigen::ComputeThinV);
    svd.setThreshold(kLeastSettled);
    if (svd.rank() < parameters) return {};
    const double residual_sd = std::sqrt(fit.residual_ss / (fit.points - parameters));
    std::vector<double> errors;
    for (Eigen::Index i = 0; i < parameters; ++i)
        errors.push_back(residual_sd / scale[i] *
                         svd.matrixV().row(i).transpose().cwiseQuotient(svd.singularValues()).norm());
    return allFinite(errors) ? errors : std::vector<double>{};
}

std::optional<double> correctedAkaike(const CurveFit& fit, const std::vector<CurvePoint>& points)
{
    const int k = parameterCount(fit.kind) + 1;
    const int n = fit.points;
    if (n <= k + 1) return std::nullopt;
    double size = 0;  // what rounding makes of an exact fit must not beat another exact fit
    for (const auto& point : points) size += (point.y / point.sd) * (point.y / point.sd);
    const double ss = std::max(fit.residual_ss, 1e-20 * size);
    if (ss <= 0) return std::nullopt;
    return n * std::log(ss / n) + 2.0 * k + 2.0 * k * (k + 1) / (n - k - 1);
}

void addResiduals(CurveKind kind, const std::vector<CurvePoint>& points, double* parameters,
                  ceres::Problem& problem)
{
    for (const auto& point : points) problem.AddResidualBlock(costOf(kind, point), nullptr, parameters);
}

/// Parameters and residual sum of squares; empty when the way from there leads nowhere.
std::optional<CurveFit> descend(CurveKind kind, const std::vector<CurvePoint>& points,
                                const std::vector<double>& start)
{
    CurveFit fit;
    fit.kind = kind;
    fit.parameters = start;
    fit.points = static_cast<int>(points.size());
    ceres::Problem problem;
    addResiduals(kind, points, fit.parameters.data(), problem);
    ceres::Solver::Summary summary;
    ceres::Solve(optionsFor(kind), &problem, &summary);
    fit.residual_ss = 2 * summary.final_cost;  // Ceres' cost is half of it
    if (!summary.IsSolutionUsable() || !allFinite(fit.parameters) || !std::isfinite(fit.residual_ss))
        return std::nullopt;
    return fit;
}

double largest(const std::vector<CurvePoint>& points)
{
    double most = 0;
    for (const auto& point : points) most = std::max(most, point.y);
    return most;
}

/// b2 and b3 for a given upper limit: a straight line through what makes the curve one. Points outside the
/// curve's range are moved just inside it.
std::vector<double> straightened(CurveKind kind, const std::vector<CurvePoint>& points, double upper)
{
    std::vector<CurvePoint> line;
    for (const auto& point : points) {
        const double share = std::clamp(point.y / upper, 0.02, 0.98);
        const double u = kind == CurveKind::gompertz ? std::log(-std::log(share)) : std::log(1 / share - 1);
        line.push_back({point.x, u, 1});
    }
    const auto fit = descend(CurveKind::straight_line, line, {0, 0});
    return fit ? std::vector<double>{upper, fit->parameters[0], -fit->parameters[1]} : std::vector<double>{};
}

/// Growth at `rate` that reaches half of the upper limit where the points first do.
std::vector<double> risingAt(const std::vector<CurvePoint>& points, double upper, double rate)
{
    double middle = points.front().x;
    for (const auto& point : points) {
        middle = point.x;
        if (point.y >= upper / 2) break;
    }
    return {upper, rate * middle, rate};
}

std::vector<std::vector<double>> ownStarts(CurveKind kind, std::vector<CurvePoint> points)
{
    if (kind == CurveKind::straight_line) return {{0, 0}};  // linear: any start does
    std::sort(points.begin(), points.end(), [](const auto& a, const auto& b) { return a.x < b.x; });
    const double span = points.back().x - points.front().x;
    const double most = largest(points);
    if (most <= 0) return {};
    std::vector<std::vector<double>> starts;
    for (const double upper : {1.05 * most, 2 * most}) {
        starts.push_back(straightened(kind, points, upper));
        for (const double rates_in_span : {4.0, 12.0})
            starts.push_back(risingAt(points, upper, rates_in_span / span));
    }
    if (kind == CurveKind::richards)
        for (auto& start : starts) start.push_back(1);
    std::erase_if(starts, [&](const auto& start) {
        return static_cast<int>(start.size()) != parameterCount(kind) || !allFinite(start);
    });
    return starts;
}

}  // namespace

const char* curveText(CurveKind kind)
{
    switch (kind) {
        case CurveKind::straight_line:
            return "straight line";
        case CurveKind::logistic:
            return "logistic";
        case CurveKind::gompertz:
            return "Gompertz";
        case CurveKind::richards:
            break;
    }
    return "Richards";
}

int parameterCount(CurveKind kind)
{
    switch (kind) {
        case CurveKind::straight_line:
            return 2;
        case CurveKind::logistic:
        case CurveKind::gompertz:
            return 3;
        case CurveKind::richards:
            break;
    }
    return 4;
}

double curveAt(CurveKind kind, const std::vector<double>& parameters, double x)
{
    switch (parameterCount(kind)) {
        case 2:
            return curve<2>(kind, parameters.data(), x);
        case 3:
            return curve<3>(kind, parameters.data(), x);
        default:
            return curve<4>(kind, parameters.data(), x);
    }
}

std::optional<CurveFit> fitCurve(CurveKind kind, const std::vector<CurvePoint>& points,
                                 const std::vector<double>& start)
{
    if (!start.empty() && static_cast<int>(start.size()) != parameterCount(kind))
        throw std::invalid_argument("fitCurve: start has another length than the parameters");
    if (!canBeFitted(kind, points)) return std::nullopt;
    std::optional<CurveFit> best;
    for (const auto& from :
         start.empty() ? ownStarts(kind, points) : std::vector<std::vector<double>>{start}) {
        const auto fit = descend(kind, points, from);
        if (fit && (!best || fit->residual_ss < best->residual_ss)) best = fit;
    }
    if (!best) return std::nullopt;
    ceres::Problem problem;
    addResiduals(kind, points, best->parameters.data(), problem);
    best->standard_errors = standardErrors(problem, *best);
    best->aicc = correctedAkaike(*best, points);
    return best;
}

}  // namespace slipglass
