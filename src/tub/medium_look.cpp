#include "medium_look.h"

#include <algorithm>
#include <array>
#include <opencv2/imgproc.hpp>
#include <vector>

namespace slipglass {

namespace {

cv::Mat blurred(const cv::Mat& image, double sigma)
{
    cv::Mat out;
    cv::GaussianBlur(image, out, {}, sigma);
    return out;
}

/// log(1 + standard deviation of the detail between two scales, over a window).
cv::Mat logContrast(const cv::Mat& lightness, double fine, double coarse, double window)
{
    const cv::Mat detail = blurred(lightness, fine) - blurred(lightness, coarse);
    cv::Mat contrast;
    cv::sqrt(blurred(detail.mul(detail), window), contrast);
    cv::log(contrast + 1, contrast);
    return contrast;
}

cv::Mat disc(int diameter)
{
    return cv::getStructuringElement(cv::MORPH_ELLIPSE, {diameter, diameter});
}

/// Up to `count` seed pixels, evenly spread: no chance involved.
std::vector<int> spreadSeeds(const cv::Mat& seed, int count)
{
    std::vector<int> all, chosen;
    for (int y = 0; y < seed.rows; ++y)
        for (int x = 0; x < seed.cols; ++x)
            if (seed.at<uchar>(y, x)) all.push_back(y * seed.cols + x);
    const size_t many = std::min(all.size(), static_cast<size_t>(count));
    chosen.reserve(many);
    for (size_t i = 0; i < many; ++i) chosen.push_back(all[i * all.size() / many]);
    return chosen;
}

constexpr int kBins = 24;

/// Each pixel's feature as a bin 0..kBins-1, bins holding like shares of the seeds: no unit or range to
/// choose.
cv::Mat ranked(const cv::Mat& feature, const std::vector<int>& medium, const std::vector<int>& other)
{
    const float* of = feature.ptr<float>();
    float lowest = of[medium.front()], highest = lowest;
    for (const auto* seeds : {&medium, &other})
        for (const int i : *seeds) {
            lowest = std::min(lowest, of[i]);
            highest = std::max(highest, of[i]);
        }
    const double low = lowest, high = highest > lowest ? highest : lowest + 1.0;
    // A fine even grid looks the rank up without a search per pixel.
    constexpr int kLevels = 256;
    cv::Mat level;
    feature.convertTo(level, CV_8U, 255 / (high - low), -255 * low / (high - low));
    std::array<float, kLevels> at{};
    for (int i = 0; i < kLevels; ++i)
        at[static_cast<size_t>(i)] = static_cast<float>(low + (high - low) * i / 255);
    std::array<long, kLevels + 1>
        first_above{};  // how many seeds lie below a level, but not below the one before
    for (const auto* seeds : {&medium, &other})
        for (const int i : *seeds) {
            auto k = static_cast<size_t>((of[i] - low) / (high - low) * 255);
            while (k > 0 && at[k - 1] > of[i]) --k;
            while (k < kLevels && at[k] <= of[i]) ++k;
            ++first_above[k];
        }
    const auto seed_count = static_cast<long>(medium.size() + other.size());
    cv::Mat rank(1, kLevels, CV_8U);
    long below = 0;
    for (int i = 0; i < kLevels; ++i) {
        below += first_above[static_cast<size_t>(i)];
        rank.at<uchar>(i) = static_cast<uchar>(std::min<long>(kBins - 1, below * kBins / seed_count));
    }
    cv::LUT(level, rank, level);
    return level;
}

/// Log share of the seeds in each cell of a smoothed kBins x kBins table.
cv::Mat logShare(const cv::Mat& x, const cv::Mat& y, const std::vector<int>& seeds)
{
    cv::Mat table(kBins, kBins, CV_32F, cv::Scalar(0));
    for (const int i : seeds) table.at<float>(x.ptr()[i], y.ptr()[i]) += 1;
    cv::GaussianBlur(table, table, {}, 1.2, 1.2, cv::BORDER_REPLICATE);
    table = table / static_cast<double>(seeds.size()) + 0.1 / (kBins * kBins);
    cv::log(table, table);
    return table;
}

}  // namespace

cv::Mat largestPart(const cv::Mat& mask)
{
    cv::Mat labels, stats, centres;
    const int count = cv::connectedComponentsWithStats(mask, labels, stats, centres);
    int best = 0;
    for (int i = 1; i < count; ++i)
        if (!best || stats.at<int>(i, cv::CC_STAT_AREA) > stats.at<int>(best, cv::CC_STAT_AREA)) best = i;
    if (!best) return {};
    return labels == best;
}

MediumLook::MediumLook(const cv::Mat& bgr)
{
    cv::Mat lab;
    bgr.convertTo(lab, CV_32F, 1.0 / 255);
    cv::cvtColor(lab, lab, cv::COLOR_BGR2Lab);
    std::vector<cv::Mat> planes;
    cv::split(lab, planes);
    texture_ = logContrast(planes[0], 0.7, 4, 4);
    features_ = {blurred(planes[0], 1),   logContrast(planes[0], 0.7, 2, 2),
                 blurred(planes[1], 1.5), blurred(planes[2], 1.5),
                 blurred(planes[0], 4),   texture_,
                 blurred(planes[1], 4),   blurred(planes[2], 4)};
}

cv::Mat MediumLook::texturedBlock(const std::optional<cv::Rect>& within) const
{
    cv::Mat level, textured;
    texture_.convertTo(level, CV_8U, 70);
    cv::threshold(level, textured, 0, 255, cv::THRESH_BINARY | cv::THRESH_OTSU);
    if (within) {
        cv::Mat inside = cv::Mat::zeros(textured.size(), CV_8U);
        inside(*within & cv::Rect({}, textured.size())) = 255;
        textured &= inside;
    }
    cv::morphologyEx(textured, textured, cv::MORPH_OPEN, disc(15));
    cv::Mat block = largestPart(textured);
    if (block.empty()) return {};
    cv::copyMakeBorder(block, block, 41, 41, 41, 41, cv::BORDER_CONSTANT,
                       0);  // closing must not reach the frame
    cv::morphologyEx(block, block, cv::MORPH_CLOSE, disc(41));
    return block(cv::Rect({41, 41}, textured.size())).clone();
}

cv::Mat MediumLook::probability(const cv::Mat& medium_seed, const cv::Mat& other_seed) const
{
    const std::vector<int> medium = spreadSeeds(medium_seed, 4000), other = spreadSeeds(other_seed, 4000);
    if (medium.size() < 100 || other.size() < 100) return {};
    // Sum of log likelihood ratios over pairs of features, each pair counted in a table of its own. The pairs
    // tell partly the same, hence the half.
    cv::Mat evidence = cv::Mat::zeros(texture_.size(), CV_32F);
    for (size_t pair = 0; pair + 1 < features_.size(); pair += 2) {
        const cv::Mat x = ranked(features_[pair], medium, other),
                      y = ranked(features_[pair + 1], medium, other);
        const cv::Mat ratio = 0.5 * (logShare(x, y, medium) - logShare(x, y, other));
        for (int i = 0; i < evidence.rows; ++i) {
            const uchar *px = x.ptr(i), *py = y.ptr(i);
            float* out = evidence.ptr<float>(i);
            for (int j = 0; j < evidence.cols; ++j) out[j] += ratio.at<float>(px[j], py[j]);
        }
    }
    cv::Mat share;
    cv::exp(-evidence, share);
    share = 1 / (1 + share);
    return share;
}

}  // namespace slipglass
