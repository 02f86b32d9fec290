#include "overlay.h"

#include <algorithm>
#include <opencv2/imgproc.hpp>
#include <vector>

namespace slipglass {

namespace {

// Told apart in grey and by colour-blind eyes as well: roots are filled, the water is a thick line, the
// outline a thin one.
const cv::Scalar kRoot(60, 90, 255), kRootEdge(20, 20, 90), kWater(255, 170, 40), kWaterEdge(70, 30, 0),
    kOutline(90, 230, 250);

std::vector<cv::Point> scaledLine(const std::vector<PhotoPoint>& line, double scale)
{
    std::vector<cv::Point> points;
    points.reserve(line.size());
    for (const PhotoPoint& p : line)
        points.emplace_back(cvRound((p.x_px + 0.5) * scale), cvRound((p.y_px + 0.5) * scale));
    return points;
}

}  // namespace

cv::Mat drawOverlay(const Picture& picture, const Look& look)
{
    const double shrink = std::min(1.0, 1600.0 / std::max(picture.bgr.cols, picture.bgr.rows));
    cv::Mat drawn, roots;
    const cv::Size size(std::max(1, cvRound(picture.bgr.cols * shrink)),
                        std::max(1, cvRound(picture.bgr.rows * shrink)));
    cv::resize(picture.bgr, drawn, size, 0, 0, cv::INTER_AREA);
    const double scale = static_cast<double>(drawn.cols) / picture.full_size.width;
    const int thin = std::max(1, drawn.rows / 700);

    if (look.seen.outline.size() == 4) {
        // Down the left side, round the front of the foot, up the right side and back along the rim.
        std::vector<PhotoPoint> outline = {look.seen.outline[0]};
        if (look.panel) {
            const View view(look.panel->inner);
            for (int i = -20; i <= 20; ++i)
                outline.push_back(view.photoFromWall({view.grazingAngle() * i / 20, 0}));
        }
        outline.push_back(look.seen.outline[1]);
        cv::polylines(drawn, std::vector<std::vector<cv::Point>>{scaledLine(outline, scale)}, true, kOutline,
                      thin, cv::LINE_AA);
    }
    if (cv::countNonZero(look.root_mask)) {
        cv::resize(look.root_mask, roots, drawn.size(), 0, 0, cv::INTER_NEAREST);
        cv::Mat tint(drawn.size(), CV_8UC3, kRoot), mixed;
        cv::addWeighted(drawn, 0.35, tint, 0.65, 0, mixed);
        mixed.copyTo(drawn, roots);
        std::vector<std::vector<cv::Point>> edges;
        cv::findContours(roots, edges, cv::RETR_LIST, cv::CHAIN_APPROX_NONE);
        cv::drawContours(drawn, edges, -1, kRootEdge, 1);
    }
    if (!look.seen.water_line.empty()) {
        const std::vector<std::vector<cv::Point>> line = {scaledLine(look.seen.water_line, scale)};
        cv::polylines(drawn, line, false, kWaterEdge, 3 * thin + 2, cv::LINE_AA);
        cv::polylines(drawn, line, false, kWater, 2 * thin, cv::LINE_AA);
    }
    return drawn;
}

}  // namespace slipglass
