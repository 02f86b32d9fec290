#include "one_tub.h"

#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>

namespace slipglass {

namespace {

/// Share of the photo's long side under which the part with the tub is looked at by itself: twice the time,
/// for edges found so much finer.
constexpr double kCloser = 0.75;
/// Least share of the picture with medium: a hundredth is a tub of a tenth of its height.
constexpr double kLeastMedium = 0.01;

/// Parts of a map, as cv::connectedComponentsWithStats counts them; 0 is what is no tub.
struct Parts {
    cv::Mat of_place, stats;
    int count = 0;

    int at(int part, int what) const { return stats.at<int>(part, what); }
    int area(int part) const { return at(part, cv::CC_STAT_AREA); }
};

Parts partsOf(const TubMap& map)
{
    cv::Mat tub = cv::max(cv::max(map.medium, map.empty), map.cover) > 0.5;
    // A strip of glare, or a shadow, does not make two tubs of one.
    cv::morphologyEx(tub, tub, cv::MORPH_CLOSE, cv::getStructuringElement(cv::MORPH_ELLIPSE, {7, 7}));
    Parts parts;
    cv::Mat centroids;
    parts.count = cv::connectedComponentsWithStats(tub, parts.of_place, parts.stats, centroids, 8);
    return parts;
}

/// 0 where there is none.
int largestOf(const Parts& parts)
{
    int best = 0;
    for (int i = 1; i < parts.count; ++i)
        if (!best || parts.area(i) > parts.area(best)) best = i;
    return best;
}

/// The label's paper belongs to its tub; where the map has missed it, the part nearest to it does.
/// @param least  area of a part that is looked at; one has it.
int labelledOf(const Parts& parts, const TubMap& map, const Label& label, int least)
{
    const PhotoPoint centre{(label.corners[0].x_px + label.corners[2].x_px) / 2,
                            (label.corners[0].y_px + label.corners[2].y_px) / 2};
    const PicturePoint place = map.placeOf(centre);
    const int x = std::clamp(cvRound(place.x_px), 0, parts.of_place.cols - 1),
              y = std::clamp(cvRound(place.y_px), 0, parts.of_place.rows - 1);
    int best = 0;
    double nearest_px = HUGE_VAL;
    for (int i = 1; i < parts.count; ++i) {
        if (parts.area(i) < least) continue;
        const int left = parts.at(i, cv::CC_STAT_LEFT), top = parts.at(i, cv::CC_STAT_TOP);
        const double dx = std::max({0, left - x, x - left - parts.at(i, cv::CC_STAT_WIDTH)}),
                     dy = std::max({0, top - y, y - top - parts.at(i, cv::CC_STAT_HEIGHT)});
        if (std::hypot(dx, dy) < nearest_px) {
            nearest_px = std::hypot(dx, dy);
            best = i;
        }
    }
    return best;
}

/// Clears the map of all tubs but one: the labelled one, else the largest. Where that one is; empty when no
/// tub is shown.
std::optional<Block> keepOneTub(TubMap& map, const std::optional<Label>& label)
{
    const Parts parts = partsOf(map);
    int best = largestOf(parts);
    if (!best) return std::nullopt;
    if (label) best = labelledOf(parts, map, *label, parts.area(best) / 8);
    const int left = parts.at(best, cv::CC_STAT_LEFT), top = parts.at(best, cv::CC_STAT_TOP),
              width = parts.at(best, cv::CC_STAT_WIDTH), height = parts.at(best, cv::CC_STAT_HEIGHT);
    // Its edges lie around it, as far as the map may have missed some of the tub.
    const int reach = std::max(4, height / 12);
    cv::Mat around;
    cv::dilate(parts.of_place == best, around,
               cv::getStructuringElement(cv::MORPH_ELLIPSE, {2 * reach + 1, 2 * reach + 1}));
    for (cv::Mat* m :
         {&map.medium, &map.empty, &map.cover, &map.left, &map.right, &map.foot, &map.rim, &map.surface})
        m->setTo(0, ~around);
    const PhotoPoint low = map.photoAt(left, top), high = map.photoAt(left + width - 1, top + height - 1);
    return Block{low.x_px, high.x_px, low.y_px, high.y_px};
}

/// A part of the photo that shows it with a margin in which rim and table are seen.
cv::Rect partAround(const Block& block)
{
    const double margin = 0.2 * std::max(block.right - block.left, block.bottom - block.top);
    return {cv::Point(cvFloor(block.left - margin), cvFloor(block.top - margin)),
            cv::Point(cvCeil(block.right + margin), cvCeil(block.bottom + margin))};
}

/// The tub from as near as the photo shows it.
OneTub closer(const TubQuery& query, OneTub seen)
{
    const cv::Rect whole({}, query.full_size), part = partAround(seen.block) & whole;
    if (std::max(part.width, part.height) >= kCloser * std::max(whole.width, whole.height)) return seen;
    TubMap map = tubMap(query.bgr, query.full_size, query.label, part);
    const auto block = keepOneTub(map, query.label);
    return block ? OneTub{map, *block} : seen;
}

}  // namespace

std::optional<OneTub> oneTub(const TubQuery& query)
{
    TubMap map = tubMap(query.bgr, query.full_size, query.label, cv::Rect({}, query.full_size));
    if (map.medium.empty()) return std::nullopt;  // a strip of a few px shows no tub, nor does the map of it
    const auto block = keepOneTub(map, query.label);
    if (!block) return std::nullopt;
    OneTub seen = closer(query, {map, *block});
    const cv::Mat& medium = seen.map.medium;
    if (cv::countNonZero(medium > 0.5) < kLeastMedium * static_cast<double>(medium.total()))
        return std::nullopt;
    return seen;
}

}  // namespace slipglass
