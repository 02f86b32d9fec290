#include <algorithm>
#include <array>
#include <opencv2/imgproc.hpp>

#include "part_of_picture.h"
#include "sum_in.h"

namespace slipglass {

namespace {

constexpr int kCell = 16;            // picture px; a power of two keeps the interpolation exact at the nodes
constexpr double kCellError = 0.25;  // panel px

/// A cell of the picture and where its pixels lie in the panel: bilinear from its first one.
struct Cell {
    cv::Rect box;
    cv::Point2d corner, along_x, along_y, along_both;
};

/// Cuts a part of the picture into cells in which the way to the panel is bilinear to kCellError: it is
/// smooth but for the tub's edge, so most pixels need not be traced.
template <class PlaceAt, class NoneNear>
class Cutter {
public:
    /// @param noneNear  told where a square's corners lie and how large it is: whether none of it need be
    /// cut.
    Cutter(cv::Rect part, const PlaceAt& placeAt, const NoneNear& noneNear)
        : part_(part), placeAt_(placeAt), noneNear_(noneNear)
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
        if (noneNear_(std::array{a, b, c, d}, side)) return;
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
    const NoneNear& noneNear_;
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

cv::Rect partOfPicture(const Panel& panel, const View& view, cv::Size picture, double reduction)
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

cv::Mat photoMask(const Panel& panel, const cv::Mat& mask, cv::Size size, double reduction)
{
    cv::Mat result = cv::Mat::zeros(size, CV_8U);
    const View view(panel.inner);
    const cv::Rect drawn = partOfPicture(panel, view, size, reduction);
    const auto placeAt = [&](int x, int y) -> std::optional<cv::Point2d> {
        const auto wall = view.wallFromPhoto(photoFromPicture({1.0 * x, 1.0 * y}, reduction));
        if (!wall) return std::nullopt;
        return cv::Point2d(panel.columnAt(wall->angle * panel.inner.cone.radiusAt(wall->z)),
                           panel.rowAt(wall->z));
    };
    const double foot_row = panel.rowAt(0);
    cv::Mat sums;
    cv::integral(mask, sums, CV_32S);
    // Most of a wall is no root; along the tub's edge, where squares are cut smallest, there is no mask at
    // all.
    const double panel_px = reduction / (panel.px_per_unit * panel.unit_per_px);  // of a picture px, about
    const auto noneNear = [&](const auto& corners, int side) {
        double left = mask.cols, right = 0, top = mask.rows, bottom = 0;
        bool on_edge = false;
        for (const auto& corner : corners) {
            on_edge = on_edge || !corner;
            if (!corner) continue;
            left = std::min(left, corner->x);
            right = std::max(right, corner->x);
            top = std::min(top, corner->y);
            bottom = std::max(bottom, corner->y);
        }
        // With as much again on each side, and all that lies beyond at the tub's edge.
        const double least = on_edge ? 2 * side * panel_px : 0, across = std::max(right - left, least) + 2,
                     along = std::max(bottom - top, least) + 2;
        const bool to_right = on_edge && left + right > mask.cols, to_left = on_edge && !to_right;
        const cv::Rect near =
            cv::Rect(cv::Point(to_left ? 0 : cvFloor(left - across), cvFloor(top - along)),
                     cv::Point(to_right ? mask.cols : cvCeil(right + across), cvCeil(bottom + along))) &
            cv::Rect({}, mask.size());
        return near.empty() || sumIn<int>(sums, near) == 0;
    };
    for (const Cell& cell : Cutter(drawn, placeAt, noneNear).cells) {
        const cv::Rect around = aroundIn(cell, mask.size());
        const int within = around.empty() ? 0 : sumIn<int>(sums, around);
        if (!within) continue;  // most of a wall is no root
        if (within == 255 * around.area() && around.br().y <= foot_row) {
            for (int y = cell.box.y; y < cell.box.br().y; ++y)
                std::fill_n(result.ptr(y) + cell.box.x, cell.box.width, uchar{255});
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
