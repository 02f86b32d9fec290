#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>

#include "between_nodes.h"
#include "part_of_picture.h"
#include "slipglass/panel/colour.h"
#include "slipglass/panel/panel.h"

namespace slipglass {

namespace {

/// Wall of a panel point: y is height above the inner base, x the arc at that height.
WallPoint wallAt(const Panel& panel, PanelPoint point)
{
    return {point.x / panel.inner.cone.radiusAt(point.y), point.y};
}

/// How many panel columns from the middle the wall at a height is seen at a view cosine of at least `least`;
/// -1 when not even the middle is. The cosine falls towards both sides alike.
int frontalReach(const View& view, double z, double step, double least, int most)
{
    int inside = -1, outside = most + 1;
    while (outside - inside > 1) {
        const int between = (inside + outside) / 2;
        (view.viewCosine({between * step, z}) >= least ? inside : outside) = between;
    }
    return inside;
}

/// Bright colourless areas larger than any root or grain would look: the wall mirrors a window there. They
/// are looked for at half the size.
cv::Mat glareOn(const Panel& panel, double lightness)
{
    cv::Mat small, glare;
    cv::resize(panel.bgr, small, {}, 0.5, 0.5, cv::INTER_AREA);
    const cv::Mat light = lighterThan(small, lightness);
    cv::morphologyEx(light, small, cv::MORPH_OPEN, cv::getStructuringElement(cv::MORPH_ELLIPSE, {7, 7}));
    cv::resize(small, glare, panel.bgr.size(), 0, 0, cv::INTER_NEAREST);
    return glare;
}

/// Where the panel's pixels lie in a picture.
struct PanelMaps {
    PanelMaps(const Panel& panel, const View& view, cv::Size size, double reduction)
    {
        constexpr int kApart = 4;  // px; those between are told to a thousandth of a pixel
        const auto traced = [&](int row) {
            const PanelPoint first = panel.pointAt(0, row);
            const double step = kApart * panel.unit_per_px / panel.inner.cone.radiusAt(first.y);
            std::vector<cv::Point2f> places;
            const int count = nodesFor(size.width, kApart);
            for (const PhotoPoint& photo : view.photoFromRing(wallAt(panel, first), step, count)) {
                const PicturePoint place = pictureFromPhoto(photo, reduction);
                places.emplace_back(static_cast<float>(place.x_px), static_cast<float>(place.y_px));
            }
            return places;
        };
        mapBetween(size, kApart, traced, x, y);
    }
    cv::Mat x, y;
};

/// @param part  of the picture, that the panel comes from.
/// @param oversampling  px of the picture per px of the panel.
void takeColours(Panel& panel, const cv::Mat& bgr, const PanelMaps& maps, cv::Rect part, double oversampling)
{
    constexpr double kReadBetween = 2;  // px: between so many, and no more, a pixel is told. Tried: speed.md
    if (oversampling <= kReadBetween || part.empty()) {
        cv::remap(bgr, panel.bgr, maps.x, maps.y, cv::INTER_LINEAR, cv::BORDER_REPLICATE);
        return;
    }
    // A finer picture than the panel is smoothed first, or its noise would be sampled instead of averaged.
    cv::Mat source;
    cv::resize(bgr(part), source, {}, 1 / oversampling, 1 / oversampling, cv::INTER_AREA);
    const double across = static_cast<double>(source.cols) / part.width,
                 down = static_cast<double>(source.rows) / part.height;
    cv::remap(source, panel.bgr, maps.x * across + ((0.5 - part.x) * across - 0.5),
              maps.y * down + ((0.5 - part.y) * down - 0.5), cv::INTER_LINEAR, cv::BORDER_REPLICATE);
}

/// Leaves out what covers the wall.
/// @param reduction  photo px per px of the picture that the maps lead to.
void eraseCover(Panel& panel, const Tub& tub, const PanelMaps& maps, double reduction)
{
    if (!tub.cover.share.empty()) {
        // A place of the map of what covers it is many panel px: between every few of them it changes evenly.
        cv::Mat x, y, covered, fine;
        const cv::Size few(maps.x.cols / 4 + 1, maps.x.rows / 4 + 1);
        cv::resize(maps.x, x, few, 0, 0, cv::INTER_LINEAR);
        cv::resize(maps.y, y, few, 0, 0, cv::INTER_LINEAR);
        const double scale = reduction / tub.cover.reduction;
        const cv::Point2d origin = cv::Point2d(tub.cover.origin) / tub.cover.reduction;
        const double right = 0.5 * scale - 0.5 - origin.x, down = 0.5 * scale - 0.5 - origin.y;
        cv::remap(tub.cover.share, covered, x * scale + right, y * scale + down, cv::INTER_LINEAR,
                  cv::BORDER_REPLICATE);
        cv::resize(covered, fine, maps.x.size(), 0, 0, cv::INTER_LINEAR);
        panel.wall.setTo(0, fine > 0.5);
    }
    if (!tub.label) return;
    std::vector<cv::Point> code;
    for (const PhotoPoint& corner : tub.label->corners) {
        const auto point = panelFromPhoto(panel, corner);
        if (!point) return;
        code.emplace_back(cvRound(panel.columnAt(point->x)), cvRound(panel.rowAt(point->y)));
    }
    cv::fillConvexPoly(panel.wall, code, 0);
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
    panel.base_known = tub.base_known;
    panel.unit_per_px = settings.unit_per_px;
    const View view(panel.inner);
    const double surface = tub.surfaceMean() - tub.pose.cone.wall;
    const double highest = *std::max_element(tub.surface_z.begin(), tub.surface_z.end()) - tub.pose.cone.wall;
    panel.px_per_unit = view.pxPerUnit(surface / 2);
    // Room for what stands above the surface and for the foot below, so that both can be seen in the step's
    // picture.
    panel.top = std::ceil(highest + 3);
    const double grazing =
        view.grazingAngle() - std::sqrt(2 * settings.edge_mm / panel.inner.cone.radiusAt(surface / 2));
    const double widest = panel.inner.cone.radiusAt(panel.top) * (grazing + 2 * CV_PI / 180);
    const int rows = static_cast<int>(std::ceil((panel.top + 2) / panel.unit_per_px));
    const int columns = 2 * static_cast<int>(std::ceil(widest / panel.unit_per_px)) + 1;

    panel.bgr.create(rows, columns, CV_8UC3);
    panel.wall = cv::Mat::zeros(rows, columns, CV_8U);
    const PanelMaps maps(panel, view, panel.bgr.size(), reduction);
    cv::Mat frontal = cv::Mat::zeros(rows, columns, CV_8U);
    const double frontal_cosine = std::cos(settings.frontal_deg * CV_PI / 180);
    const double lowest_surface = *std::min_element(tub.surface_z.begin(), tub.surface_z.end());
    const cv::Size2f last(static_cast<float>(bgr.cols - 1), static_cast<float>(bgr.rows - 1));
    for (int r = 0; r < rows; ++r) {
        const double z = panel.pointAt(0, r).y;
        if (z < settings.floor_mm) continue;
        const double step = panel.unit_per_px / panel.inner.cone.radiusAt(z);
        const double height = z + tub.pose.cone.wall;
        const int frontal_reach = frontalReach(view, z, step, frontal_cosine, columns / 2);
        const auto *x = maps.x.ptr<float>(r), *y = maps.y.ptr<float>(r);
        uchar* wall = panel.wall.ptr(r);
        const int middle = columns / 2, reach = std::min(middle, static_cast<int>(grazing / step));
        for (int c = middle - reach; c <= middle + reach; ++c) {
            const bool framed = (x[c] > 0) & (y[c] > 0) & (x[c] < last.width) & (y[c] < last.height);
            wall[c] = framed ? 255 : 0;
        }
        if (height > lowest_surface)
            for (int c = middle - reach; c <= middle + reach; ++c)
                if (height > tub.surfaceAt((c - middle) * step)) wall[c] = 0;
        if (frontal_reach >= 0)
            std::copy(wall + middle - frontal_reach, wall + middle + frontal_reach + 1,
                      frontal.ptr(r) + middle - frontal_reach);
    }
    takeColours(panel, bgr, maps, partOfPicture(panel, view, bgr.size(), reduction),
                panel.px_per_unit / reduction * panel.unit_per_px);
    eraseCover(panel, tub, maps, reduction);
    panel.visible = panel.wall & ~glareOn(panel, settings.glare_lightness);
    panel.frontal = panel.visible & frontal;
    return panel;
}

}  // namespace slipglass
