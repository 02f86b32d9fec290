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
    return {point.x / panel.inner.cone.radiusAt(point.y), point.y};
}

/// Leaves out what covers the wall.
/// @param map_x, map_y  for each panel pixel its place in a picture of which a px is `reduction` photo px.
void eraseCover(Panel& panel, const Tub& tub, const cv::Mat& map_x, const cv::Mat& map_y, double reduction)
{
    if (!tub.cover.share.empty()) {
        const double scale = reduction / tub.cover.reduction;
        const cv::Point2d origin = cv::Point2d(tub.cover.origin) / tub.cover.reduction;
        const double right = 0.5 * scale - 0.5 - origin.x, down = 0.5 * scale - 0.5 - origin.y;
        cv::Mat covered;
        cv::remap(tub.cover.share, covered, map_x * scale + right, map_y * scale + down, cv::INTER_LINEAR,
                  cv::BORDER_REPLICATE);
        panel.wall.setTo(0, covered > 0.5);
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

constexpr int kCell = 8;             // picture px; a power of two keeps the interpolation exact at the nodes
constexpr double kCellError = 0.03;  // panel px

/// A cell of the picture and where its nodes lie in the panel.
struct Cell {
    cv::Rect box;
    cv::Point2d corner, along_x, along_y, along_both;  ///< bilinear from the cell's first pixel
    bool bilinear = false;  ///< good to kCellError; else each pixel has to be traced

    cv::Point2d at(int x, int y) const
    {
        const double u = x - box.x, v = y - box.y;
        return corner + u * along_x + v * along_y + u * v * along_both;
    }
};

/// Cuts a part of the picture into cells. The way from picture to panel is smooth but for the tub's edge, so
/// most pixels can be interpolated instead of traced.
template <class PlaceAt>
std::vector<Cell> cellsOf(cv::Rect part, const PlaceAt& placeAt)
{
    std::vector<Cell> cells;
    const int columns = (part.width + kCell - 1) / kCell, rows = (part.height + kCell - 1) / kCell;
    const auto nodesAlong = [&](int y) {
        std::vector<std::optional<cv::Point2d>> nodes;
        for (int i = 0; i <= columns; ++i) nodes.push_back(placeAt(part.x + i * kCell, y));
        return nodes;
    };
    auto upper = nodesAlong(part.y);
    for (int j = 0; j < rows; ++j) {
        auto lower = nodesAlong(part.y + (j + 1) * kCell);
        for (int i = 0; i < columns; ++i) {
            Cell cell{cv::Rect(part.x + i * kCell, part.y + j * kCell, kCell, kCell) & part, {}, {}, {}, {}};
            const auto at = static_cast<size_t>(i);
            const auto &a = upper[at], &b = upper[at + 1], &c = lower[at], &d = lower[at + 1];
            if (!a && !b && !c && !d) continue;  // the tub's sides are straight: none of the cell is on it
            const auto middle = placeAt(part.x + i * kCell + kCell / 2, part.y + j * kCell + kCell / 2);
            if (a && b && c && d && middle) {
                cell.corner = *a;
                cell.along_x = (*b - *a) / kCell;
                cell.along_y = (*c - *a) / kCell;
                cell.along_both = (*a - *b - *c + *d) / (kCell * kCell);
                cell.bilinear = cv::norm((*a + *b + *c + *d) / 4 - *middle) < kCellError;
            }
            cells.push_back(cell);
        }
        upper = std::move(lower);
    }
    return cells;
}

/// Whether a mask, taken as a picture, is more than half white at a place between its pixels.
bool maskAt(const cv::Mat& mask, cv::Point2d place)
{
    if (place.x < 0 || place.y < 0) return false;
    const int c = static_cast<int>(place.x), r = static_cast<int>(place.y);
    if (c + 1 >= mask.cols || r + 1 >= mask.rows) return false;
    const uchar *a = mask.ptr(r) + c, *b = mask.ptr(r + 1) + c;
    if (!(a[0] | a[1] | b[0] | b[1])) return false;
    const double fc = place.x - c, fr = place.y - r;
    return (a[0] * (1 - fc) + a[1] * fc) * (1 - fr) + (b[0] * (1 - fc) + b[1] * fc) * fr > 127;
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

    // A finer picture than the panel is smoothed first, or its noise would be sampled instead of averaged.
    cv::Mat source = bgr;
    double source_reduction = reduction;
    const double oversampling = panel.px_per_unit / reduction * panel.unit_per_px;
    if (oversampling > 1.4) {
        cv::resize(bgr, source, {}, 1 / oversampling, 1 / oversampling, cv::INTER_AREA);
        source_reduction = reduction * static_cast<double>(bgr.cols) / source.cols;
    }

    panel.bgr.create(rows, columns, CV_8UC3);
    panel.wall = cv::Mat::zeros(rows, columns, CV_8U);
    cv::Mat frontal = cv::Mat::zeros(rows, columns, CV_8U);
    cv::Mat map_x(rows, columns, CV_32F), map_y(rows, columns, CV_32F);
    const double frontal_cosine = std::cos(settings.frontal_deg * CV_PI / 180);
    const double lowest_surface = *std::min_element(tub.surface_z.begin(), tub.surface_z.end());
    for (int r = 0; r < rows; ++r) {
        const PanelPoint first = panel.pointAt(0, r);
        const double step = panel.unit_per_px / panel.inner.cone.radiusAt(first.y);
        const std::vector<PhotoPoint> ring = view.photoFromRing(wallAt(panel, first), step, columns);
        const double height = first.y + tub.pose.cone.wall;
        const int frontal_reach = frontalReach(view, first.y, step, frontal_cosine, columns / 2);
        auto *out_x = map_x.ptr<float>(r), *out_y = map_y.ptr<float>(r);
        uchar *wall = panel.wall.ptr(r), *front = frontal.ptr(r);
        for (int c = 0; c < columns; ++c) {
            const PhotoPoint& photo = ring[static_cast<size_t>(c)];
            const auto [x, y] = pictureFromPhoto(photo, source_reduction);
            out_x[c] = static_cast<float>(x);
            out_y[c] = static_cast<float>(y);
            const bool framed = x > 0 && y > 0 && x < source.cols - 1 && y < source.rows - 1;
            const int from_middle = c - columns / 2;
            const double angle = from_middle * step;
            if (!framed || std::abs(angle) > grazing || first.y < settings.floor_mm) continue;
            if (height > lowest_surface && height > tub.surfaceAt(angle)) continue;
            wall[c] = 255;
            if (std::abs(from_middle) <= frontal_reach) front[c] = 255;
        }
    }
    cv::remap(source, panel.bgr, map_x, map_y, cv::INTER_LINEAR, cv::BORDER_REPLICATE);
    eraseCover(panel, tub, map_x, map_y, source_reduction);
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
        for (const double z : {panel.top, 0.0}) {
            const PhotoPoint p = view.photoFromWall({angle, z});
            left = std::min(left, p.x_px / reduction);
            right = std::max(right, p.x_px / reduction);
            top = std::min(top, p.y_px / reduction);
            bottom = std::max(bottom, p.y_px / reduction);
        }
    const cv::Rect part(cv::Point(static_cast<int>(left) - 8, static_cast<int>(top) - 8),
                        cv::Point(static_cast<int>(right) + 8, static_cast<int>(bottom) + 8));
    const cv::Rect drawn = part & cv::Rect({}, size);
    const auto placeAt = [&](int x, int y) -> std::optional<cv::Point2d> {
        const auto wall = view.wallFromPhoto(photoFromPicture({1.0 * x, 1.0 * y}, reduction));
        if (!wall) return std::nullopt;
        return cv::Point2d(panel.columnAt(wall->angle * panel.inner.cone.radiusAt(wall->z)),
                           panel.rowAt(wall->z));
    };
    const double foot_row = panel.rowAt(0);
    for (const Cell& cell : cellsOf(drawn, placeAt))
        for (int y = cell.box.y; y < cell.box.br().y; ++y) {
            uchar* out = result.ptr(y);
            for (int x = cell.box.x; x < cell.box.br().x; ++x) {
                const auto place = cell.bilinear ? cell.at(x, y) : placeAt(x, y);
                if (place && place->y <= foot_row && maskAt(mask, *place)) out[x] = 255;
            }
        }
    return result;
}

}  // namespace slipglass
