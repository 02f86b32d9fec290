// Ways that change evenly are traced at some places, which tell those between.
#pragma once
#include <opencv2/core.hpp>
#include <vector>

namespace slipglass {

/// Fills maps as cv::remap takes them, bilinearly between nodes.
/// @param apart  px from node to node, across and down.
/// @param nodesAt  for a row, the places its nodes lead to, from column 0 on, as many as reach the last
///                 column or go beyond it: nodesFor(width, apart).
template <class NodesAt>
void mapBetween(cv::Size size, int apart, const NodesAt& nodesAt, cv::Mat& map_x, cv::Mat& map_y)
{
    map_x.create(size, CV_32F);
    map_y.create(size, CV_32F);
    std::vector<cv::Point2f> upper = nodesAt(0), row(upper.size());
    for (int top = 0; top < size.height; top += apart) {
        const std::vector<cv::Point2f> lower = nodesAt(top + apart);
        for (int k = 0; k < apart && top + k < size.height; ++k) {
            const float down = static_cast<float>(k) / static_cast<float>(apart);
            for (size_t i = 0; i < row.size(); ++i) row[i] = upper[i] + down * (lower[i] - upper[i]);
            float *x = map_x.ptr<float>(top + k), *y = map_y.ptr<float>(top + k);
            for (int from = 0; from < size.width; from += apart) {
                const auto i = static_cast<size_t>(from / apart);
                const cv::Point2f step = (row[i + 1] - row[i]) / static_cast<float>(apart);
                for (int c = from; c < std::min(from + apart, size.width); ++c) {
                    x[c] = row[i].x + static_cast<float>(c - from) * step.x;
                    y[c] = row[i].y + static_cast<float>(c - from) * step.y;
                }
            }
        }
        upper = lower;
    }
}

inline int nodesFor(int width, int apart)
{
    return (width + apart - 1) / apart + 1;
}

}  // namespace slipglass
