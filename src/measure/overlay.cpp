#include "overlay.h"

#include <algorithm>
#include <opencv2/imgproc.hpp>
#include <vector>

namespace slipglass {

namespace {

// Told apart in grey and by colour-blind eyes as well: roots are filled, the water is a thick line, the
// outline a thin one. The last number is how much of the photo they hide.
const cv::Scalar kRoot(60, 90, 255, 166), kRootEdge(20, 20, 90, 255), kWater(255, 170, 40, 255),
    kWaterEdge(70, 30, 0, 255), kOutline(90, 230, 250, 255);

std::vector<cv::Point> scaledLine(const std::vector<PhotoPoint>& line, double scale)
{
    std::vector<cv::Point> points;
    points.reserve(line.size());
    for (const PhotoPoint& p : line) {
        const PicturePoint at = pictureFromPhoto(p, 1 / scale);
        points.emplace_back(cvRound(at.x_px), cvRound(at.y_px));
    }
    return points;
}

void drawOutline(cv::Mat& layer, const Look& look, double scale, int thin)
{
    if (look.seen.outline.size() != 4) return;
    // Down the left side, round the front of the foot, up the right side and back along the rim.
    std::vector<PhotoPoint> outline = {look.seen.outline[0]};
    if (look.panel) {
        const View view(look.panel->inner);
        for (int i = -20; i <= 20; ++i)
            outline.push_back(view.photoFromWall({view.grazingAngle() * i / 20, 0}));
    }
    outline.push_back(look.seen.outline[1]);
    cv::polylines(layer, std::vector<std::vector<cv::Point>>{scaledLine(outline, scale)}, true, kOutline,
                  thin, cv::LINE_AA);
}

void drawRoots(cv::Mat& layer, const Look& look)
{
    if (!cv::countNonZero(look.root_mask)) return;
    cv::Mat roots;
    cv::resize(look.root_mask, roots, layer.size(), 0, 0, cv::INTER_NEAREST);
    layer.setTo(kRoot, roots);
    std::vector<std::vector<cv::Point>> edges;
    cv::findContours(roots, edges, cv::RETR_LIST, cv::CHAIN_APPROX_NONE);
    cv::drawContours(layer, edges, -1, kRootEdge, 1);
}

void drawWaterLine(cv::Mat& layer, const Look& look, double scale, int thin)
{
    if (look.seen.water_line.empty()) return;
    const std::vector<std::vector<cv::Point>> line = {scaledLine(look.seen.water_line, scale)};
    cv::polylines(layer, line, false, kWaterEdge, 3 * thin + 2, cv::LINE_AA);
    cv::polylines(layer, line, false, kWater, 2 * thin, cv::LINE_AA);
}

}  // namespace

cv::Mat drawFound(const Look& look, cv::Size full_size, cv::Size size)
{
    cv::Mat layer(size, CV_8UC4, cv::Scalar(0, 0, 0, 0));
    const double scale = static_cast<double>(size.width) / full_size.width;
    const int thin = std::max(1, size.height / 700);
    drawOutline(layer, look, scale, thin);
    drawRoots(layer, look);
    drawWaterLine(layer, look, scale, thin);
    // Smoothed edges fade to black as well as to nothing: give them their full colour back.
    layer.forEach<cv::Vec4b>([](cv::Vec4b& px, const int*) {
        if (px[3] == 0 || px[3] == 255 || px[3] == kRoot[3]) return;
        for (int i = 0; i < 3; ++i) px[i] = cv::saturate_cast<uchar>(px[i] * 255 / px[3]);
    });
    return layer;
}

cv::Mat underOverlay(const cv::Mat& bgr)
{
    const double shrink = std::min(1.0, 1600.0 / std::max(bgr.cols, bgr.rows));
    if (shrink == 1) return bgr;
    const cv::Size size(std::max(1, cvRound(bgr.cols * shrink)), std::max(1, cvRound(bgr.rows * shrink)));
    cv::Mat reduced;
    cv::resize(bgr, reduced, size, 0, 0, shrink < 0.6 ? cv::INTER_AREA : cv::INTER_LINEAR);
    return reduced;
}

cv::Mat laidOver(const cv::Mat& bgr, const cv::Mat& layer)
{
    cv::Mat drawn = bgr.clone();
    for (int y = 0; y < drawn.rows; ++y) {
        auto* px = drawn.ptr<cv::Vec3b>(y);
        const auto* over = layer.ptr<cv::Vec4b>(y);
        for (int x = 0; x < drawn.cols; ++x) {
            const int hides = over[x][3];
            if (!hides) continue;
            for (int i = 0; i < 3; ++i)
                px[x][i] = static_cast<uchar>((px[x][i] * (255 - hides) + over[x][i] * hides + 127) / 255);
        }
    }
    return drawn;
}

cv::Mat drawOverlay(const Picture& picture, const Look& look)
{
    const cv::Mat photo = underOverlay(picture.bgr);
    return laidOver(photo, drawFound(look, picture.full_size, photo.size()));
}

}  // namespace slipglass
