#include "slipglass/wall/look_back.h"

#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>

namespace slipglass {

namespace {

/// How many of a side's latest photos are tried when its first one does not match: roots grow over the grains
/// that two panels are told by, so the latest look most like today's. A try takes 0.1 s. Guess.
constexpr size_t kLatestTried = 5;
/// Share of the wall in sight from which no further photo is asked what was there before. Guess.
constexpr double kEnough = 0.98;
/// How many of a side's first photos are asked, and how many later ones besides, if the tub was turned on
/// them by so much more than on any asked before: of a long season most show nothing that is new. Guess.
constexpr size_t kFirstAsked = 8, kTurnedAsked = 8;
constexpr double kTurned_px = 30;

/// Photos of each side, in order of date; sides in order of their first.
std::vector<std::vector<const EarlierView*>> bySide(const std::vector<EarlierView>& earlier)
{
    std::vector<std::vector<const EarlierView*>> sides;
    for (const EarlierView& view : earlier) {
        auto side = std::find_if(sides.begin(), sides.end(), [&](const auto& photos) {
            return photos.front()->place.side == view.place.side;
        });
        if (side == sides.end()) side = sides.insert(sides.end(), {{}});
        side->push_back(&view);
    }
    return sides;
}

/// Today's way to a side's reference panel, if it shows that side.
/// @param first  the panel of the side's first photo.
std::optional<Drift> wayTo(const std::vector<const EarlierView*>& side, const std::optional<Panel>& first,
                           const Panel& today)
{
    std::vector<const EarlierView*> tried(side.rbegin(),
                                          side.rbegin() + std::min(kLatestTried, side.size() - 1));
    tried.insert(tried.begin(), side.front());
    for (const EarlierView* view : tried) {
        if (view->in_mm != today.in_mm) continue;
        const auto panel = view == side.front() ? first : view->panel();
        if (!panel) continue;
        const Alignment match = alignTo(today, *panel);
        if (match.good) return chained(match.drift, view->place.to_reference);
    }
    return std::nullopt;
}

/// Lays an earlier panel under what is already known of the past, in the light of that.
void layUnder(EarlierPanel& past, const EarlierPanel& later)
{
    const cv::Mat both = past.visible & later.visible, fresh = later.visible & ~past.visible;
    cv::Mat bgr = later.bgr;
    if (cv::countNonZero(both) > 2000) {
        const cv::Scalar then = cv::mean(past.bgr, both), now = cv::mean(later.bgr, both);
        cv::Scalar gain;
        for (int i = 0; i < 3; ++i) gain[i] = std::clamp(then[i] / std::max(1.0, now[i]), 0.5, 2.0);
        cv::multiply(later.bgr, gain, bgr);
    }
    bgr.copyTo(past.bgr, fresh);
    past.visible |= fresh;
}

std::vector<const EarlierView*> worthAsking(const std::vector<const EarlierView*>& side)
{
    std::vector<const EarlierView*> asked;
    const auto turn = [](const EarlierView* view) { return view->place.to_reference.x[0]; };
    for (const EarlierView* view : side) {
        if (asked.size() >= kFirstAsked + kTurnedAsked) break;
        const bool turned = std::none_of(asked.begin(), asked.end(), [&](const EarlierView* other) {
            return std::abs(turn(view) - turn(other)) < kTurned_px;
        });
        if (asked.size() < kFirstAsked || turned) asked.push_back(view);
    }
    return asked;
}

/// Each part of today's wall as the earliest photo of a side that shows it has it. Of later photos only what
/// they see from the front: towards the sides a wall is coarse and the plastic's edge shines, and a poor past
/// is worse than none (Measured: T06, Dice 0.708 with, 0.741 without).
void setPast(TubHistory& history, const std::vector<const EarlierView*>& side,
             const std::optional<Panel>& first_panel, const Panel& today)
{
    const int wanted = static_cast<int>(kEnough * cv::countNonZero(today.visible));
    for (const EarlierView* view : worthAsking(side)) {
        const bool first = view == side.front();
        const auto panel = first ? first_panel : view->panel();
        if (!panel) continue;
        Alignment way;
        mapsThrough(history.place.to_reference, view->place.to_reference, way.map_x, way.map_y);
        EarlierPanel then{way.warped(panel->bgr), way.warped(first ? panel->visible : panel->frontal)};
        if (first) history.of_reference = then.visible.clone();
        if (!history.past)
            history.past = std::move(then);
        else
            layUnder(*history.past, then);
        if (cv::countNonZero(history.past->visible & today.visible) >= wanted) break;
    }
}

}  // namespace

TubHistory lookBack(const Panel& today, const std::vector<EarlierView>& earlier)
{
    TubHistory history;
    if (!earlier.empty()) history.against_label = earlier.front().light.against_label;
    for (const auto& side : bySide(earlier)) {
        const std::optional<Panel> first = side.front()->panel();
        if (const auto way = wayTo(side, first, today)) {
            history.place = {side.front()->place.side, side.front()->place.reference_size, *way};
            history.first_light = side.front()->light;
            history.first_root_share = side.front()->root_share;
            setPast(history, side, first, today);
            return history;
        }
    }
    history.place = {"", today.bgr.size(), Drift{today.bgr.size(), {}, {}}};
    if (earlier.empty()) return history;
    const bool comparable = std::any_of(earlier.begin(), earlier.end(),
                                        [&](const EarlierView& view) { return view.in_mm == today.in_mm; });
    history.why_alone = comparable ? "not the side of the tub seen on earlier photos"
                                   : "not compared with earlier photos: it has no scale, or they have none";
    return history;
}

}  // namespace slipglass
