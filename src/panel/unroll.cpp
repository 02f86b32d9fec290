#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>

#include "slipglass/panel/colour.h"
#include "slipglass/panel/panel.h"

namespace slipglass {

namespace {

/// Wall of a panel point: y is height above the inner base, x the arc at that height.
WallPoint wallAt(const Panel& panel, PanelPoint point)
{
    return {point.x_mm / panel.inner.cone.radiusAt(point.y_mm), point.y_mm};
}

/// Corners of the label's paper in panel px. The paper reaches past the code by the quiet zone and the
/// printed id; its edge is found as the end of the bright area round the code.
void eraseLabel(Panel& panel, const Label& label)
{
    std::vector<cv::Point> code;
    for (const cv::Point2d& corner : label.corners) {
        const auto point = panelFromPhoto(panel, {corner.x, corner.y});
        if (!point) return;
        code.emplace_back(cvRound(panel.columnAt(point->x_mm)), cvRound(panel.rowAt(point->y_mm)));
    }
    const double side = label.qr_side_mm / panel.mm_per_px;
    const cv::Rect frame({}, panel.bgr.size());
    cv::Rect reach = cv::boundingRect(code);
    reach -= cv::Point(static_cast<int>(0.6 * side), static_cast<int>(0.6 * side));
    reach += cv::Size(static_cast<int>(1.2 * side), static_cast<int>(1.6 * side));
    reach &= frame;
    if (reach.empty()) return;

    cv::Mat grey, bright, inside = cv::Mat::zeros(panel.bgr.size(), CV_8U);
    cv::cvtColor(panel.bgr(reach), grey, cv::COLOR_BGR2GRAY);
    std::vector<cv::Point> local(code);
    for (cv::Point& p : local) p -= reach.tl();
    cv::Mat code_mask = cv::Mat::zeros(reach.size(), CV_8U);
    cv::fillConvexPoly(code_mask, local, 255);
    double paper = 0, ink = 255;
    cv::Mat calm;
    cv::medianBlur(grey, calm, 5);
    cv::minMaxLoc(calm, &ink, &paper, nullptr, nullptr, code_mask);
    bright = calm > ink + 0.6 * (paper - ink);
    cv::morphologyEx(bright, bright, cv::MORPH_OPEN, cv::getStructuringElement(cv::MORPH_RECT, {9, 9}));
    bright |= code_mask;
    cv::Mat labels;
    const int count = cv::connectedComponents(bright, labels, 8);
    const cv::Point middle = (local[0] + local[2]) / 2;
    if (count < 2 || !cv::Rect({}, reach.size()).contains(middle)) return;
    std::vector<cv::Point> points, hull;
    cv::findNonZero(labels == labels.at<int>(middle), points);
    // A rectangle: a glint or pale grain touching the paper sticks out of it and must not widen it much.
    const cv::RotatedRect box = cv::minAreaRect(points);
    cv::Mat paper_mask = cv::Mat::zeros(reach.size(), CV_8U);
    cv::Point2f corners[4];
    box.points(corners);
    std::vector<cv::Point> polygon(corners, corners + 4);
    cv::fillConvexPoly(paper_mask, polygon, 255);
    cv::dilate(paper_mask, paper_mask, cv::getStructuringElement(cv::MORPH_ELLIPSE, {5, 5}));
    panel.wall(reach).setTo(0, paper_mask);
}

/// Bright colourless areas larger than any root or grain would look: the wall mirrors a window there.
cv::Mat glareOn(const Panel& panel, double lightness)
{
    const cv::Mat lab = labFromBgr(panel.bgr);
    std::vector<cv::Mat> planes;
    cv::split(lab, planes);
    cv::Mat glare = planes[0] > lightness;
    cv::morphologyEx(glare, glare, cv::MORPH_OPEN, cv::getStructuringElement(cv::MORPH_ELLIPSE, {13, 13}));
    return glare;
}

}  // namespace

PhotoPoint photoFromPanel(const Panel& panel, PanelPoint point)
{
    return View(panel.inner).photoFromWall(wallAt(panel, point));
}

std::optional<PanelPoint> panelFromPhoto(const Panel& panel, PhotoPoint point)
{
    const auto wall = View(panel.inner).wallFromPhoto(point);
    if (!wall) return std::nullopt;
    return PanelPoint{wall->angle * panel.inner.cone.radiusAt(wall->z), wall->z};
}

Panel unrollWall(const cv::Mat& bgr, double reduction, const Tub& tub, const PanelSettings& settings)
{
    Panel panel;
    panel.inner = innerWall(tub.pose);
    panel.in_mm = tub.in_mm;
    panel.mm_per_px = settings.mm_per_px;
    const View view(panel.inner);
    const double surface = tub.surfaceMean() - tub.pose.cone.wall;
    const double highest = *std::max_element(tub.surface_z.begin(), tub.surface_z.end()) - tub.pose.cone.wall;
    panel.px_per_mm = view.pxPerUnit(surface / 2);
    // Room for what stands above the surface and for the foot below, so that both can be seen in the step's
    // picture.
    panel.top_mm = std::ceil(highest + 3);
    const double grazing =
        view.grazingAngle() - std::sqrt(2 * settings.edge_mm / panel.inner.cone.radiusAt(surface / 2));
    const double widest = panel.inner.cone.radiusAt(panel.top_mm) * (grazing + 2 * CV_PI / 180);
    const int rows = static_cast<int>(std::ceil((panel.top_mm + 2) / panel.mm_per_px));
    const int columns = 2 * static_cast<int>(std::ceil(widest / panel.mm_per_px)) + 1;

    // A finer picture than the panel is smoothed first, or its noise would be sampled instead of averaged.
    cv::Mat source = bgr;
    double source_reduction = reduction;
    const double oversampling = panel.px_per_mm / reduction * panel.mm_per_px;
    if (oversampling > 1.4) {
        cv::resize(bgr, source, {}, 1 / oversampling, 1 / oversampling, cv::INTER_AREA);
        source_reduction = reduction * static_cast<double>(bgr.cols) / source.cols;
    }

    panel.bgr.create(rows, columns, CV_8UC3);
    panel.wall = cv::Mat::zeros(rows, columns, CV_8U);
    cv::Mat frontal = cv::Mat::zeros(rows, columns, CV_8U);
    cv::Mat map_x(rows, columns, CV_32F), map_y(rows, columns, CV_32F);
    const double frontal_cosine = std::cos(settings.frontal_deg * CV_PI / 180);
    for (int r = 0; r < rows; ++r)
        for (int c = 0; c < columns; ++c) {
            const PanelPoint point = panel.pointAt(c, r);
            const WallPoint wall = wallAt(panel, point);
            const PhotoPoint photo = view.photoFromWall(wall);
            const double x = (photo.x_px + 0.5) / source_reduction - 0.5,
                         y = (photo.y_px + 0.5) / source_reduction - 0.5;
            map_x.at<float>(r, c) = static_cast<float>(x);
            map_y.at<float>(r, c) = static_cast<float>(y);
            const bool framed = x > 0 && y > 0 && x < source.cols - 1 && y < source.rows - 1;
            if (!framed || std::abs(wall.angle) > grazing || point.y_mm < settings.floor_mm ||
                point.y_mm > tub.surfaceAt(wall.angle) - tub.pose.cone.wall)
                continue;
            panel.wall.at<uchar>(r, c) = 255;
            if (view.viewCosine(wall) >= frontal_cosine) frontal.at<uchar>(r, c) = 255;
        }
    cv::remap(source, panel.bgr, map_x, map_y, cv::INTER_LINEAR, cv::BORDER_REPLICATE);
    if (tub.label) eraseLabel(panel, *tub.label);
    panel.visible = panel.wall & ~glareOn(panel, settings.glare_lightness);
    panel.frontal = panel.visible & frontal;
    return panel;
}

cv::Mat photoMask(const Panel& panel, const cv::Mat& mask, cv::Size size, double reduction)
{
    cv::Mat result = cv::Mat::zeros(size, CV_8U);
    const View view(panel.inner);
    const double grazing = view.grazingAngle();
    // The part of the picture the panel comes from.
    double left = size.width, right = 0, top = size.height, bottom = 0;
    for (const double angle : {-grazing, -grazing / 2, 0.0, grazing / 2, grazing})
        for (const double z : {panel.top_mm, 0.0}) {
            const PhotoPoint p = view.photoFromWall({angle, z});
            left = std::min(left, p.x_px / reduction);
            right = std::max(right, p.x_px / reduction);
            top = std::min(top, p.y_px / reduction);
            bottom = std::max(bottom, p.y_px / reduction);
        }
    const int x0 = std::max(0, static_cast<int>(left) - 8),
              x1 = std::min(size.width, static_cast<int>(right) + 8);
    const int y0 = std::max(0, static_cast<int>(top) - 8),
              y1 = std::min(size.height, static_cast<int>(bottom) + 8);
    for (int y = y0; y < y1; ++y) {
        uchar* out = result.ptr(y);
        for (int x = x0; x < x1; ++x) {
            const auto wall = view.wallFromPhoto({(x + 0.5) * reduction - 0.5, (y + 0.5) * reduction - 0.5});
            if (!wall || wall->z > panel.top_mm || wall->z < 0) continue;
            const double column = panel.columnAt(wall->angle * panel.inner.cone.radiusAt(wall->z)),
                         row = panel.rowAt(wall->z);
            const int c = static_cast<int>(column), r = static_cast<int>(row);
            if (c < 0 || r < 0 || c + 1 >= mask.cols || r + 1 >= mask.rows) continue;
            const double fc = column - c, fr = row - r;
            const uchar *a = mask.ptr(r) + c, *b = mask.ptr(r + 1) + c;
            const double value =
                (a[0] * (1 - fc) + a[1] * fc) * (1 - fr) + (b[0] * (1 - fc) + b[1] * fc) * fr;
            if (value > 127) out[x] = 255;
        }
    }
    return result;
}

}  // namespace slipglass
