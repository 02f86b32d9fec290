#include "tub_map.h"

#include <algorithm>
#include <opencv2/imgproc.hpp>

#include "slipglass/embed.h"
#include "slipglass/network/network.h"
#include "slipglass/tub/find_tub.h"

// The weights travel inside the program.
SLIPGLASS_EMBED(tub_map, SLIPGLASS_TUB_MAP)

namespace slipglass {

namespace {

constexpr int kLongSide = 384;  // px: what the network was trained at
constexpr int kStep = 2;        // and answers at half its size

const Network& network()
{
    static const Network net(tubMapBytes());
    return net;
}

/// B, G, R, each 0..1, and 1 where the code of the tub's label lies.
cv::Mat shown(const cv::Mat& bgr, const cv::Mat& code)
{
    cv::Mat planes = cv::Mat::zeros(paddedForNetwork(bgr.size()), CV_32FC4),
            here = planes(cv::Rect({}, bgr.size()));
    cv::Mat part;
    cv::merge(std::vector<cv::Mat>{bgr, code}, part);
    part.convertTo(here, CV_32F, 1.0 / 255);
    return planes;
}

/// White where the code of the tub's label lies.
void drawCode(cv::Mat& plane, const Label& label, double reduction, cv::Point origin)
{
    std::vector<cv::Point> corners;
    for (const PhotoPoint& c : label.corners) {
        const PicturePoint p = pictureFromPhoto({c.x_px - origin.x, c.y_px - origin.y}, reduction);
        corners.emplace_back(cvRound(p.x_px), cvRound(p.y_px));
    }
    cv::fillConvexPoly(plane, corners, 255);
}

}  // namespace

std::string_view tubMapBytes()
{
    return embedded::tub_map();
}

TubMap tubMap(const cv::Mat& bgr, cv::Size full_size, const std::optional<Label>& label, const cv::Rect& part)
{
    const double bgr_px = static_cast<double>(bgr.cols) / full_size.width;
    const cv::Rect seen =
        cv::Rect(cvRound(part.x * bgr_px), cvRound(part.y * bgr_px),
                 std::max(1, cvRound(part.width * bgr_px)), std::max(1, cvRound(part.height * bgr_px))) &
        cv::Rect({}, bgr.size());
    const double shrink = static_cast<double>(kLongSide) / std::max(seen.width, seen.height);
    const cv::Size size(std::max(1, cvRound(seen.width * shrink)),
                        std::max(1, cvRound(seen.height * shrink)));
    cv::Mat small = bgr(seen);
    // Halves cost a tenth of what other sizes do, and change nothing as long as much more than asked is left.
    while (std::max(small.cols, small.rows) >= 5 * kLongSide)
        cv::resize(small, small, {}, 0.5, 0.5, cv::INTER_AREA);
    cv::resize(small, small, size, 0, 0, shrink < 1 ? cv::INTER_AREA : cv::INTER_LINEAR);
    const double reduction =
        static_cast<double>(std::max(part.width, part.height)) / std::max(size.width, size.height);

    cv::Mat code = cv::Mat::zeros(size, CV_8U);
    if (label) drawCode(code, *label, reduction, part.tl());
    const std::vector<cv::Mat> said =
        planesOf(network().run(shown(small, code), {"map"})[0], {size.width / kStep, size.height / kStep});

    TubMap map;
    map.reduction = reduction * kStep;
    map.origin = part.tl();
    cv::Mat* const areas[] = {&map.medium, &map.empty, &map.cover, &map.left,
                              &map.right,  &map.foot,  &map.rim,   &map.surface};
    for (size_t i = 0; i < said.size(); ++i) *areas[i] = said[i];
    return map;
}

std::vector<EdgePoint> edgePoints(const TubMap& map, const cv::Mat& edge, bool upright, double least)
{
    constexpr int kReach = 4;     // places to either side of the strongest that still are of the same line
    constexpr int kBorder = 2;    // nearer to the picture's end the tub ends because the picture does
    if (edge.empty()) return {};  // of a strip too narrow for a place
    const cv::Mat lines = upright ? edge : edge.t();
    std::vector<EdgePoint> points;
    for (int i = 0; i < lines.rows; ++i) {
        const float* row = lines.ptr<float>(i);
        const auto peak = static_cast<int>(std::max_element(row, row + lines.cols) - row);
        if (row[peak] < least || peak < kBorder || peak >= lines.cols - kBorder) continue;
        double sum = 0, at = 0;
        for (int k = std::max(0, peak - kReach); k <= std::min(lines.cols - 1, peak + kReach); ++k) {
            const double w = row[k] * row[k];
            sum += w;
            at += w * k;
        }
        const PhotoPoint p = upright ? map.photoAt(at / sum, i) : map.photoAt(i, at / sum);
        points.push_back({p, row[peak]});
    }
    return points;
}

}  // namespace slipglass
