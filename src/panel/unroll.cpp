#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>

#include "between_nodes.h"
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

/// The part of a picture that a panel comes from, with a margin.
cv::Rect partOf(const Panel& panel, const View& view, cv::Size picture, double reduction)
{
    const double grazing = view.grazingAngle();
    double left = picture.width, right = 0, top = picture.height, bottom = 0;
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
    return part & cv::Rect({}, picture);
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
    if (oversampling <= 1.4 || part.empty()) {
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

constexpr int kCell = 16;           // picture px; a power of two keeps the interpolation exact at the nodes
constexpr double kCellError = 0.1;  // panel px

/// A cell of the picture and where its pixels lie in the panel: bilinear from its first one.
struct Cell {
    cv::Rect box;
    cv::Point2d corner, along_x, along_y, along_both;
};

/// Cuts a part of the picture into cells in which the way to the panel is bilinear to kCellError: it is
/// smooth but for the tub's edge, so most pixels need not be traced.
template <class PlaceAt>
class Cutter {
public:
    Cutter(cv::Rect part, const PlaceAt& placeAt) : part_(part), placeAt_(placeAt)
    {
        const int columns = (part.width + kCell - 1) / kCell, rows = (part.height + kCell - 1) / kCell;
        const auto nodesAlong = [&](int y) {
            std::vector<Node> nodes;
            for (int i = 0; i <= columns; ++i) nodes.push_back(placeAt_(part.x + i * kCell, y));
            return nodes;
        };
        auto upper = nodesAlong(part.y);
        for (int j = 0; j < rows; ++j) {
            auto lower = nodesAlong(part.y + (j + 1) * kCell);
            for (size_t i = 0; i < static_cast<size_t>(columns); ++i)
                cut({part.x + static_cast<int>(i) * kCell, part.y + j * kCell}, kCell, upper[i], upper[i + 1],
                    lower[i], lower[i + 1]);
            upper = std::move(lower);
        }
    }
    std::vector<Cell> cells;

private:
    using Node = std::optional<cv::Point2d>;

    void cut(cv::Point at, int side, const Node& a, const Node& b, const Node& c, const Node& d)
    {
        if (!a && !b && !c && !d) return;  // the tub's sides are straight: none of the cell is on it
        const cv::Rect box = cv::Rect(at.x, at.y, side, side) & part_;
        if (box.empty()) return;
        if (side == 1) {
            if (a) cells.push_back({box, *a, {}, {}, {}});
            return;
        }
        const int half = side / 2;
        const Node middle = placeAt_(at.x + half, at.y + half);
        if (a && b && c && d && middle && cv::norm((*a + *b + *c + *d) / 4 - *middle) < kCellError) {
            cells.push_back(
                {box, *a, (*b - *a) / side, (*c - *a) / side, (*a - *b - *c + *d) / (side * side)});
            return;
        }
        const Node top = placeAt_(at.x + half, at.y), left = placeAt_(at.x, at.y + half),
                   right = placeAt_(at.x + side, at.y + half), bottom = placeAt_(at.x + half, at.y + side);
        cut(at, half, a, top, left, middle);
        cut(at + cv::Point(half, 0), half, top, b, middle, right);
        cut(at + cv::Point(0, half), half, left, middle, c, bottom);
        cut(at + cv::Point(half, half), half, middle, right, bottom, d);
    }

    cv::Rect part_;
    const PlaceAt& placeAt_;
};

/// Pixels of the panel that a cell's lie among.
cv::Rect aroundIn(const Cell& cell, cv::Size panel)
{
    const cv::Point2d across = (cell.box.width - 1) * cell.along_x, up = (cell.box.height - 1) * cell.along_y,
                      both = across + up + (cell.box.width - 1) * (cell.box.height - 1) * cell.along_both;
    const auto [left, right] = std::minmax({0.0, across.x, up.x, both.x});
    const auto [top, bottom] = std::minmax({0.0, across.y, up.y, both.y});
    return cv::Rect(cv::Point(cvFloor(cell.corner.x + left), cvFloor(cell.corner.y + top)),
                    cv::Point(cvFloor(cell.corner.x + right) + 2, cvFloor(cell.corner.y + bottom) + 2)) &
           cv::Rect({}, panel);
}

int sumIn(const cv::Mat& integral, const cv::Rect& r)
{
    const auto at = [&](int y, int x) { return integral.at<int>(y, x); };
    return at(r.y, r.x) - at(r.y, r.br().x) - at(r.br().y, r.x) + at(r.br().y, r.br().x);
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

    panel.bgr.create(rows, columns, CV_8UC3);
    const PanelMaps maps(panel, view, panel.bgr.size(), reduction);
    panel.wall = cv::Mat::zeros(rows, columns, CV_8U);
    cv::Mat frontal = cv::Mat::zeros(rows, columns, CV_8U);
    const double frontal_cosine = std::cos(settings.frontal_deg * CV_PI / 180);
    const double lowest_surface = *std::min_element(tub.surface_z.begin(), tub.surface_z.end());
    for (int r = 0; r < rows; ++r) {
        const double z = panel.pointAt(0, r).y;
        if (z < settings.floor_mm) continue;
        const double step = panel.unit_per_px / panel.inner.cone.radiusAt(z);
        const double height = z + tub.pose.cone.wall;
        const int frontal_reach = frontalReach(view, z, step, frontal_cosine, columns / 2);
        const auto *x = maps.x.ptr<float>(r), *y = maps.y.ptr<float>(r);
        uchar *wall = panel.wall.ptr(r), *front = frontal.ptr(r);
        for (int c = 0; c < columns; ++c) {
            const bool framed = x[c] > 0 && y[c] > 0 && x[c] < static_cast<float>(bgr.cols - 1) &&
                                y[c] < static_cast<float>(bgr.rows - 1);
            const int from_middle = c - columns / 2;
            const double angle = from_middle * step;
            if (!framed || std::abs(angle) > grazing) continue;
            if (height > lowest_surface && height > tub.surfaceAt(angle)) continue;
            wall[c] = 255;
            if (std::abs(from_middle) <= frontal_reach) front[c] = 255;
        }
    }
    takeColours(panel, bgr, maps, partOf(panel, view, bgr.size(), reduction),
                panel.px_per_unit / reduction * panel.unit_per_px);
    eraseCover(panel, tub, maps, reduction);
    panel.visible = panel.wall & ~glareOn(panel, settings.glare_lightness);
    panel.frontal = panel.visible & frontal;
    return panel;
}

cv::Mat photoMask(const Panel& panel, const cv::Mat& mask, cv::Size size, double reduction)
{
    cv::Mat result = cv::Mat::zeros(size, CV_8U);
    const View view(panel.inner);
    const cv::Rect drawn = partOf(panel, view, size, reduction);
    const auto placeAt = [&](int x, int y) -> std::optional<cv::Point2d> {
        const auto wall = view.wallFromPhoto(photoFromPicture({1.0 * x, 1.0 * y}, reduction));
        if (!wall) return std::nullopt;
        return cv::Point2d(panel.columnAt(wall->angle * panel.inner.cone.radiusAt(wall->z)),
                           panel.rowAt(wall->z));
    };
    const double foot_row = panel.rowAt(0);
    cv::Mat sums;
    cv::integral(mask, sums, CV_32S);
    for (const Cell& cell : Cutter(drawn, placeAt).cells) {
        const cv::Rect around = aroundIn(cell, mask.size());
        const int within = around.empty() ? 0 : sumIn(sums, around);
        if (!within) continue;  // most of a wall is no root
        if (within == 255 * around.area() && around.br().y <= foot_row) {
            result(cell.box).setTo(255);
            continue;
        }
        for (int y = 0; y < cell.box.height; ++y) {
            uchar* out = result.ptr(cell.box.y + y) + cell.box.x;
            cv::Point2d place = cell.corner + y * cell.along_y;
            const cv::Point2d step = cell.along_x + y * cell.along_both;
            for (int x = 0; x < cell.box.width; ++x, place += step)
                if (place.y <= foot_row && maskAt(mask, place)) out[x] = 255;
        }
    }
    return result;
}

}  // namespace slipglass
