#pragma once
// What a careful person would draw on a photo: the roots that were missed, and what was called root and is
// none, where truth says so.
#include <algorithm>
#include <opencv2/imgproc.hpp>
#include <queue>
#include <vector>

#include "slipglass/corrections/correction.h"
#include "slipglass/roots/length.h"

namespace slipglass::test {

/// Pixels of a centre line from one of its ends to the other: the longest way through it.
inline std::vector<cv::Point> longestWay(const cv::Mat& skeleton)
{
    std::vector<cv::Point> all;
    cv::findNonZero(skeleton, all);
    const auto farthest = [&](cv::Point from) {
        cv::Mat came(skeleton.size(), CV_32SC2, cv::Scalar(-1, -1));
        std::queue<cv::Point> open;
        open.push(from);
        came.at<cv::Vec2i>(from) = {from.x, from.y};
        cv::Point last = from;
        while (!open.empty()) {
            last = open.front();
            open.pop();
            for (int dy = -1; dy <= 1; ++dy)
                for (int dx = -1; dx <= 1; ++dx) {
                    const cv::Point next = last + cv::Point(dx, dy);
                    if (!cv::Rect({}, skeleton.size()).contains(next) || !skeleton.at<uchar>(next) ||
                        came.at<cv::Vec2i>(next)[0] >= 0)
                        continue;
                    came.at<cv::Vec2i>(next) = {last.x, last.y};
                    open.push(next);
                }
        }
        std::vector<cv::Point> way = {last};
        while (way.back() != from) {
            const cv::Vec2i before = came.at<cv::Vec2i>(way.back());
            way.emplace_back(before[0], before[1]);
        }
        return way;
    };
    return farthest(farthest(all.front()).front());
}

/// The largest areas of a mask, each as one stroke along its middle.
inline void appendStrokes(const cv::Mat& mask, bool root, int least_px, size_t most, std::vector<Stroke>& to)
{
    cv::Mat labels, stats, centres;
    const int count = cv::connectedComponentsWithStats(mask, labels, stats, centres, 8);
    std::vector<std::pair<int, int>> by_area;  // largest first
    for (int i = 1; i < count; ++i)
        if (stats.at<int>(i, cv::CC_STAT_AREA) >= least_px)
            by_area.emplace_back(-stats.at<int>(i, cv::CC_STAT_AREA), i);
    std::sort(by_area.begin(), by_area.end());
    if (by_area.size() > most) by_area.resize(most);
    for (const auto& [area, i] : by_area) {
        const cv::Rect box(stats.at<int>(i, cv::CC_STAT_LEFT), stats.at<int>(i, cv::CC_STAT_TOP),
                           stats.at<int>(i, cv::CC_STAT_WIDTH), stats.at<int>(i, cv::CC_STAT_HEIGHT));
        const cv::Mat skeleton = skeletonOf(cv::Mat(labels(box) == i));
        const std::vector<cv::Point> way = longestWay(skeleton);
        Stroke stroke;
        stroke.root = root;
        stroke.width_px = std::max(1.5, static_cast<double>(-area) / std::max(1, cv::countNonZero(skeleton)));
        for (size_t k = 0; k < way.size(); k += 4)
            stroke.points.push_back(
                {static_cast<double>(way[k].x + box.x), static_cast<double>(way[k].y + box.y)});
        to.push_back(stroke);
    }
}

/// @param found, truth, wall  CV_8UC1 0/255, full-size photo.
/// @param most  strokes of each kind: a person's patience.
inline std::vector<Stroke> strokesFromTruth(const cv::Mat& found, const cv::Mat& truth, const cv::Mat& wall,
                                            size_t most = 12)
{
    const cv::Mat near = cv::getStructuringElement(cv::MORPH_ELLIPSE, {5, 5});
    cv::Mat found_near, truth_near;
    cv::dilate(found, found_near, near);
    cv::dilate(truth, truth_near, near);
    std::vector<Stroke> strokes;
    appendStrokes(truth & ~found_near & wall, true, 20, most, strokes);
    appendStrokes(found & ~truth_near, false, 20, most, strokes);
    return strokes;
}

}  // namespace slipglass::test
