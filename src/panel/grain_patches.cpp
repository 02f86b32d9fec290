#include "grain_patches.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <opencv2/core/hal/intrin.hpp>
#include <opencv2/imgproc.hpp>

#include "sum_in.h"

namespace slipglass {

namespace {

constexpr double kSteps = 100;  // of detail to one
constexpr double kMost = 10;    // detail beyond is cut off; so sums of a patch's products stay below 2^31
constexpr double kHalfPatchPx = 40;  // of the panel
constexpr int kAtOnce = 8;           // products that the processor makes at once
constexpr int kShifts = 4;           // shifts that are looked at together

/// Smoothed by a Gaussian so wide that fewer pixels tell it.
cv::Mat widely(const cv::Mat& plane, double sigma)
{
    const double fewer = std::max(1.0, std::floor(sigma / 2));
    const cv::Size size(std::max(1, cvRound(plane.cols / fewer)), std::max(1, cvRound(plane.rows / fewer)));
    cv::Mat small, smooth;
    cv::resize(plane, small, size, 0, 0, cv::INTER_AREA);
    cv::GaussianBlur(small, small, {}, sigma / fewer);
    cv::resize(small, smooth, plane.size(), 0, 0, cv::INTER_LINEAR);
    return smooth;
}

cv::Mat detailOf(const cv::Mat& grey, double scale)
{
    cv::Mat light, spread;
    grey.convertTo(light, CV_32F);
    const double window = 8 * scale / 0.5;
    light -= widely(light, window);
    cv::sqrt(widely(light.mul(light), window), spread);
    cv::Mat detail = light / (spread + 2);
    cv::min(cv::max(detail, -kMost), kMost, detail);
    detail.convertTo(detail, CV_16S, kSteps);
    return detail;
}

cv::Mat halved(const cv::Mat& plane, int interpolation)
{
    cv::Mat half;
    cv::resize(plane, half, {}, 0.5, 0.5, interpolation);
    return half;
}

/// A part of some detail, its rows lengthened by nothing to whole steps of what is read at once.
class Rows {
public:
    Rows(const cv::Mat& detail, const cv::Rect& part, int beyond)
        : held_(part.height, (part.width + beyond + kAtOnce - 1) / kAtOnce * kAtOnce, CV_16S, cv::Scalar(0))
    {
        detail(part).copyTo(held_(cv::Rect({}, part.size())));
    }
    const short* at(int row) const { return held_.ptr<short>(row); }
    int steps() const { return held_.cols / kAtOnce; }

private:
    cv::Mat held_;
};

/// Sums of the products of a patch with what lies at each shift in a part of the other panel.
cv::Mat products(const cv::Mat& detail, const cv::Rect& patch, const cv::Mat& other, const cv::Rect& part)
{
    const Rows of(detail, patch, 0), in(other, part, kShifts + kAtOnce);
    cv::Mat sums(part.height - patch.height + 1, part.width - patch.width + 1, CV_64F);
    for (int down = 0; down < sums.rows; ++down)
        for (int across = 0; across < sums.cols; across += kShifts) {
            std::array<cv::v_int32x4, kShifts> sum;
            for (auto& s : sum) s = cv::v_setzero_s32();
            for (int row = 0; row < patch.height; ++row) {
                const short *a = of.at(row), *b = in.at(down + row) + across;
                for (int k = 0; k < of.steps(); ++k, a += kAtOnce, b += kAtOnce) {
                    const cv::v_int16x8 grains = cv::v_load(a);
                    for (int s = 0; s < kShifts; ++s)
                        sum[s] = cv::v_dotprod(grains, cv::v_load(b + s), sum[s]);
                }
            }
            for (int s = 0; s < std::min(kShifts, sums.cols - across); ++s)
                sums.at<double>(down, across + s) = cv::v_reduce_sum(sum[s]);
        }
    return sums;
}

/// Sums over any part of some detail.
struct Sums {
    cv::Mat of_values, of_squares;

    explicit Sums(const cv::Mat& detail) { cv::integral(detail, of_values, of_squares, CV_64F, CV_64F); }
    /// Sum of squares about the part's mean.
    double spreadIn(const cv::Rect& part) const
    {
        const double sum = sumIn<double>(of_values, part);
        return sumIn<double>(of_squares, part) - sum * sum / part.area();
    }
};

/// Sub-pixel peak of a correlation map.
cv::Point2d finePeak(const cv::Mat& map, cv::Point at)
{
    const auto vertex = [](double a, double b, double c) {
        const double curve = a - 2 * b + c;
        return std::abs(curve) < 1e-9 ? 0.0 : std::clamp(0.5 * (a - c) / curve, -0.5, 0.5);
    };
    cv::Point2d fine(at);
    if (at.x > 0 && at.x + 1 < map.cols)
        fine.x += vertex(map.at<double>(at.y, at.x - 1), map.at<double>(at), map.at<double>(at.y, at.x + 1));
    if (at.y > 0 && at.y + 1 < map.rows)
        fine.y += vertex(map.at<double>(at.y - 1, at.x), map.at<double>(at), map.at<double>(at.y + 1, at.x));
    return fine;
}

/// Correlations of patches of one panel with parts of another.
class Matching {
public:
    Matching(const cv::Mat& today, const cv::Mat& earlier)
        : today_(today), earlier_(earlier), sums_today_(today), sums_earlier_(earlier)
    {
    }
    /// CV_64F, -1..1 for each shift; 0 where hardly anything varies.
    cv::Mat correlations(const cv::Rect& patch, const cv::Rect& part) const
    {
        cv::Mat map = products(today_, patch, earlier_, part);
        const double mean = sumIn<double>(sums_today_.of_values, patch) / patch.area(),
                     spread = sums_today_.spreadIn(patch);
        for (int y = 0; y < map.rows; ++y)
            for (int x = 0; x < map.cols; ++x) {
                const cv::Rect there(part.tl() + cv::Point(x, y), patch.size());
                const double both = std::sqrt(spread * sums_earlier_.spreadIn(there));
                double& value = map.at<double>(y, x);
                const bool varies = both > patch.area();  // by a step and more: the rest is rounding
                value = varies ? (value - mean * sumIn<double>(sums_earlier_.of_values, there)) / both : 0;
            }
        return map;
    }

private:
    const cv::Mat &today_, &earlier_;
    Sums sums_today_, sums_earlier_;
};

}  // namespace

PanelGrains::PanelGrains(const Panel& panel)
{
    cv::Mat grey, visible = panel.visible, frontal = panel.frontal;
    cv::cvtColor(panel.bgr, grey, cv::COLOR_BGR2GRAY);
    double scale = 1;
    for (Grains* const grains : {&half, &quarter}) {
        grey = halved(grey, cv::INTER_AREA);
        visible = halved(visible, cv::INTER_NEAREST);
        frontal = halved(frontal, cv::INTER_NEAREST);
        scale /= 2;
        *grains = {scale, detailOf(grey, scale), visible, frontal};
    }
}

std::vector<Patch> matchPatches(const Grains& today, const Grains& earlier, const Drift& guess,
                                double reach_px, int apart)
{
    const double scale = today.scale;
    const int half = static_cast<int>(kHalfPatchPx * scale),
              reach = std::max(2, static_cast<int>(std::ceil(reach_px * scale)));
    const cv::Rect all({}, earlier.detail.size());
    const Matching matching(today.detail, earlier.detail);
    std::vector<Patch> patches;
    for (int y = half; y + half < today.detail.rows; y += apart * half)
        for (int x = half; x + half < today.detail.cols; x += apart * half) {
            const cv::Rect from(x - half, y - half, 2 * half, 2 * half);
            if (cv::countNonZero(today.visible(from)) < 0.8 * from.area()) continue;
            const cv::Point2d drift = guess.at(x / scale, y / scale);
            const cv::Point shift(cvRound(drift.x * scale), cvRound(drift.y * scale));
            const cv::Rect to(from.tl() + shift - cv::Point(reach, reach),
                              from.size() + cv::Size(2 * reach, 2 * reach));
            if ((to & all) != to) continue;
            if (cv::countNonZero(earlier.visible(to)) < 0.7 * to.area()) continue;
            const cv::Mat map = matching.correlations(from, to);
            double score = 0;
            cv::Point at;
            cv::minMaxLoc(map, nullptr, &score, nullptr, &at);
            const cv::Point2d peak = finePeak(map, at);
            patches.push_back({x / scale, y / scale, (shift.x + peak.x - reach) / scale,
                               (shift.y + peak.y - reach) / scale, score});
        }
    return patches;
}

}  // namespace slipglass
