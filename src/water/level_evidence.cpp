#include "level_evidence.h"

#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>

#include "slipglass/panel/colour.h"

namespace slipglass {

namespace {

constexpr double kClip = 6;         // L*: a grain or a root across the line must not outvote the rest
constexpr double kStandsOut = 1.5;  // L*: brighter at all
constexpr double kGapMm = 0.45;     // the line itself and the blur of the picture
constexpr double kNearMm = 1.0, kFarMm = 4.0;
constexpr double kLeastMm = 0.8;                       // less of the wall is too few grains
constexpr double kLeastLine = 0.8, kLeastStep = 0.12;  // worth a closer look
constexpr double kBlockMm = 6.0;

/// One panel's planes as blocks see them.
struct Planes {
    cv::Mat line, stands_out;  ///< level line, clipped, L*; share of pixels where it stands out
    cv::Mat over;              ///< row less the row above, clipped, L*
    cv::Mat log_light;         ///< log luminance, a pixel each
    cv::Mat contrast;          ///< square of the grains' detail in log_light
    cv::Mat chroma;            ///< over lightness
};

cv::Mat logLuminance(const cv::Mat& lightness)
{
    cv::Mat result(lightness.size(), CV_32F);
    for (int r = 0; r < lightness.rows; ++r)
        for (int c = 0; c < lightness.cols; ++c)
            result.at<float>(r, c) =
                static_cast<float>(std::log(luminance(lightness.at<float>(r, c)) + 0.001));
    return result;
}

Planes planesOf(const cv::Mat& bgr, double mm_per_px)
{
    std::vector<cv::Mat> lab;
    cv::split(labFromBgr(bgr), lab);
    Planes planes;
    cv::Mat smooth, line, over, chroma;
    cv::GaussianBlur(lab[0], smooth, {}, 0.9 / mm_per_px, 0.12 / mm_per_px);
    // Row itself against the rows 0.6 mm above and below.
    const int reach = std::max(1, static_cast<int>(std::lround(0.6 / mm_per_px)));
    cv::Mat kernel(2 * reach + 1, 1, CV_32F, cv::Scalar(0));
    kernel.at<float>(0) = kernel.at<float>(2 * reach) = -0.5F;
    kernel.at<float>(reach) = 1;
    cv::filter2D(smooth, line, CV_32F, kernel, {-1, -1}, 0, cv::BORDER_REPLICATE);
    planes.line = cv::min(cv::max(line, -kClip), kClip);
    kernel = cv::Mat(2 * reach + 1, 1, CV_32F, cv::Scalar(0));
    kernel.at<float>(0) = -1;
    kernel.at<float>(reach) = 1;
    cv::filter2D(smooth, over, CV_32F, kernel, {-1, -1}, 0, cv::BORDER_REPLICATE);
    cv::Mat((line > kStandsOut) & (over > 0.5 * kStandsOut)).convertTo(planes.stands_out, CV_32F, 1 / 255.0);
    planes.over = cv::min(cv::max(over, -kClip), kClip);
    planes.log_light = logLuminance(lab[0]);
    cv::Mat wide;
    cv::GaussianBlur(planes.log_light, wide, {}, 1.0 / mm_per_px);
    const cv::Mat detail = planes.log_light - wide;
    planes.contrast = detail.mul(detail);
    cv::magnitude(lab[1], lab[2], chroma);
    planes.chroma = chroma / (lab[0] + 5);
    return planes;
}

/// Block values of a plane, with sums down the rows.
struct Field {
    cv::Mat rows;
    BlockWindows windows;
    Field(const WallBlocks& blocks, const cv::Mat& plane, const cv::Mat& mask)
        : rows(blocks.means(plane, mask)), windows(rows)
    {
    }
};

/// Everything a search asks of one panel.
struct Wall {
    Field line, over, stands_out, light, contrast, chroma;

    Wall(const WallBlocks& blocks, const Planes& p, const cv::Mat& mask)
        : line(blocks, p.line, mask),
          over(blocks, p.over, mask),
          stands_out(blocks, p.stands_out, mask),
          light(blocks, p.log_light, mask),
          contrast(blocks, p.contrast, mask),
          chroma(blocks, p.chroma, mask)
    {
    }
};

std::vector<Tilt> tilts()
{
    std::vector<Tilt> all;
    for (int slope = -3; slope <= 3; ++slope)
        for (int bow = -2; bow <= 2; ++bow) all.push_back({0.006 * slope, 0.4 * bow});
    return all;
}

/// A tilt has to earn its place: the pose is right more often than not. 0 level .. 1 steepest and most bent.
double steepness(const Tilt& tilt)
{
    return (std::abs(tilt.slope) / 0.018 + std::abs(tilt.bow_mm) / 0.8) / 2;
}

double less(double above, double below)
{
    return above - below;
}

double moreBelow(double above, double below)
{
    return below - above;
}

/// Of two mean squares: the log of what they are squares of.
double logRatio(double above, double below)
{
    return 0.5 * std::log((above + 1e-4) / (below + 1e-4));
}

using Compare = double (*)(double above, double below);

/// How far from a line, and how wide, the wall is looked at on both sides.
struct Reach {
    double gap_mm, width_mm;
};
constexpr Reach kFar{kGapMm, kFarMm}, kNear{0.3, kNearMm}, kBeyond{2.2, kFarMm};

class Search {
public:
    Search(const Panel& panel, const std::optional<EarlierPanel>& first);
    LevelSearch run();

private:
    int px(double mm) const { return std::max(1, static_cast<int>(std::lround(mm / panel_.mm_per_px))); }
    bool known(int row) const { return row >= 0 && row < blocks_.rows() && known_[static_cast<size_t>(row)]; }
    bool enough(int blocks) const { return blocks >= std::max(3, 2 * blocks_.count() / 5); }
    void findKnownRows();
    int heelRow() const;
    double meanAt(const Field& field, double row, const Tilt& tilt) const;
    double lineAt(const Wall& wall, double row, const Tilt& tilt) const;
    Vote difference(const Field& field, double row, const Tilt& tilt, Reach reach, Compare compare,
                    double least) const;
    Step step(const Field& field, double row, const Tilt& tilt) const;
    double edgeAt(double row, const Tilt& tilt) const;
    LevelEvidence evidenceAt(double row, const Tilt& tilt) const;
    template <class Score, class Weight>
    void addPeaks(const Score& score, const Weight& weight, double least, LevelSearch& search) const;
    void addHidden(LevelSearch& search) const;

    const Panel& panel_;
    WallBlocks blocks_;
    std::optional<Wall> today_, first_;
    std::optional<Field> change_;
    std::vector<bool> known_;
    int floor_row_ = 0, top_row_ = 0;  // what is compared ends above the one and below the other
};

Search::Search(const Panel& panel, const std::optional<EarlierPanel>& first)
    : panel_(panel), blocks_(panel, kBlockMm)
{
    const Planes now = planesOf(panel.bgr, panel.mm_per_px);
    today_.emplace(blocks_, now, panel.frontal);
    findKnownRows();
    if (!first) return;
    const cv::Mat both = panel.frontal & first->visible;
    if (cv::countNonZero(both) < 0.3 * cv::countNonZero(panel.frontal)) return;
    const Planes then = planesOf(first->bgr, panel.mm_per_px);
    first_.emplace(blocks_, then, both);
    cv::Mat smooth_now, smooth_then;  // aligned to a pixel or two: what is finer than a grain would be noise
    cv::GaussianBlur(now.log_light, smooth_now, {}, 0.25 / panel.mm_per_px);
    cv::GaussianBlur(then.log_light, smooth_then, {}, 0.25 / panel.mm_per_px);
    change_.emplace(blocks_, smooth_now - smooth_then, both);
}

void Search::findKnownRows()
{
    std::vector<int> seen;
    seen.reserve(static_cast<size_t>(panel_.frontal.rows));
    for (int r = 0; r < panel_.frontal.rows; ++r) seen.push_back(cv::countNonZero(panel_.frontal.row(r)));
    const int widest = seen.empty() ? 0 : *std::max_element(seen.begin(), seen.end());
    for (const int n : seen) known_.push_back(n >= 0.4 * widest && n >= 20);
}

/// The tub's own rounded heel mirrors light in a line too, about 2 mm up: water is looked for above it.
int Search::heelRow() const
{
    const int top = static_cast<int>(panel_.rowAt(2.9)), bottom = static_cast<int>(panel_.rowAt(0.8));
    int heel = bottom;
    double brightest = 0;
    for (int r = top; r <= bottom; ++r) {
        const double line = known(r) ? lineAt(*today_, r, {}) : 0;
        if (line <= brightest) continue;
        brightest = line;
        heel = r;
    }
    return heel;
}

double Search::meanAt(const Field& field, double row, const Tilt& tilt) const
{
    double sum = 0;
    int blocks = 0;
    for (int b = 0; b < blocks_.count(); ++b) {
        const int r = blocks_.rowIn(b, row, tilt);
        if (r < 0 || r >= blocks_.rows() || std::isnan(field.rows.at<float>(r, b))) continue;
        sum += field.rows.at<float>(r, b);
        ++blocks;
    }
    return enough(blocks) ? sum / blocks : 0;
}

/// A line is brighter than both sides; the upper side of a mere edge is as bright as what is above it.
double Search::lineAt(const Wall& wall, double row, const Tilt& tilt) const
{
    const double line = meanAt(wall.line, row, tilt);
    return line <= 0 ? line : std::min(line, meanAt(wall.over, row, tilt));
}

/// Above against below, block by block. Below ends at the heel, above at the medium's surface.
Vote Search::difference(const Field& field, double row, const Tilt& tilt, Reach reach, Compare compare,
                        double least) const
{
    std::vector<double> values;
    const int gap = px(reach.gap_mm), width = px(reach.width_mm), fewest = std::min(width, px(kLeastMm));
    const int narrow = px(std::min(reach.gap_mm, kGapMm));
    for (int b = 0; b < blocks_.count(); ++b) {
        const int r = blocks_.rowIn(b, row, tilt);
        // Near the floor there may be no room for a wide gap below.
        const int below = r + 1 + (r + 1 + gap + fewest > floor_row_ ? narrow : gap);
        const int below_end = std::min(below + width, floor_row_);
        const int above_end = r - gap, above = std::max(above_end - width, top_row_);
        if (below_end - below < fewest || above_end - above < fewest) continue;
        const auto lower = field.windows.mean(b, below, below_end),
                   upper = field.windows.mean(b, above, above_end);
        if (lower && upper) values.push_back(compare(*upper, *lower));
    }
    return enough(static_cast<int>(values.size())) ? voteOf(values, least) : Vote{};
}

Step Search::step(const Field& field, double row, const Tilt& tilt) const
{
    constexpr double kSome = 0.08;  // log of luminance: what a strip must show to agree
    return {difference(field, row, tilt, kFar, less, kSome), difference(field, row, tilt, kNear, less, kSome),
            difference(field, row, tilt, kBeyond, less, kSome)};
}

/// How sharply the wall darkens downwards at a line: over the first panel where there is one.
double Search::edgeAt(double row, const Tilt& tilt) const
{
    return difference(change_ ? *change_ : today_->light, row, tilt, {0.15, 1.5}, less, 0).mean;
}

LevelEvidence Search::evidenceAt(double row, const Tilt& tilt) const
{
    LevelEvidence at;
    at.row = row;
    at.tilt = tilt;
    at.line = lineAt(*today_, row, tilt);
    at.line_share = meanAt(today_->stands_out, row, tilt);
    at.darker = step(today_->light, row, tilt);
    at.room = at.darker.far.blocks > 0;
    at.calmer = difference(today_->contrast, row, tilt, kFar, logRatio, 0);
    at.richer = difference(today_->chroma, row, tilt, kFar, moreBelow, 0);
    if (!first_) return at;
    at.change = step(*change_, row, tilt);
    at.compared = at.change.far.blocks > 0;
    at.first_darker = step(first_->light, row, tilt);
    for (int off = -px(0.6); off <= px(0.6); ++off)
        at.first_line = std::max(at.first_line, lineAt(*first_, row + off, tilt));
    const Vote before = difference(first_->contrast, row, tilt, kFar, logRatio, 0);
    if (before.blocks == 0) return at;
    at.calmer.mean -= before.mean;
    at.calmer.error = std::hypot(at.calmer.error, before.error);
    return at;
}

/// Where `score` (row, tilt) peaks along the height, in the middle of `weight`. A place that is already a
/// candidate is not taken twice.
template <class Score, class Weight>
void Search::addPeaks(const Score& score, const Weight& weight, double least, LevelSearch& search) const
{
    const auto rows = static_cast<size_t>(blocks_.rows());
    std::vector<double> best(rows, 0);
    std::vector<Tilt> tilt(rows);
    const std::vector<Tilt> all = tilts();
    for (int r = search.highest_row; r <= search.lowest_row; ++r) {
        const auto i = static_cast<size_t>(r);
        const double level = score(r, Tilt{});
        best[i] = level;
        for (const Tilt& t : all) {
            const double s = score(r, t) * (1 - 0.15 * steepness(t));
            if (s <= best[i]) continue;
            best[i] = s;
            tilt[i] = t;
        }
    }
    const auto near = [&](int r) {
        return std::any_of(search.candidates.begin(), search.candidates.end(),
                           [&](const LevelEvidence& c) { return std::abs(c.row - r) <= px(0.6); });
    };
    for (int r = search.highest_row; r <= search.lowest_row; ++r) {
        const auto i = static_cast<size_t>(r);
        if (best[i] < least || best[i] < best[i - 1] || best[i] <= best[i + 1] || near(r)) continue;
        // Middle of the peak, to a fraction of a row.
        double sum = 0, at = 0;
        for (int off = -2; off <= 2; ++off) {
            const double w = std::max(0.0, weight(r + off, tilt[i]));
            sum += w;
            at += w * (r + off);
        }
        LevelEvidence found = evidenceAt(r, tilt[i]);
        if (sum > 0) found.row = at / sum;
        search.candidates.push_back(found);
    }
}

void Search::addHidden(LevelSearch& search) const
{
    for (int r = search.highest_row; r <= search.lowest_row; ++r) {
        if (known(r)) continue;
        HiddenBand band{r, r, {}, {}};
        while (band.bottom_row < search.lowest_row && !known(band.bottom_row + 1)) ++band.bottom_row;
        r = band.bottom_row;
        if (band.bottom_row - band.top_row < px(2)) continue;  // less cannot hide both sides of a surface
        // As if the band were the line: the wall right above it against the wall right below it.
        const double middle = 0.5 * (band.top_row + band.bottom_row);
        const double half = 0.5 * (band.bottom_row - band.top_row) * panel_.mm_per_px;
        const Reach beside{half + 0.3, kFarMm};
        if (band.bottom_row + px(kLeastMm) < floor_row_) {
            band.across = difference(today_->light, middle, {}, beside, less, 0);
            if (change_) band.change = difference(*change_, middle, {}, beside, less, 0);
        }
        search.hidden.push_back(band);
    }
}

LevelSearch Search::run()
{
    LevelSearch search;
    search.foot_seen = known(static_cast<int>(panel_.rowAt(2.0)));
    if (!search.foot_seen) return search;
    const int heel = heelRow();
    search.lowest_row = heel - px(0.9);
    floor_row_ = heel - px(0.4);
    while (!known(top_row_)) ++top_row_;
    search.highest_row = top_row_ + px(2);
    const auto line = [&](int r, const Tilt& t) { return lineAt(*today_, r, t); };
    const auto brightness = [&](int r, const Tilt& t) { return meanAt(today_->line, r, t); };
    const auto edge = [&](int r, const Tilt& t) { return edgeAt(r, t); };
    addPeaks(line, brightness, kLeastLine, search);
    addPeaks(edge, edge, kLeastStep, search);
    std::stable_sort(search.candidates.begin(), search.candidates.end(),
                     [](const LevelEvidence& a, const LevelEvidence& b) { return a.row < b.row; });
    addHidden(search);
    return search;
}

}  // namespace

LevelSearch searchLevels(const Panel& panel, const std::optional<EarlierPanel>& first)
{
    return Search(panel, first).run();
}

}  // namespace slipglass
