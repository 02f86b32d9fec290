#include "overlay.h"

#include <algorithm>
#include <array>
#include <cstring>
#include <opencv2/imgproc.hpp>
#include <vector>

#include "shrink.h"

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

/// Calls each(x, px) for the pixels of a row on which something is drawn. Most are empty, many side by side.
template <class Px, class Each>
void overDrawn(Px* row, int columns, const Each& each)
{
    constexpr int kLeap = 8;
    static constexpr std::array<uchar, kLeap * sizeof(cv::Vec4b)> kEmpty{};
    for (int x = 0; x < columns;) {
        if (x + kLeap <= columns &&
            std::memcmp(reinterpret_cast<const uchar*>(row + x), kEmpty.data(), kEmpty.size()) == 0) {
            x += kLeap;
            continue;
        }
        for (const int end = std::min(x + kLeap, columns); x < end; ++x)
            if (row[x][3]) each(x, row[x]);
    }
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
    for (int y = 0; y < layer.rows; ++y)
        overDrawn(layer.ptr<cv::Vec4b>(y), layer.cols, [](int, cv::Vec4b& px) {
            if (px[3] == 255 || px[3] == kRoot[3]) return;
            for (int i = 0; i < 3; ++i) px[i] = cv::saturate_cast<uchar>(px[i] * 255 / px[3]);
        });
    return layer;
}

cv::Mat underOverlay(const cv::Mat& bgr)
{
    const cv::Mat reduced = shrunk(bgr, 1600);
    return reduced.data == bgr.data ? bgr.clone() : reduced;
}

void layOver(cv::Mat& bgr, const cv::Mat& layer)
{
    for (int y = 0; y < bgr.rows; ++y) {
        auto* px = bgr.ptr<cv::Vec3b>(y);
        overDrawn(layer.ptr<cv::Vec4b>(y), layer.cols, [&](int x, const cv::Vec4b& over) {
            const int hides = over[3];
            for (int i = 0; i < 3; ++i)
                px[x][i] = static_cast<uchar>((px[x][i] * (255 - hides) + over[i] * hides + 127) / 255);
        });
    }
}

cv::Mat drawOverlay(const Picture& picture, const Look& look)
{
    cv::Mat photo = underOverlay(picture.bgr);
    layOver(photo, drawFound(look, picture.full_size, photo.size()));
    return photo;
}

}  // namespace slipglass
