#include "slipglass/roots/length.h"

#include <array>
#include <numbers>
#include <opencv2/imgproc.hpp>
#include <opencv2/ximgproc.hpp>
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

/// Distance of each mask pixel's centre to the centre of the nearest pixel that is not in the mask.
cv::Mat depthIn(const cv::Mat& framed_mask)
{
    cv::Mat depth;
    cv::distanceTransform(framed_mask, depth, cv::DIST_L2, cv::DIST_MASK_PRECISE);
    return depth;
}

/// All short spurs at once: of the two that run into the corners of a square end neither is the root's own.
bool pruneOnce(cv::Mat& line, const cv::Mat& depth)
{
    std::vector<cv::Point> off;
    for (const cv::Point at : linePixels(line)) {
        if (stepsAt(line, at).all() != 1) continue;
        const auto spur = spurFrom(line, at);
        if (spur && spur->length < 2.0 * depth.at<float>(spur->fork))
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
    cv::Mat line;
    cv::ximgproc::thinning(roots, line, cv::ximgproc::THINNING_GUOHALL);
    const cv::Mat depth = depthIn(roots);
    for (int round = 0; round < kPruningRounds && pruneOnce(line, depth); ++round) {
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
    const cv::Mat depth = depthIn(framed(mask(box)));
    double sum = 0;
    for (const cv::Point at : linePixels(line)) {
        const int ends = 2 - stepsAt(line, at).all();
        // The edge of the mask runs half a pixel before the first pixel outside.
        if (ends > 0) sum += ends * (depth.at<float>(at) - 0.5);
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
