#pragma once
#include <opencv2/core/mat.hpp>
#include <optional>
#include <vector>

#include "slipglass/roots/find_roots.h"
#include "slipglass/settings.h"
#include "slipglass/wall/wall_history.h"

namespace slipglass {

/// The parts of a wall behind which the cuttings of one tub stand.
struct PartSettings {
    double meeting_mm = 1.0;
    double crossing_mm = 3.0;

    template <class Self, class Visit>
    static void fields(Self& self, Visit&& visit)
    {
        visit("meeting_mm", self.meeting_mm, Bounds{0, 20},
              "Roots nearer to each other than this are at one place, in one piece, mm. Guess.");
        visit("crossing_mm", self.crossing_mm, Bounds{0, 50},
              "Shortest root that counts as grown across a border, mm on either side. Guess.");
    }
};

/// Where on a wall a cutting stands, as seen by the camera on the tub's first photo: -1 at the left end of
/// the wall's visible arc, 0 in its middle, 1 at its right end.
using AcrossWall = double;

/// Which part each place of a view's wall belongs to, CV_8UC1 on its panel: n = the n-th cutting's. Borders
/// are upright, halfway between neighbours, in angle round the tub: the wall narrows downwards and so do the
/// parts. They turn with the tub. Empty when the view is not known to show the side of the first photo.
/// @param reference_size  of the reference panel of the first photo's side.
/// @param cuttings    from left to right.
cv::Mat partsOfWall(const WallView& view, cv::Size reference_size, const std::vector<AcrossWall>& cuttings);

/// What is measured on one part.
struct PartReading {
    RootFigures figures;  ///< of the part's own frontal wall; empty when hardly any of it can be seen
    std::optional<double> shared, meets_next;  ///< see PartFigures
};

/// One entry a cutting, from left to right; none when partsOfWall is empty. Lengths in the panel's units.
std::vector<PartReading> readParts(const WallView& view, const RootMap& roots, cv::Size reference_size,
                                   const std::vector<AcrossWall>& cuttings, const PartSettings& settings);

}  // namespace slipglass
