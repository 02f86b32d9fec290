#include "slipglass/wall/parts.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <opencv2/imgproc.hpp>

#include "slipglass/panel/in_mask.h"
#include "slipglass/roots/length.h"

namespace slipglass {

namespace {

/// Share of a part's even share of the wall that must be in sight for its figures to stand for it. Guess.
constexpr double kLeastInSight = 0.25;

/// Half the arc of the frontal wall, radians: the widest row tells, since glare or a label hide some.
double halfArc(const Panel& panel)
{
    double most = 0;
    for (int row = 0; row < panel.frontal.rows; ++row) {
        const double radius = panel.inner.cone.radiusAt(panel.pointAt(0, row).y);
        const cv::Rect seen = cv::boundingRect(panel.frontal.row(row));
        if (seen.empty() || radius <= 0) continue;
        const double left = panel.pointAt(seen.x, row).x;
        const double right = panel.pointAt(seen.x + seen.width - 1, row).x;
        most = std::max({most, -left / radius, right / radius});
    }
    return most;
}

/// Length of the roots of each piece on each part, px: piece -> one entry a part.
using Pieces = std::map<int, std::vector<double>>;

Pieces piecesOver(const cv::Mat& parts, const cv::Mat& mask, size_t count, int reach_px)
{
    cv::Mat label;
    cv::connectedComponents(dilated(mask, reach_px), label, 8);
    const cv::Mat skeleton = skeletonOf(mask);
    std::vector<cv::Point> line;
    cv::findNonZero(skeleton, line);
    Pieces pieces;
    if (line.empty()) return pieces;
    const double each = rootLengthPx(mask, skeleton) / static_cast<double>(line.size());
    for (const cv::Point at : line) {
        auto& lengths = pieces.try_emplace(label.at<int>(at), count, 0.0).first->second;
        if (const int part = parts.at<uchar>(at)) lengths[static_cast<size_t>(part - 1)] += each;
    }
    return pieces;
}

/// Sets what roots that cross borders say of the parts.
void readCrossings(std::vector<PartReading>& parts, const Pieces& pieces, double unit_per_px,
                   double crossing_mm)
{
    for (size_t i = 0; i < parts.size(); ++i) {
        parts[i].shared = 0;
        if (i + 1 < parts.size()) parts[i].meets_next = 0;
    }
    for (const auto& [piece, lengths] : pieces) {
        const auto reaches = [&, &of_part = lengths](size_t i) {
            return of_part[i] * unit_per_px >= std::max(crossing_mm, unit_per_px);
        };
        size_t reached = 0;
        for (size_t i = 0; i < parts.size(); ++i) reached += reaches(i) ? 1 : 0;
        if (reached < 2) continue;
        for (size_t i = 0; i < parts.size(); ++i) {
            if (!reaches(i)) continue;
            *parts[i].shared += lengths[i] * unit_per_px;
            if (i + 1 < parts.size() && reaches(i + 1))
                *parts[i].meets_next += std::min(lengths[i], lengths[i + 1]) * unit_per_px;
        }
    }
}

}  // namespace

cv::Mat partsOfWall(const WallView& view, cv::Size reference_size, const std::vector<AcrossWall>& cuttings)
{
    if (!view.to_reference || reference_size.empty() || cuttings.empty()) return {};
    const Panel& panel = view.panel;
    const double half = halfArc(panel);
    if (half <= 0) return {};
    std::vector<double> borders;  // radians from the line that faced the camera on the first photo
    for (size_t i = 0; i + 1 < cuttings.size(); ++i)
        borders.push_back(half * (cuttings[i] + cuttings[i + 1]) / 2);
    cv::Mat map_x, map_y, parts(panel.frontal.size(), CV_8U);
    view.to_reference->maps(map_x, map_y);
    const int reference_middle = reference_size.width / 2;
    for (int row = 0; row < parts.rows; ++row) {
        const double radius = panel.inner.cone.radiusAt(panel.pointAt(0, row).y);
        for (int column = 0; column < parts.cols; ++column) {
            const double angle = (map_x.at<float>(row, column) - reference_middle) * panel.unit_per_px /
                                 std::max(radius, 1e-9);
            const auto part = std::upper_bound(borders.begin(), borders.end(), angle) - borders.begin();
            parts.at<uchar>(row, column) = static_cast<uchar>(part + 1);
        }
    }
    return parts;
}

std::vector<PartReading> readParts(const WallView& view, const RootMap& roots, cv::Size reference_size,
                                   const std::vector<AcrossWall>& cuttings, const PartSettings& settings)
{
    const cv::Mat parts = partsOfWall(view, reference_size, cuttings);
    if (parts.empty()) return {};
    const Panel& wall = view.panel;
    std::vector<PartReading> readings(cuttings.size());
    const double even_share = cv::countNonZero(wall.frontal) / static_cast<double>(cuttings.size());
    for (size_t i = 0; i < readings.size(); ++i) {
        Panel panel = wall;
        panel.frontal =
            cv::Mat(wall.frontal & (parts == static_cast<int>(i) + 1));  // not into the wall's own
        if (cv::countNonZero(panel.frontal) >= kLeastInSight * even_share)
            readings[i].figures = rootFigures(panel, roots);
    }
    const int reach_px = cvRound(settings.meeting_mm / 2 / wall.unit_per_px);
    readCrossings(readings, piecesOver(parts, roots.mask & wall.frontal, cuttings.size(), reach_px),
                  wall.unit_per_px, settings.crossing_mm);
    return readings;
}

}  // namespace slipglass
