#include "slipglass/roots/length.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <opencv2/imgproc.hpp>
#include <stdexcept>
#include <vector>

namespace slipglass {

namespace {

// Vossepoel & Smeulders (1982).
constexpr double kEvenStep = 0.980;
constexpr double kOddStep = 1.406;
constexpr double kCorner = -0.091;

/// A spur can carry a fork of its own, so the second round takes off what the first laid bare.
constexpr int kPruningRounds = 2;

/// In turn round a pixel: even directions are horizontal or vertical, odd ones diagonal.
const std::array<cv::Point, 8> kNeighbours{
    {{1, 0}, {1, 1}, {0, 1}, {-1, 1}, {-1, 0}, {-1, -1}, {0, -1}, {1, -1}}};

void requireMask(const cv::Mat& mask, const char* name)
{
    if (!mask.empty() && mask.type() != CV_8UC1)
        throw std::invalid_argument(std::string(name) + " is not CV_8UC1");
}

/// A black frame of one pixel spares every look at a neighbour the question whether there is one.
cv::Mat framed(const cv::Mat& mask)
{
    cv::Mat out;
    cv::copyMakeBorder(mask, out, 1, 1, 1, 1, cv::BORDER_CONSTANT, cv::Scalar(0));
    return out;
}

bool isOdd(int direction)
{
    return direction % 2 == 1;
}

/// Whether a step leads from a line pixel in one of the eight directions. Two pixels that touch at a corner
/// are joined by a diagonal step only if no pixel beside them joins them already.
bool steps(const cv::Mat& line, cv::Point from, int direction)
{
    const auto on = [&](int d) { return line.at<uchar>(from + kNeighbours[d]) != 0; };
    if (!on(direction)) return false;
    return !isOdd(direction) || (!on((direction + 7) % 8) && !on((direction + 1) % 8));
}

struct Steps {
    int even = 0, odd = 0;
    int all() const { return even + odd; }
};

Steps stepsAt(const cv::Mat& line, cv::Point at)
{
    Steps found;
    for (int d = 0; d < 8; ++d)
        if (steps(line, at, d)) ++(isOdd(d) ? found.odd : found.even);
    return found;
}

std::vector<cv::Point> linePixels(const cv::Mat& line)
{
    std::vector<cv::Point> pixels;
    cv::findNonZero(line, pixels);
    return pixels;
}

struct Spur {
    std::vector<cv::Point> pixels;  ///< from the free end up to, not including, the fork
    cv::Point fork;
    double length = 0;
};

/// The way from a free end to the first fork; empty when it leads to another free end.
std::optional<Spur> spurFrom(const cv::Mat& line, cv::Point end)
{
    Spur spur{{end}, end};
    int came_from = -1;
    for (cv::Point at = end;;) {
        int next = -1;
        for (int d = 0; d < 8 && next < 0; ++d)
            if (d != came_from && steps(line, at, d)) next = d;
        if (next < 0) return std::nullopt;
        at += kNeighbours[next];
        came_from = (next + 4) % 8;
        spur.length += isOdd(next) ? std::numbers::sqrt2 : 1.0;
        if (stepsAt(line, at).all() > 2) {
            spur.fork = at;
            return spur;
        }
        spur.pixels.push_back(at);
    }
}

/// Distance of a mask pixel's centre to the centre of the nearest pixel that is not in the mask. Roots are
/// thin, so that few have to be looked at.
double depthAt(const cv::Mat& framed_mask, cv::Point at)
{
    int nearest = 1 << 30;  // squared
    for (int reach = 1; reach * reach < nearest; ++reach)
        for (int y = std::max(0, at.y - reach); y <= std::min(framed_mask.rows - 1, at.y + reach); ++y) {
            const int dy = y - at.y;
            const uchar* row = framed_mask.ptr(y);
            const int step = std::abs(dy) == reach ? 1 : 2 * reach;
            for (int x = at.x - reach; x <= at.x + reach; x += step)
                if (x >= 0 && x < framed_mask.cols && row[x] == 0)
                    nearest = std::min(nearest, dy * dy + (x - at.x) * (x - at.x));
        }
    return std::sqrt(static_cast<double>(nearest));
}

/// Whether a pixel goes in each of the two half steps of Guo & Hall (1989), by which of its neighbours are
/// in, a bit each from the one above clockwise.
std::array<std::array<bool, 256>, 2> guoHall()
{
    std::array<std::array<bool, 256>, 2> goes{};
    for (unsigned around = 0; around < 256; ++around) {
        const auto in = [&](unsigned k) { return (around >> (k % 8) & 1U) != 0; };
        int crossings = 0, pairs = 0, other_pairs = 0;
        for (unsigned k = 0; k < 8; k += 2) {
            crossings += !in(k) && (in(k + 1) || in(k + 2));
            pairs += in(k + 7) || in(k);
            other_pairs += in(k) || in(k + 1);
        }
        const int neighbours = std::min(pairs, other_pairs);
        if (crossings != 1 || neighbours < 2 || neighbours > 3) continue;
        goes[0][around] = !((in(4) || in(5) || !in(7)) && in(6));
        goes[1][around] = !((in(0) || in(1) || !in(3)) && in(2));
    }
    return goes;
}

/// Thins a framed mask to lines, as OpenCV's own thinning of that name does. Only what is left of the mask is
/// looked at: it is little, and soon less.
void thin(cv::Mat& mask)
{
    static const auto goes = guoHall();
    const auto step = static_cast<std::ptrdiff_t>(mask.step);
    const std::array<std::ptrdiff_t, 8> around{-step, 1 - step, 1, step + 1, step, step - 1, -1, -step - 1};
    std::vector<uchar*> left, off;
    for (int y = 1; y + 1 < mask.rows; ++y)
        for (uchar *at = mask.ptr(y) + 1, *end = at + mask.cols - 2; at != end; ++at)
            if (*at) left.push_back(at);
    for (bool changed = true; changed;) {
        changed = false;
        for (const auto& half : goes) {
            off.clear();
            size_t kept = 0;
            for (uchar* at : left) {
                unsigned in = 0;
                for (unsigned k = 0; k < 8; ++k) in |= (at[around[k]] & 1U) << k;
                if (half[in])
                    off.push_back(at);
                else
                    left[kept++] = at;
            }
            left.resize(kept);
            for (uchar* at : off) *at = 0;
            changed = changed || !off.empty();
        }
    }
}

/// All short spurs at once: of the two that run into the corners of a square end neither is the root's own.
bool pruneOnce(cv::Mat& line, const cv::Mat& framed_mask)
{
    std::vector<cv::Point> off;
    for (const cv::Point at : linePixels(line)) {
        if (stepsAt(line, at).all() != 1) continue;
        const auto spur = spurFrom(line, at);
        if (spur && spur->length < 2.0 * depthAt(framed_mask, spur->fork))
            off.insert(off.end(), spur->pixels.begin(), spur->pixels.end());
    }
    for (const cv::Point at : off) line.at<uchar>(at) = 0;
    return !off.empty();
}

}  // namespace

cv::Mat skeletonOf(const cv::Mat& mask)
{
    requireMask(mask, "mask");
    cv::Mat skeleton = cv::Mat::zeros(mask.size(), CV_8UC1);
    if (mask.empty()) return skeleton;
    const cv::Rect box = cv::boundingRect(mask);
    if (box.empty()) return skeleton;

    const cv::Mat roots = framed(mask(box));
    cv::Mat line = roots.clone();
    thin(line);
    for (int round = 0; round < kPruningRounds && pruneOnce(line, roots); ++round) {
    }
    line(cv::Rect({1, 1}, box.size())).copyTo(skeleton(box));
    return skeleton;
}

double centreLineLengthPx(const cv::Mat& skeleton)
{
    requireMask(skeleton, "skeleton");
    if (skeleton.empty()) return 0;
    const cv::Mat line = framed(skeleton);
    // Each step is seen from both its ends, hence the halves below.
    long even_ends = 0, odd_ends = 0, corners = 0;
    for (const cv::Point at : linePixels(line)) {
        const Steps found = stepsAt(line, at);
        even_ends += found.even;
        odd_ends += found.odd;
        if (found.even == 1 && found.odd == 1) ++corners;
    }
    return kEvenStep * even_ends / 2 + kOddStep * odd_ends / 2 + kCorner * corners;
}

double endCorrectionPx(const cv::Mat& mask, const cv::Mat& skeleton)
{
    requireMask(mask, "mask");
    requireMask(skeleton, "skeleton");
    if (mask.size() != skeleton.size()) throw std::invalid_argument("mask and skeleton differ in size");
    const cv::Rect box = mask.empty() ? cv::Rect() : cv::boundingRect(mask);
    if (box.empty()) return 0;
    const cv::Mat line = framed(skeleton(box));
    const cv::Mat roots = framed(mask(box));
    double sum = 0;
    for (const cv::Point at : linePixels(line)) {
        const int ends = 2 - stepsAt(line, at).all();
        // The edge of the mask runs half a pixel before the first pixel outside.
        if (ends > 0) sum += ends * (depthAt(roots, at) - 0.5);
    }
    return sum;
}

double rootLengthPx(const cv::Mat& mask, const cv::Mat& skeleton)
{
    return centreLineLengthPx(skeleton) + endCorrectionPx(mask, skeleton);
}

double lineIntersectLengthPx(const cv::Mat& skeleton, int grid_px)
{
    requireMask(skeleton, "skeleton");
    if (grid_px < 1) throw std::invalid_argument("grid_px is below 1");
    if (skeleton.empty()) return 0;
    const cv::Mat line = framed(skeleton);
    // Test lines run between pixels, so that a step either crosses one or does not.
    const auto crosses = [&](int from, int to) {
        return from != to && std::min(from, to) % grid_px == grid_px / 2;
    };
    long crossings = 0;
    for (const cv::Point at : linePixels(line)) {
        for (int d = 0; d < 4; ++d) {  // the other four are these, seen from the far end
            if (!steps(line, at, d)) continue;
            const cv::Point to = at + kNeighbours[d];
            crossings += static_cast<int>(crosses(at.x, to.x)) + static_cast<int>(crosses(at.y, to.y));
        }
    }
    return std::numbers::pi / 4 * crossings * grid_px;
}

std::optional<double> meanWidthPx(const cv::Mat& mask, const cv::Mat& skeleton)
{
    const double length = rootLengthPx(mask, skeleton);
    if (!(length > 0)) return std::nullopt;
    return cv::countNonZero(mask) / length;
}

}  // namespace slipglass
