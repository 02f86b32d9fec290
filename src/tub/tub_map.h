#pragma once
#include <opencv2/core/mat.hpp>
#include <opencv2/core/types.hpp>
#include <optional>
#include <vector>

#include "slipglass/frames.h"
#include "slipglass/tub/label.h"

namespace slipglass {

/// What a learned network says of each place of a reduced photo, or of a part of it, for one tub: the one
/// whose label is given, else the one that stands out. All CV_32F, 0..1, of one size. How it was trained:
/// src/tub/training/README.md.
struct TubMap {
    cv::Mat medium, empty, cover;             ///< wall with medium; without; paper, tape or ink on it
    cv::Mat left, right, foot, rim, surface;  ///< on that edge of the tub
    double reduction = 1;                     ///< full-size photo px per place
    cv::Point origin;                         ///< of the part in the photo, full-size px

    PhotoPoint photoAt(double x, double y) const
    {
        const PhotoPoint in_part = photoFromPicture({x, y}, reduction);
        return {origin.x + in_part.x_px, origin.y + in_part.y_px};
    }
    PicturePoint placeOf(PhotoPoint p) const
    {
        return pictureFromPhoto({p.x_px - origin.x, p.y_px - origin.y}, reduction);
    }
};

/// @param bgr   CV_8UC3, upright, of a photo of `full_size`.
/// @param part  to look at, full-size px, within the photo.
TubMap tubMap(const cv::Mat& bgr, cv::Size full_size, const std::optional<Label>& label,
              const cv::Rect& part);

/// A place on an edge, and how sure it is, 0..1.
struct EdgePoint {
    PhotoPoint at;
    double weight = 0;
};

/// Where an edge runs: along each row (`upright`: for the sides) or column of its map the middle of the
/// strongest stretch; rows and columns on which it is fainter than `least` are left out.
std::vector<EdgePoint> edgePoints(const TubMap& map, const cv::Mat& edge, bool upright, double least = 0.3);

}  // namespace slipglass
