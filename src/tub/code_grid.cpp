#include "code_grid.h"

#include <ceres/ceres.h>
#include <ceres/cubic_interpolation.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <opencv2/imgproc.hpp>
#include <tuple>

namespace slipglass {
namespace {

// Prior spread of the bend and of perspective, as a share of half the code's side. A 21 mm code on a tub of
// radius 50 mm sags by 0.1, of which the picture shows the part seen from the side.
constexpr double kBendSpread = 0.07, kPerspectiveSpread = 0.10, kCubeSpread = 0.01;
constexpr int kWarpTerms = std::tuple_size_v<CodeGrid::Warp>,
              kLightTerms = std::tuple_size_v<CodeGrid::Light>;
constexpr std::array kSoftness = {0.30, 0.38, 0.46, 0.54, 0.62, 0.70, 0.80};  // Gaussian sigma, modules
constexpr int kFrame = 2;  // modules of the light border that are looked at; a quiet zone has 4
constexpr int kFine =
    2;  // samples a module and direction, for aligning; 3 take twice the time and move no corner

/// Picture place of (u, v), both -1..1 across the code:
/// (w0 + w1 u + w2 v + half (w3 u^2 + w4 u v + w5 v^2 + w14 u^3 + w15 v^3)) / (1 + w12 u + w13 v),
/// y with w6..w11, w16, w17. Without the cubes sides came out 0.3 % long on a quart, whose wall turns
/// away by 11 degrees on each side of a 21 mm code.
template <class T>
void warped(const T* w, double half, double u, double v, T& x, T& y)
{
    const double u3 = u * u * u, v3 = v * v * v;
    const T depth = 1.0 + w[12] * u + w[13] * v;
    x = (w[0] + w[1] * u + w[2] * v +
         half * (w[3] * u * u + w[4] * u * v + w[5] * v * v + w[14] * u3 + w[15] * v3)) /
        depth;
    y = (w[6] + w[7] * u + w[8] * v +
         half * (w[9] * u * u + w[10] * u * v + w[11] * v * v + w[16] * u3 + w[17] * v3)) /
        depth;
}

/// Keeps the grid as flat as the evidence allows.
struct Flat {
    template <class T>
    bool operator()(const T* w, T* residual) const
    {
        constexpr std::array kBend = {3, 4, 5, 9, 10, 11};
        for (std::size_t k = 0; k < kBend.size(); ++k) residual[k] = w[kBend[k]] / kBendSpread;
        residual[6] = w[12] / kPerspectiveSpread;
        residual[7] = w[13] / kPerspectiveSpread;
        for (std::size_t k = 0; k < 4; ++k) residual[8 + k] = w[14 + k] / kCubeSpread;
        return true;
    }
};

struct Tied {
    double u, v, x, y, half, spread;
    template <class T>
    bool operator()(const T* w, T* residual) const
    {
        warped(w, half, u, v, residual[0], residual[1]);
        residual[0] = (residual[0] - x) / spread;
        residual[1] = (residual[1] - y) / spread;
        return true;
    }
};

struct Sample {
    double u, v, dark;
};

using Grid = ceres::Grid2D<uchar, 1>;
using Interpolator = ceres::BiCubicInterpolator<Grid>;

/// Picture minus code as it should look, at every sample. Its derivatives are written out: told by the
/// library they took ten times as long.
class LooksLike : public ceres::CostFunction {
public:
    LooksLike(const Interpolator& picture, const std::vector<Sample>& samples, double half, double spread)
        : picture_(picture), samples_(samples), half_(half), spread_(spread)
    {
        set_num_residuals(static_cast<int>(samples.size()));
        *mutable_parameter_block_sizes() = {kWarpTerms, kLightTerms};
    }

    bool Evaluate(double const* const* parameters, double* residuals, double** jacobians) const override
    {
        const double *w = parameters[0], *light = parameters[1];
        for (std::size_t k = 0; k < samples_.size(); ++k) {
            const Sample& s = samples_[k];
            double x = 0, y = 0, grey = 0, down = 0, right = 0;
            warped(w, half_, s.u, s.v, x, y);
            picture_.Evaluate(y, x, &grey, &down, &right);
            const double paper = light[0] + light[1] * s.u + light[2] * s.v;
            const double print = light[3] + light[4] * s.u + light[5] * s.v;
            residuals[k] = (grey - paper + print * s.dark) / spread_;
            if (!jacobians) continue;
            if (jacobians[0])
                slopesByWarp(s, w, {x, y}, right / spread_, down / spread_, jacobians[0] + k * kWarpTerms);
            if (jacobians[1]) slopesByLight(s, jacobians[1] + k * kLightTerms);
        }
        return true;
    }

private:
    /// @param right, down  how the residual grows with x and y.
    void slopesByWarp(const Sample& s, const double* w, cv::Point2d at, double right, double down,
                      double* slope) const
    {
        const double depth = 1.0 + w[12] * s.u + w[13] * s.v;
        const double x = right / depth, y = down / depth;
        const std::array terms = {1.0, s.u, s.v, half_ * s.u * s.u, half_ * s.u * s.v, half_ * s.v * s.v};
        for (std::size_t i = 0; i < terms.size(); ++i) {
            slope[i] = x * terms[i];
            slope[6 + i] = y * terms[i];
        }
        const double further = -(x * at.x + y * at.y), u3 = half_ * s.u * s.u * s.u,
                     v3 = half_ * s.v * s.v * s.v;
        slope[12] = further * s.u;
        slope[13] = further * s.v;
        slope[14] = x * u3;
        slope[15] = x * v3;
        slope[16] = y * u3;
        slope[17] = y * v3;
    }
    void slopesByLight(const Sample& s, double* slope) const
    {
        const std::array terms = {-1.0, -s.u, -s.v, s.dark, s.dark * s.u, s.dark * s.v};
        for (std::size_t i = 0; i < terms.size(); ++i) slope[i] = terms[i] / spread_;
    }

    const Interpolator& picture_;
    const std::vector<Sample>& samples_;
    double half_, spread_;
};

ceres::Solver::Options solverOptions(int iterations)
{
    ceres::Solver::Options options;
    options.linear_solver_type = ceres::DENSE_NORMAL_CHOLESKY;
    options.max_num_iterations = iterations;
    options.num_threads = 1;  // same bytes out on any machine
    options.function_tolerance = 1e-5;
    options.logging_type = ceres::SILENT;
    return options;
}

/// The code with the light border round it, sampled kFine times a module.
class Template {
public:
    explicit Template(const cv::Mat& dark)
    {
        cv::Mat framed;
        cv::copyMakeBorder(dark, framed, kFrame, kFrame, kFrame, kFrame, cv::BORDER_CONSTANT, cv::Scalar(0));
        const cv::Mat known = framed == framed;  // NaN is unequal to itself
        framed.setTo(0.5, ~known);
        cv::resize(framed, sharp_, {}, kFine, kFine, cv::INTER_NEAREST);
        for (int row = 0; row < sharp_.rows; ++row)
            for (int col = 0; col < sharp_.cols; ++col) {
                if (known.at<uchar>(row / kFine, col / kFine) == 0) continue;
                const double u = 2 * ((col + 0.5) / kFine - kFrame) / dark.cols - 1;
                const double v = 2 * ((row + 0.5) / kFine - kFrame) / dark.rows - 1;
                samples_.push_back({u, v, 0});
                places_.emplace_back(col, row);
            }
    }
    /// As a lens would smooth it. @param softness  Gaussian sigma, modules.
    const std::vector<Sample>& softened(double softness)
    {
        cv::Mat soft;
        cv::GaussianBlur(sharp_, soft, {}, softness * kFine);
        for (std::size_t k = 0; k < samples_.size(); ++k) samples_[k].dark = soft.at<float>(places_[k]);
        return samples_;
    }

private:
    cv::Mat sharp_;
    std::vector<Sample> samples_;
    std::vector<cv::Point> places_;
};

std::vector<double> greysAt(const cv::Mat& grey, const std::vector<Sample>& samples,
                            const CodeGrid::Warp& warp, double half)
{
    const cv::Mat dense = grey.isContinuous() ? grey : grey.clone();
    const Grid grid(dense.data, 0, dense.rows, 0, dense.cols);
    const Interpolator picture(grid);
    std::vector<double> greys(samples.size());
    for (std::size_t k = 0; k < samples.size(); ++k) {
        double x = 0, y = 0;
        warped(warp.data(), half, samples[k].u, samples[k].v, x, y);
        picture.Evaluate(y, x, &greys[k]);
    }
    return greys;
}

double correlation(const std::vector<double>& a, const std::vector<double>& b)
{
    const cv::Mat x(a), y(b);
    const double mean_x = cv::mean(x)[0], mean_y = cv::mean(y)[0];
    const cv::Mat dx = x - mean_x, dy = y - mean_y;
    return dx.dot(dy) / (std::sqrt(dx.dot(dx) * dy.dot(dy)) + 1e-12);
}

struct Softness {
    double softness, likeness;
};

/// How soft the picture is, among a few, and how like the code it is then.
Softness bestSoftness(const std::vector<double>& seen, Template& code)
{
    Softness best{kSoftness[0], -1};
    std::vector<double> wanted(seen.size());
    for (const double softness : kSoftness) {
        const auto& samples = code.softened(softness);
        std::transform(samples.begin(), samples.end(), wanted.begin(),
                       [](const Sample& s) { return -s.dark; });
        const double likeness = correlation(seen, wanted);
        if (likeness > best.likeness) best = {softness, likeness};
    }
    return best;
}

}  // namespace

CodeGrid::CodeGrid(int modules, const std::vector<Tie>& ties) : modules_(modules)
{
    // Affine first, in closed form.
    cv::Mat a(static_cast<int>(ties.size()), 3, CV_64F), b(static_cast<int>(ties.size()), 2, CV_64F), affine;
    const auto across = [&](double m) { return 2 * m / modules - 1; };
    for (int k = 0; k < a.rows; ++k) {
        a.at<double>(k, 0) = 1;
        a.at<double>(k, 1) = across(ties[k].module.x);
        a.at<double>(k, 2) = across(ties[k].module.y);
        b.at<double>(k, 0) = ties[k].pixel.x;
        b.at<double>(k, 1) = ties[k].pixel.y;
    }
    cv::solve(a, b, affine, cv::DECOMP_SVD);
    for (int k = 0; k < 3; ++k) {
        warp_[k] = affine.at<double>(k, 0);
        warp_[6 + k] = affine.at<double>(k, 1);
    }
    half_side_ = std::sqrt(std::abs(warp_[1] * warp_[8] - warp_[2] * warp_[7]) + 1e-9);

    ceres::Problem problem;
    // Corners of squares traced on the pixel grid are good to about a sixth of a module.
    const double spread = 0.17 * 2 * half_side_ / modules;
    for (const Tie& tie : ties)
        problem.AddResidualBlock(
            new ceres::AutoDiffCostFunction<Tied, 2, kWarpTerms>(new Tied{
                across(tie.module.x), across(tie.module.y), tie.pixel.x, tie.pixel.y, half_side_, spread}),
            nullptr, warp_.data());
    problem.AddResidualBlock(new ceres::AutoDiffCostFunction<Flat, 12, kWarpTerms>(new Flat), nullptr,
                             warp_.data());
    ceres::Solver::Summary summary;
    ceres::Solve(solverOptions(20), &problem, &summary);
}

cv::Point2d CodeGrid::pixelAt(cv::Point2d module) const
{
    cv::Point2d pixel;
    warped(warp_.data(), half_side_, 2 * module.x / modules_ - 1, 2 * module.y / modules_ - 1, pixel.x,
           pixel.y);
    return pixel;
}

std::array<cv::Point2d, 4> CodeGrid::corners() const
{
    const double n = modules_;
    return {pixelAt({0, 0}), pixelAt({n, 0}), pixelAt({n, n}), pixelAt({0, n})};
}

double CodeGrid::likeness(const cv::Mat& grey, const cv::Mat& dark) const
{
    Template code(dark);
    const std::vector<double> seen = greysAt(grey, code.softened(kSoftness[0]), warp_, half_side_);
    return bestSoftness(seen, code).likeness;
}

void CodeGrid::align(const cv::Mat& grey, const cv::Mat& dark)
{
    Template code(dark);
    const std::vector<double> seen = greysAt(grey, code.softened(kSoftness[0]), warp_, half_side_);
    // A template sharper or softer than the picture pulls the outer edges outwards, by up to a tenth of a
    // module.
    const std::vector<Sample>& samples = code.softened(bestSoftness(seen, code).softness);
    cv::Scalar mean, deviation;
    cv::meanStdDev(cv::Mat(seen), mean, deviation);
    light_ = {mean[0] + deviation[0], 0, 0, 2 * deviation[0], 0, 0};

    const cv::Mat dense = grey.isContinuous() ? grey : grey.clone();
    const Grid grid(dense.data, 0, dense.rows, 0, dense.cols);
    const Interpolator picture(grid);
    ceres::Problem problem;
    // A quarter of the print's depth: blur and neighbouring samples make errors that are not independent.
    const double spread = std::max(2.0, 0.5 * deviation[0]) * kFine;
    problem.AddResidualBlock(new LooksLike(picture, samples, half_side_, spread), nullptr, warp_.data(),
                             light_.data());
    problem.AddResidualBlock(new ceres::AutoDiffCostFunction<Flat, 12, kWarpTerms>(new Flat), nullptr,
                             warp_.data());
    ceres::Solver::Summary summary;
    ceres::Solve(solverOptions(12), &problem, &summary);
}

cv::Mat CodeGrid::readModules(const cv::Mat& grey) const
{
    cv::Mat dark(modules_, modules_, CV_32F);
    const cv::Mat dense = grey.isContinuous() ? grey : grey.clone();
    const Grid grid(dense.data, 0, dense.rows, 0, dense.cols);
    const Interpolator picture(grid);
    for (int row = 0; row < modules_; ++row)
        for (int col = 0; col < modules_; ++col) {
            double sum = 0;
            for (const double dy : {0.35, 0.5, 0.65})
                for (const double dx : {0.35, 0.5, 0.65}) {
                    const cv::Point2d at = pixelAt({col + dx, row + dy});
                    double value = 0;
                    picture.Evaluate(at.y, at.x, &value);
                    sum += value / 9;
                }
            const double u = 2 * (col + 0.5) / modules_ - 1, v = 2 * (row + 0.5) / modules_ - 1;
            const double paper = light_[0] + light_[1] * u + light_[2] * v;
            const double print = light_[3] + light_[4] * u + light_[5] * v;
            dark.at<float>(row, col) = sum < paper - 0.5 * print ? 1.0F : 0.0F;
        }
    return dark;
}

cv::Mat knownModules(int modules)
{
    cv::Mat known(modules, modules, CV_32F, cv::Scalar(std::numeric_limits<float>::quiet_NaN()));
    const int n = modules;
    for (int k = 8; k < n - 8; ++k) {  // timing
        known.at<float>(6, k) = known.at<float>(k, 6) = k % 2 == 0 ? 1.0F : 0.0F;
    }
    const cv::Rect whole(0, 0, n, n);
    for (const cv::Point at : {cv::Point(0, 0), cv::Point(n - 7, 0), cv::Point(0, n - 7)}) {
        known(cv::Rect(at.x - 1, at.y - 1, 9, 9) & whole) = 0.0F;
        known(cv::Rect(at.x, at.y, 7, 7)) = 1.0F;
        known(cv::Rect(at.x + 1, at.y + 1, 5, 5)) = 0.0F;
        known(cv::Rect(at.x + 2, at.y + 2, 3, 3)) = 1.0F;
    }
    return known;
}

}  // namespace slipglass
