#include "finder_patterns.h"

#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>
#include <utility>

namespace slipglass {
namespace {

using Contour = std::vector<cv::Point>;

constexpr double kLargestSide = 160;      // px
constexpr std::size_t kMostFinders = 60;  // three a label; more are grains, and triples grow with the cube

struct Nest {
    int outer, core;  ///< indices of contours
};

/// Outer squares that hold exactly a light square that holds a dark one.
std::vector<Nest> nestedThrice(const std::vector<Contour>& contours, const std::vector<cv::Vec4i>& tree)
{
    std::vector<Nest> nests;
    for (std::size_t i = 0; i < contours.size(); ++i) {
        if (contours[i].size() < 2 * kSmallestFinder) continue;
        const int light = tree[i][2];
        if (light < 0) continue;
        // The noise in a light ring may make specks; the core is the largest thing in the largest hole.
        const auto largest = [&](int first) {
            int best = first;
            for (int k = first; k >= 0; k = tree[k][0])
                if (contours[k].size() > contours[best].size()) best = k;
            return best;
        };
        const int hole = largest(light);
        if (tree[hole][2] >= 0) nests.push_back({static_cast<int>(i), largest(tree[hole][2])});
    }
    return nests;
}

/// The corners of a figure that is nearly a parallelogram: hull corners farthest out along its two diagonals.
std::array<cv::Point2d, 4> squareCorners(const Contour& contour)
{
    Contour hull;
    cv::convexHull(contour, hull);
    std::vector<cv::Point> quad;
    const double round = cv::arcLength(hull, true);
    for (int percent = 3; percent <= 12; ++percent) {
        cv::approxPolyDP(hull, quad, 0.01 * percent * round, true);
        if (quad.size() <= 4) break;
    }
    std::array<cv::Point2d, 4> corners;
    if (quad.size() == 4) {
        std::copy(quad.begin(), quad.end(), corners.begin());
    } else {
        std::array<cv::Point2f, 4> box;
        cv::minAreaRect(hull).points(box.data());
        std::copy(box.begin(), box.end(), corners.begin());
    }
    return corners;
}

double length(cv::Point2d p)
{
    return std::hypot(p.x, p.y);
}
double cross(cv::Point2d a, cv::Point2d b)
{
    return a.x * b.y - a.y * b.x;
}

FinderPattern patternOf(const Contour& outer)
{
    FinderPattern pattern;
    pattern.corners = squareCorners(outer);
    for (std::size_t k = 0; k < 4; ++k) {
        pattern.centre += 0.25 * pattern.corners[k];
        pattern.side += 0.25 * length(pattern.corners[k] - pattern.corners[(k + 1) % 4]);
    }
    return pattern;
}

bool hasFinderProportions(const FinderPattern& pattern, const Contour& outer, const Contour& core)
{
    const double area = cv::contourArea(outer);
    const double side = pattern.side;
    if (side < kSmallestFinder || side > kLargestSide) return false;
    if (area < 0.4 * side * side) return false;  // true squares keep 0.5 even when seen at 60 degrees
    const double core_share = cv::contourArea(core) / area;  // 9/49 = 0.18; blur and noise widen it
    if (core_share < 0.06 || core_share > 0.40) return false;
    const cv::Rect box = cv::boundingRect(core);
    const cv::Point2d core_centre(box.x + 0.5 * (box.width - 1), box.y + 0.5 * (box.height - 1));
    return length(core_centre - pattern.centre) < 0.12 * side;
}

void addPatterns(const cv::Mat& dark, std::vector<FinderPattern>& found)
{
    std::vector<Contour> contours;
    std::vector<cv::Vec4i> tree;
    cv::findContours(dark, contours, tree, cv::RETR_TREE, cv::CHAIN_APPROX_NONE);
    for (const Nest& nest : nestedThrice(contours, tree)) {
        const FinderPattern pattern = patternOf(contours[nest.outer]);
        if (!hasFinderProportions(pattern, contours[nest.outer], contours[nest.core])) continue;
        const bool known = std::any_of(found.begin(), found.end(), [&](const auto& other) {
            return length(other.centre - pattern.centre) < 0.3 * pattern.side;
        });
        if (!known) found.push_back(pattern);
    }
}

/// Where a leg between two finder patterns runs, counted in modules by their own width along it.
double modulesAlong(const FinderPattern& a, const FinderPattern& b, cv::Point2d right, cv::Point2d down,
                    bool along_right)
{
    const auto width = [&](const FinderPattern& finder) {
        const auto c = cornersAlong(finder, right, down);
        return along_right ? 0.5 * (length(c[1] - c[0]) + length(c[2] - c[3]))
                           : 0.5 * (length(c[3] - c[0]) + length(c[2] - c[1]));
    };
    return 7 + length(b.centre - a.centre) / (0.5 * (width(a) + width(b)) / 7);
}

/// Angle between two lines, 0..1 as its sine.
double sineBetween(cv::Point2d a, cv::Point2d b)
{
    return std::abs(cross(a, b)) / (length(a) * length(b) + 1e-9);
}

/// How far three patterns are from a code's; large = not one.
double irregularity(const CodeCandidate& c, double& modules)
{
    constexpr double kNoCode = 1e9;
    const cv::Point2d right = c.top_right.centre - c.top_left.centre;
    const cv::Point2d down = c.bottom_left.centre - c.top_left.centre;
    if (sineBetween(right, down) < 0.6) return kNoCode;
    const double across = modulesAlong(c.top_left, c.top_right, right, down, true);
    const double along = modulesAlong(c.top_left, c.bottom_left, right, down, false);
    modules = 0.5 * (across + along);
    const double mismatch = std::abs(across - along) / modules;
    if (mismatch > 0.3 || modules < 18 || modules > 62) return kNoCode;
    double twist = 0;  // every square's sides run along the legs
    for (const FinderPattern* finder : {&c.top_left, &c.top_right, &c.bottom_left}) {
        const auto k = cornersAlong(*finder, right, down);
        twist = std::max({twist, sineBetween(k[1] - k[0], right), sineBetween(k[3] - k[0], down)});
    }
    if (twist > 0.45) return kNoCode;
    return mismatch + twist + 0.02 * std::abs(modules - 21) / 4;
}

}  // namespace

std::vector<FinderPattern> findFinderPatterns(const cv::Mat& grey, bool small_only)
{
    std::vector<FinderPattern> found;
    cv::Mat smooth, dark;
    cv::GaussianBlur(grey, smooth, {}, 0.8);
    // Neighbourhoods wider than a finder pattern, so that its dark core is no lighter than its surroundings.
    for (const int block : {41, 111}) {
        if (small_only && block > 2 * kSmallestFinder * 1.5) break;
        cv::adaptiveThreshold(smooth, dark, 255, cv::ADAPTIVE_THRESH_MEAN_C, cv::THRESH_BINARY_INV, block, 6);
        addPatterns(dark, found);
    }
    if (found.size() <= kMostFinders) return found;
    std::stable_sort(found.begin(), found.end(),
                     [](const auto& a, const auto& b) { return a.side > b.side; });
    found.resize(kMostFinders);
    return found;
}

std::array<cv::Point2d, 4> cornersAlong(const FinderPattern& finder, cv::Point2d right, cv::Point2d down)
{
    const cv::Point2d r = right / length(right), d = down / length(down);
    const auto outermost = [&](cv::Point2d direction) {
        return *std::max_element(finder.corners.begin(), finder.corners.end(),
                                 [&](auto a, auto b) { return a.dot(direction) < b.dot(direction); });
    };
    return {outermost(-r - d), outermost(r - d), outermost(r + d), outermost(d - r)};
}

std::vector<CodeCandidate> groupFinderPatterns(const std::vector<FinderPattern>& finders)
{
    std::vector<std::pair<double, CodeCandidate>> ranked;
    const auto similar = [](const auto& a, const auto& b) {
        return a.side < 1.8 * b.side && b.side < 1.8 * a.side;
    };
    for (const auto& corner : finders)
        for (const auto& right : finders) {
            if (&right == &corner || !similar(right, corner)) continue;
            for (const auto& below : finders) {
                if (&below == &corner || &below == &right || !similar(below, corner)) continue;
                if (cross(right.centre - corner.centre, below.centre - corner.centre) <= 0) continue;
                CodeCandidate candidate{corner, right, below, 0};
                const double irregular = irregularity(candidate, candidate.modules);
                if (irregular < 1) ranked.emplace_back(irregular, candidate);
            }
        }
    std::stable_sort(ranked.begin(), ranked.end(),
                     [](const auto& a, const auto& b) { return a.first < b.first; });
    std::vector<CodeCandidate> candidates;
    candidates.reserve(ranked.size());
    for (const auto& [rank, candidate] : ranked) candidates.push_back(candidate);
    return candidates;
}

}  // namespace slipglass
