#include "wall_blocks.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>
#include <opencv2/core.hpp>

namespace slipglass {

WallBlocks::WallBlocks(const Panel& panel, double width_mm)
    : rows_(panel.bgr.rows), mm_per_px_(panel.mm_per_px)
{
    cv::Mat seen;
    cv::reduce(panel.frontal, seen, 0, cv::REDUCE_MAX);
    std::vector<cv::Point> columns;
    cv::findNonZero(seen, columns);
    if (columns.empty()) return;
    const int first = columns.front().x, past = columns.back().x + 1;
    const int count = std::max(1, static_cast<int>(std::lround((past - first) * mm_per_px_ / width_mm)));
    for (int i = 0; i <= count; ++i) from_.push_back(first + (past - first) * i / count);
    for (int i = 0; i < count; ++i)
        middle_mm_.push_back(
            panel.pointAt(0.5 * (from_[static_cast<size_t>(i)] + from_[static_cast<size_t>(i) + 1] - 1), 0)
                .x_mm);
    half_mm_ = std::max(1.0, std::max(std::abs(middle_mm_.front()), std::abs(middle_mm_.back())));
}

cv::Mat WallBlocks::means(const cv::Mat& plane, const cv::Mat& mask) const
{
    cv::Mat result(rows_, count(), CV_32F, cv::Scalar(std::numeric_limits<float>::quiet_NaN()));
    for (int r = 0; r < rows_; ++r) {
        const auto* values = plane.ptr<float>(r);
        const uchar* counts = mask.ptr(r);
        for (int b = 0; b < count(); ++b) {
            const int from = from_[static_cast<size_t>(b)], to = from_[static_cast<size_t>(b) + 1];
            double sum = 0;
            int seen = 0;
            for (int c = from; c < to; ++c)
                if (counts[c]) {
                    sum += values[c];
                    ++seen;
                }
            if (2 * seen >= to - from && seen > 0) result.at<float>(r, b) = static_cast<float>(sum / seen);
        }
    }
    return result;
}

int WallBlocks::rowIn(int block, double row, const Tilt& tilt) const
{
    const double x = middle_mm_[static_cast<size_t>(block)];
    const double up = tilt.slope * x + tilt.bow_mm * std::pow(x / half_mm_, 2);
    return static_cast<int>(std::lround(row - up / mm_per_px_));
}

BlockWindows::BlockWindows(const cv::Mat& means)
    : sum_(means.rows + 1, means.cols, CV_64F, cv::Scalar(0)),
      known_(means.rows + 1, means.cols, CV_32S, cv::Scalar(0))
{
    for (int r = 0; r < means.rows; ++r)
        for (int b = 0; b < means.cols; ++b) {
            const float value = means.at<float>(r, b);
            const bool known = !std::isnan(value);
            sum_.at<double>(r + 1, b) = sum_.at<double>(r, b) + (known ? value : 0);
            known_.at<int>(r + 1, b) = known_.at<int>(r, b) + known;
        }
}

std::optional<double> BlockWindows::mean(int block, int from, int to) const
{
    if (from < 0 || to >= sum_.rows || to <= from) return std::nullopt;
    const int known = known_.at<int>(to, block) - known_.at<int>(from, block);
    if (known == 0 || known < 0.6 * (to - from)) return std::nullopt;
    return (sum_.at<double>(to, block) - sum_.at<double>(from, block)) / known;
}

Vote voteOf(std::vector<double> values, double least)
{
    Vote vote;
    vote.blocks = static_cast<int>(values.size());
    if (values.empty()) return vote;
    std::sort(values.begin(), values.end());
    vote.share = static_cast<double>(values.end() - std::lower_bound(values.begin(), values.end(), least)) /
                 static_cast<double>(values.size());
    const auto cut = static_cast<long>(values.size() / 10);
    const auto begin = values.begin() + cut, end = values.end() - cut;
    const auto n = static_cast<double>(end - begin);
    vote.mean = std::accumulate(begin, end, 0.0) / n;
    double squares = 0;
    for (auto v = begin; v != end; ++v) squares += (*v - vote.mean) * (*v - vote.mean);
    // One vote alone proves nothing.
    vote.error = n > 1 ? std::sqrt(squares / (n - 1) / n) : std::numeric_limits<double>::infinity();
    return vote;
}

}  // namespace slipglass
