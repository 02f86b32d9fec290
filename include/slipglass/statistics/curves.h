#pragma once
#include <optional>
#include <vector>

namespace slipglass {

/// Shapes of growth. b1, b2, ... are the parameters, in this order.
enum class CurveKind {
    straight_line,  ///< b1 + b2 x
    logistic,       ///< b1 / (1 + exp(b2 - b3 x)): steepest half-way up
    gompertz,       ///< b1 exp(-exp(b2 - b3 x)): steepest early, then slowing for long
    richards,       ///< b1 / (1 + exp(b2 - b3 x))^(1 / b4): the general form; b4 = 1 is the logistic
};

/// "straight line", "logistic", "Gompertz" or "Richards".
const char* curveText(CurveKind kind);

/// 2, 3 or 4.
int parameterCount(CurveKind kind);

/// One measurement.
struct CurvePoint {
    double x = 0, y = 0;
    double sd = 1;  ///< its standard error in units of y; what counts is how they compare among points
};

/// A curve through points by weighted least squares.
struct CurveFit {
    CurveKind kind = CurveKind::straight_line;
    std::vector<double> parameters;
    /// Of each parameter: from the Jacobian at the optimum and the residual variance. Empty where there are
    /// no more points than parameters, or where the points do not settle the parameters.
    std::vector<double> standard_errors;
    int points = 0;
    double residual_ss = 0;  ///< sum of ((y - curve) / sd)^2
    /// Akaike's criterion for least squares, corrected for few points (Hurvich & Tsai 1989, Biometrika 76:
    /// 297-307); the residual variance counts as a parameter. The lower of two fits to the same points is the
    /// better one. Empty where there are too few points for it (parameters + 2, or fewer) or none is left
    /// over.
    std::optional<double> aicc;
};

/// The curve at x.
double curveAt(CurveKind kind, const std::vector<double>& parameters, double x);

/// The curve nearest to the points in the sense of least squares. Deterministic.
/// @param start  values to start from; empty: values of its own, several of them, and the best end counts.
/// @return  empty when there are fewer points than parameters or different x than parameters, when a number
///          is not finite or an sd not above 0, or when nothing sensible comes out (no convergence).
/// @throws  std::invalid_argument when `start` is not empty and of another length than the parameters.
std::optional<CurveFit> fitCurve(CurveKind kind, const std::vector<CurvePoint>& points,
                                 const std::vector<double>& start = {});

}  // namespace slipglass
