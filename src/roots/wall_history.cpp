#include "slipglass/roots/wall_history.h"

#include <algorithm>
#include <opencv2/imgproc.hpp>

#include "one_place.h"
#include "pieces.h"
#include "slipglass/roots/length.h"

namespace slipglass {

namespace {

/// The most one photo's odds count for the others: all photos of a wall err alike. Guess; chosen as the best
/// of 0.9, 1.8 and 3 for each rendered tub by the other five (docs/accuracy.md, "roots"), it is 3 every time.
constexpr float kMostSay = 3;
/// Smoothing of what other photos say, panel px: two panels lie on each other to about half a pixel.
constexpr double kSmoothing_px = 0.7;
/// Shortest piece told as hidden or lost, mm: shorter ones are edges that moved. Guess.
constexpr double kLeastPiece_mm = 3;

/// What one view says, on the side's first panel.
struct Say {
    cv::Mat odds;   ///< CV_32F, as the others are told them; 0 where it shows nothing
    cv::Mat shown;  ///< CV_8U, 255 where it shows the wall
};

/// @param first  place of the side's first panel on what is read. Beside it a view counts where it sees the
///               wall from the front: at the very sides the plastic's edge shines like a root, on photo after
///               photo (Measured: T06).
Say sayOn(cv::Size size, cv::Rect first, const WallView& view)
{
    cv::Mat odds = cv::max(cv::min(view.roots.odds, kMostSay), -kMostSay);
    view.roots.odds.copyTo(odds, cv::abs(view.roots.odds) >= kSaidOdds);
    cv::Mat map_x, map_y;
    Say say;
    view.to_first->mapsBack(size, map_x, map_y);
    cv::remap(odds, say.odds, map_x, map_y, cv::INTER_LINEAR, cv::BORDER_CONSTANT, 0);
    cv::Mat visible;
    cv::remap(view.panel.visible, visible, map_x, map_y, cv::INTER_NEAREST, cv::BORDER_CONSTANT, 0);
    cv::remap(view.panel.frontal, say.shown, map_x, map_y, cv::INTER_NEAREST, cv::BORDER_CONSTANT, 0);
    visible(first).copyTo(say.shown(first));
    say.odds.setTo(0, say.shown == 0);
    return say;
}

/// What the other photos add to each photo's odds, on the side's first panel; CV_32F, one picture a photo.
std::vector<cv::Mat> fromOthers(const std::vector<Say>& say, const ComeAndGo& rates)
{
    const cv::Size size = say.front().odds.size();
    std::vector<cv::Mat> from_others;
    for (size_t i = 0; i < say.size(); ++i) from_others.emplace_back(size, CV_32F);
    std::vector<float> said(say.size()), last, given;
    for (int row = 0; row < size.height; ++row)
        for (int column = 0; column < size.width; ++column) {
            for (size_t i = 0; i < say.size(); ++i) said[i] = say[i].odds.at<float>(row, column);
            if (said != last) readOnePlace(said, rates, given);  // most places are as the one before
            last = said;
            for (size_t i = 0; i < say.size(); ++i) from_others[i].at<float>(row, column) = given[i];
        }
    return from_others;
}

/// Brings pictures from the side's first panel onto a view's.
class FromFirst {
public:
    explicit FromFirst(const Drift& drift) { drift.maps(map_x_, map_y_); }
    cv::Mat moved(const cv::Mat& on_first, int how) const
    {
        cv::Mat result;
        cv::remap(on_first, result, map_x_, map_y_, how, cv::BORDER_CONSTANT, 0);
        return result;
    }

private:
    cv::Mat map_x_, map_y_;
};

/// Length of the part of a root map's centre lines that lies on `part`.
double lengthWithin(const cv::Mat& mask, const cv::Mat& part, double mm_per_px)
{
    const cv::Mat skeleton = skeletonOf(mask);
    const int all = cv::countNonZero(skeleton);
    if (!all) return 0;
    return rootLengthPx(mask, skeleton) * mm_per_px * cv::countNonZero(skeleton & part) / all;
}

/// A view's roots when the others have had their say.
RootMap together(const WallView& view, const FromFirst& way, const cv::Mat& from_others, float usual,
                 const RootSettings& settings)
{
    const Panel& panel = view.panel;
    cv::Mat smooth;
    cv::GaussianBlur(from_others, smooth, {}, kSmoothing_px);
    const cv::Mat others = way.moved(smooth, cv::INTER_LINEAR);
    cv::Mat odds = view.roots.odds + others;
    // Where glare hides the wall the photo itself has no say.
    cv::Mat(others + usual).copyTo(odds, panel.wall & ~panel.visible);
    view.roots.odds.copyTo(odds, cv::abs(view.roots.odds) >= kSaidOdds);
    return rootsFromOdds(panel, odds, view.roots.if_root_browned, settings);
}

/// A mask of a view's panel as the side's first panel sees it.
cv::Mat onFirst(const cv::Mat& mask, const WallView& view, cv::Size first_size)
{
    cv::Mat map_x, map_y, moved;
    view.to_first->mapsBack(first_size, map_x, map_y);
    cv::remap(mask, moved, map_x, map_y, cv::INTER_NEAREST, cv::BORDER_CONSTANT, 0);
    return moved;
}

RootMap alone(const WallView& view, const RootSettings& settings)
{
    return rootsFromOdds(view.panel, view.roots.odds, view.roots.if_root_browned, settings);
}

/// The side's first panel and what photos of a turned tub show beside it from the front.
cv::Rect widened(cv::Size first_size, const std::vector<WallView>& views)
{
    int left = 0, right = first_size.width;
    for (const WallView& view : views) {
        if (!view.to_first) continue;
        const cv::Rect seen = cv::boundingRect(view.panel.frontal);
        const double middle = seen.y + seen.height / 2.0;
        left = std::min(left, cvFloor(seen.x + view.to_first->at(seen.x, middle).x));
        right = std::max(right, cvCeil(seen.br().x + view.to_first->at(seen.br().x, middle).x));
    }
    // No further than once round: what would lie there is no such side.
    left = std::max(left, -first_size.width);
    right = std::min(right, 2 * first_size.width);
    return {left, 0, right - left, first_size.height};
}

WallHistory readOn(cv::Size size, cv::Rect first, const std::vector<WallView>& views,
                   const RootSettings& settings)
{
    WallHistory history;
    history.first_seen = cv::Mat::zeros(size, CV_16U);
    std::vector<size_t> joined;
    std::vector<Say> say;
    history.readings.resize(views.size());
    for (size_t i = 0; i < views.size(); ++i) {
        if (!views[i].to_first) {
            history.readings[i].roots = alone(views[i], settings);
            continue;
        }
        joined.push_back(i);
        say.push_back(sayOn(size, first, views[i]));
    }
    if (joined.empty()) return history;

    const ComeAndGo rates{static_cast<float>(settings.appears_per_photo),
                          static_cast<float>(settings.vanishes_per_photo)};
    std::vector<cv::Mat> from_others;
    if (settings.history && joined.size() > 1) from_others = fromOthers(say, rates);
    cv::Mat seen_before = cv::Mat::zeros(size, CV_8U), times = seen_before.clone();
    for (size_t k = 0; k < joined.size(); ++k) {
        const WallView& view = views[joined[k]];
        const Panel& panel = view.panel;
        WallReading& reading = history.readings[joined[k]];
        const FromFirst way(*view.to_first);
        if (!from_others.empty()) {
            reading.photos_read = static_cast<int>(joined.size());
            reading.roots = together(view, way, from_others[k], usualOdds(rates, k == 0), settings);
        } else {
            reading.photos_read = k > 0 ? 2 : 1;  // its own odds already rest on the first photo
            reading.roots = alone(view, settings);
        }
        const cv::Mat& mask = reading.roots.mask;
        const auto lengthOf = [&](const cv::Mat& part) {
            const cv::Mat pieces = piecesFrom(kLeastPiece_mm, part, panel.mm_per_px);
            return rootLengthPx(pieces, skeletonOf(pieces)) * panel.mm_per_px;
        };
        if (!from_others.empty()) reading.hidden_mm = lengthOf(mask & ~panel.visible);
        const cv::Mat is_root = onFirst(mask, view, size), was_root = history.first_seen > 0;
        const cv::Mat fresh = is_root & ~was_root;
        history.first_seen.setTo(static_cast<int>(joined[k]) + 1, fresh);
        if (k > 0) {
            const cv::Mat gained = way.moved(fresh & seen_before, cv::INTER_NEAREST);
            reading.gained_mm = lengthWithin(mask & panel.frontal, gained, panel.mm_per_px);
            // An edge that moved is no loss, nor is what one photo alone took for a root.
            cv::Mat near_root;
            cv::dilate(mask, near_root, cv::getStructuringElement(cv::MORPH_ELLIPSE, {7, 7}));
            const cv::Mat lost = way.moved(times >= 2, cv::INTER_NEAREST);
            reading.lost_mm = lengthOf(lost & panel.frontal & ~near_root);
        }
        seen_before |= say[k].shown;
        cv::add(times, 1, times, is_root);
    }
    return history;
}

}  // namespace

WallHistory readTogether(const std::vector<WallView>& views, cv::Size first_size,
                         const RootSettings& settings)
{
    const cv::Rect wide = widened(first_size, views);
    std::vector<WallView> moved = views;
    for (WallView& view : moved)
        if (view.to_first) view.to_first->x[0] -= wide.x;
    const cv::Rect first({-wide.x, 0}, first_size);
    WallHistory history = readOn(wide.size(), first, moved, settings);
    history.first_seen = history.first_seen(first).clone();
    return history;
}

}  // namespace slipglass
