#include "slipglass/wall/wall_history.h"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <cstring>
#include <deque>
#include <opencv2/imgproc.hpp>

#include "canvas.h"
#include "one_place.h"
#include "slipglass/panel/in_mask.h"
#include "slipglass/roots/length.h"
#include "slipglass/roots/pieces.h"

namespace slipglass {

namespace {

/// The most one photo's log-odds count for the others: all photos of a wall err alike. Guess; chosen as the
/// best of 0.9, 1.8 and 3 for each rendered tub by the other five (docs/measured/roots.md), it is 3 every
/// time.
constexpr float kMostSay = 3;
/// Smoothing of what other photos say, panel px: two panels lie on each other to about half a pixel.
constexpr double kSmoothing_px = 0.7;
/// Shortest piece told as hidden or lost, mm: shorter ones are edges that moved. Guess.
constexpr double kLeastPiece_mm = 3;

/// What one view says, on the side's reference panel and what lies beside it.
struct Say {
    cv::Mat weight;  ///< CV_16U, see one_place.h: the upper halves of floats, which hold it to 0.4 %
    cv::Mat shown;   ///< CV_8U, 255 where it shows the wall
};

/// exp(log-odds), in halves; most places are as the one before.
cv::Mat weightsOf(const cv::Mat& log_odds)
{
    cv::Mat halves(log_odds.size(), CV_16U);
    for (int y = 0; y < log_odds.rows; ++y) {
        const auto* from = log_odds.ptr<float>(y);
        auto* to = halves.ptr<ushort>(y);
        float last = 0;
        ushort half = 0x3F80;  // 1
        for (int x = 0; x < log_odds.cols; ++x) {
            if (from[x] != last) {
                const float weight = std::exp(last = from[x]);
                std::uint32_t bits = 0;
                std::memcpy(&bits, &weight, sizeof bits);
                half = static_cast<ushort>((bits + 0x8000) >> 16);  // rounded
            }
            to[x] = half;
        }
    }
    return halves;
}

/// A row of weights, from its halves.
void openRow(const cv::Mat& halves, int y, std::vector<float>& row)
{
    const auto* from = halves.ptr<ushort>(y);
    row.resize(static_cast<size_t>(halves.cols));
    for (size_t x = 0; x < row.size(); ++x) {
        const std::uint32_t bits = static_cast<std::uint32_t>(from[x]) << 16;
        std::memcpy(&row[x], &bits, sizeof bits);
    }
}

/// Beside the reference panel a view counts where it sees the wall from the front: at the very sides the
/// plastic's edge shines like a root, on photo after photo (Measured: T06).
Say sayOn(const Canvas& canvas, const WallView& view, const Way& there)
{
    cv::Mat log_odds = cv::max(cv::min(view.roots.log_odds, kMostSay), -kMostSay);
    view.roots.log_odds.copyTo(log_odds, cv::abs(view.roots.log_odds) >= kSaidLogOdds);
    log_odds = there.moved(log_odds, cv::INTER_LINEAR);
    cv::Mat shown = there.moved(view.panel.frontal, cv::INTER_NEAREST);
    const cv::Mat visible = there.moved(view.panel.visible, cv::INTER_NEAREST);
    visible(canvas.referencePanel()).copyTo(shown(canvas.referencePanel()));
    log_odds.setTo(0, shown == 0);
    return {weightsOf(log_odds), shown};
}

/// Length of the part of a root map's centre lines that lies on `part`.
double lengthWithin(const cv::Mat& mask, const cv::Mat& part, double unit_per_px)
{
    const cv::Mat skeleton = skeletonOf(mask);
    const int all = cv::countNonZero(skeleton);
    if (!all) return 0;
    return rootLengthPx(mask, skeleton) * unit_per_px * cv::countNonZero(skeleton & part) / all;
}

/// A view's roots when the others have had their say.
RootMap together(const WallView& view, const Way& back, const cv::Mat& from_others, float usual,
                 const RootSettings& settings)
{
    const Panel& panel = view.panel;
    cv::Mat smooth;
    cv::GaussianBlur(from_others, smooth, {}, kSmoothing_px);
    const cv::Mat others = back.moved(smooth, cv::INTER_LINEAR);
    cv::Mat log_odds = view.roots.log_odds + others;
    // Where glare hides the wall the photo itself has no say.
    cv::Mat(others + usual).copyTo(log_odds, panel.wall & ~panel.visible);
    view.roots.log_odds.copyTo(log_odds, cv::abs(view.roots.log_odds) >= kSaidLogOdds);
    return rootsFromLogOdds(panel, log_odds, view.roots.if_root_browned, settings);
}

RootMap alone(const WallView& view, const RootSettings& settings)
{
    return rootsFromLogOdds(view.panel, view.roots.log_odds, view.roots.if_root_browned, settings);
}

/// One photo after the other, with those after it that are asked.
class Reader {
public:
    Reader(const SidePhotos& side, WallSum from, const RootSettings& settings)
        : side_(side),
          settings_(settings),
          rates_{static_cast<float>(settings.appears_per_photo),
                 static_cast<float>(settings.vanishes_per_photo)},
          sum_(std::move(from))
    {
        if (sum_.photos > 0 && liesOn(side)) return;
        sum_ = {};  // none, or one that a season file has of another side
        sum_.root = cv::Mat(side.reference_size, CV_32F, cv::Scalar(kAtFirst));
        sum_.first_seen = cv::Mat::zeros(side.reference_size, CV_16U);
        sum_.shown = cv::Mat::zeros(side.reference_size, CV_8U);
        sum_.times = sum_.shown.clone();
    }

    const WallSum& sum() const { return sum_; }
    /// What the sum lies on.
    Canvas canvas() const { return {sum_.left, side_.reference_size, sum_.root.cols}; }

    /// Reads the next photo, and adds it to the sum.
    /// @param wanted  lengths are; else of the reading only the roots are.
    void readNext(bool wanted, const std::function<void(size_t, const WallView&, WallReading)>& read)
    {
        const auto nth = static_cast<size_t>(sum_.photos);
        openUntil(std::min(side_.count, nth + kLaterAsked + 1));
        const std::optional<Say> now = std::move(window_.front());
        window_.pop_front();
        if (now) {
            const WallView view = side_.view(nth).value();
            const Way back = Way::back(canvas(), view);
            WallReading reading = readingOf(nth, view, back, wanted);
            add(nth, view, now->shown, back, reading, wanted);
            if (wanted) read(nth, view, std::move(reading));
        }
        std::vector<float> weights;
        for (int y = 0; y < sum_.root.rows; ++y) {
            if (now) openRow(now->weight, y, weights);
            stepOn(sum_.root.ptr<float>(y), now ? weights.data() : nullptr, sum_.root.cols, rates_);
        }
        ++sum_.photos;
    }

private:
    void openUntil(size_t end)
    {
        for (size_t next = static_cast<size_t>(sum_.photos) + window_.size(); next < end; ++next) {
            const std::optional<WallView> view = side_.view(next);
            std::optional<Say> say;
            if (view && view->to_reference) {
                grow(widened(canvas(), *view));
                say = sayOn(canvas(), *view, Way::there(canvas(), *view));
            }
            window_.push_back(std::move(say));
        }
    }

    /// Beside what the photos so far have shown each of them has said nothing.
    void grow(const Canvas& wider)
    {
        const Canvas before = canvas();
        if (wider == before) return;
        const int left = wider.left - before.left, right = wider.width - left - before.width;
        float root = kAtFirst;
        for (int i = 0; i < sum_.photos; ++i) stepOn(&root, nullptr, 1, rates_);
        const auto pad = [&](cv::Mat& picture, double value) {
            cv::copyMakeBorder(picture, picture, 0, 0, left, right, cv::BORDER_CONSTANT, cv::Scalar(value));
        };
        pad(sum_.root, root);
        pad(sum_.first_seen, 0);
        pad(sum_.shown, 0);
        pad(sum_.times, 0);
        sum_.left = wider.left;
        for (size_t i = 0; i < window_.size(); ++i) {
            if (!window_[i]) continue;
            const WallView view = side_.view(static_cast<size_t>(sum_.photos) + i).value();
            window_[i] = sayOn(wider, view, Way::there(wider, view));
        }
    }

    WallReading readingOf(size_t nth, const WallView& view, const Way& back, bool wanted) const
    {
        WallReading reading;
        if (!settings_.history || side_.count < 2) {
            reading.photos_read = nth > 0 ? 2 : 1;  // its own log-odds already rest on the first photo
            reading.roots = alone(view, settings_);
            return reading;
        }
        reading.photos_read = static_cast<int>(std::min(side_.count, nth + kLaterAsked + 1));
        const float usual = usualLogOdds(rates_, nth == 0);
        cv::Mat others(sum_.root.size(), CV_32F);
        std::vector<std::vector<float>> weights(window_.size());
        for (int y = 0; y < others.rows; ++y) {
            std::vector<const float*> later;
            for (size_t i = 0; i < window_.size(); ++i) {
                if (!window_[i]) continue;
                openRow(window_[i]->weight, y, weights[i]);
                later.push_back(weights[i].data());
            }
            fromOthers(sum_.root.ptr<float>(y), later, others.cols, usual, rates_, others.ptr<float>(y));
        }
        reading.roots = together(view, back, others, usual, settings_);
        if (wanted) reading.hidden = lengthOf(reading.roots.mask & ~view.panel.visible, view);
        return reading;
    }

    /// Length of what is no mere edge of a piece.
    static double lengthOf(const cv::Mat& part, const WallView& view)
    {
        const cv::Mat pieces = piecesFrom(kLeastPiece_mm, part, view.panel.unit_per_px);
        return rootLengthPx(pieces, skeletonOf(pieces)) * view.panel.unit_per_px;
    }

    /// What is new and what is gone on a photo, and its roots into the sum.
    /// @param shown  where the view shows the wall, on the canvas.
    void add(size_t nth, const WallView& view, const cv::Mat& shown, const Way& back, WallReading& reading,
             bool wanted)
    {
        const Panel& panel = view.panel;
        const cv::Mat& mask = reading.roots.mask;
        const cv::Mat is_root = Way::there(canvas(), view).moved(mask, cv::INTER_NEAREST),
                      was_root = sum_.first_seen > 0;
        const cv::Mat fresh = is_root & ~was_root;
        sum_.first_seen.setTo(static_cast<int>(nth) + 1, fresh);
        if (nth > 0 && wanted) {
            const cv::Mat gained = back.moved(fresh & sum_.shown, cv::INTER_NEAREST);
            reading.gained = lengthWithin(mask & panel.frontal, gained, panel.unit_per_px);
            // An edge that moved is no loss, nor is what one photo alone took for a root.
            const cv::Mat near_root = dilated(mask, 3);
            const cv::Mat lost = back.moved(sum_.times >= 2, cv::INTER_NEAREST);
            reading.lost = lengthOf(lost & panel.frontal & ~near_root, view);
        }
        sum_.shown |= shown;
        cv::add(sum_.times, 1, sum_.times, is_root);
    }

    bool liesOn(const SidePhotos& side) const
    {
        const cv::Size size = side.reference_size;
        return static_cast<size_t>(sum_.photos) <= side.count && sum_.root.rows == size.height &&
               sum_.left >= 0 && sum_.left <= sum_.root.cols - size.width;
    }

    const SidePhotos& side_;
    const RootSettings& settings_;
    ComeAndGo rates_;
    WallSum sum_;
    /// What the next photos say, from the sum on; empty where one has no say.
    std::deque<std::optional<Say>> window_;
};

WallSum copyOf(const WallSum& sum)
{
    WallSum copy = sum;
    for (cv::Mat* picture : {&copy.root, &copy.first_seen, &copy.shown, &copy.times})
        *picture = picture->clone();
    return copy;
}

}  // namespace

SideReading readSide(const SidePhotos& side, WallSum from, size_t first, const RootSettings& settings,
                     const std::function<void(size_t nth, const WallView&, WallReading)>& read)
{
    Reader reader(side, std::move(from), settings);
    SideReading done;
    while (static_cast<size_t>(reader.sum().photos) < side.count) {
        const auto nth = static_cast<size_t>(reader.sum().photos);
        if (nth > 0 && nth + kLaterAsked == side.count) done.to_go_on = copyOf(reader.sum());
        reader.readNext(nth >= first, read);
    }
    done.first_seen = reader.sum().first_seen(reader.canvas().referencePanel()).clone();
    return done;
}

}  // namespace slipglass
