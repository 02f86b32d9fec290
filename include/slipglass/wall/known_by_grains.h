#pragma once
#include <map>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "slipglass/panel/panel.h"
#include "slipglass/photo/read_photo.h"
#include "slipglass/wall/look_back.h"

namespace slipglass {

/// A tub's wall in a photo, unrolled as large as other walls are: what has no scale of its own can so be laid
/// on what has one.
class WallInPhoto {
public:
    WallInPhoto(Picture picture, Tub tub, const PanelSettings& settings);

    /// @param inner_radius  of the base, inside, mm or nominal as `in_mm` says.
    const Panel& as(double inner_radius, bool in_mm);
    /// As large as it was found.
    const Panel& plain();

private:
    Picture picture_;
    Tub tub_;
    PanelSettings settings_;
    std::map<std::pair<bool, int>, Panel> panels_;  ///< by size, in steps
};

/// A photo of a tub, for another to be compared with.
struct WallOfTub {
    std::string tub;
    Date date;
    EarlierView view;
};

/// A panel as others are compared with it: kept in a tenth of its room, and opened when it is wanted.
EarlierView viewOfPanel(const Panel& panel);

/// How like a tub's a wall is: the median correlation of matched patches of grains times the share of patches
/// that agree, 0..1. Measured: docs/measured/grains.md.
struct Likeness {
    std::string tub;
    double likeness = 0;
};

/// A tub's photos that a wall is compared with, nearest in time first: its other sides are among them,
/// perhaps.
constexpr size_t kWallsTried = 4;

/// Compares a wall with the photos of each tub that were taken nearest in time to it; one row a tub, most
/// like first.
std::vector<Likeness> likenesses(WallInPhoto& wall, Date date, const std::vector<WallOfTub>& known);

/// The tub that the wall is, where one alone is so like it; else empty.
std::optional<std::string> knownTub(const std::vector<Likeness>& likenesses);

/// Tubs that it might be, most like first, three at most.
std::vector<std::string> likelyTubs(const std::vector<Likeness>& likenesses);

}  // namespace slipglass
