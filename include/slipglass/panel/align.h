#pragma once
#include <array>
#include <opencv2/core/mat.hpp>
#include <opencv2/core/types.hpp>

#include "slipglass/panel/panel.h"

namespace slipglass {

/// How far each pixel of one panel has to be moved to lie on the same grains of another, px: a turn of the
/// tub and, since both poses err a little, a smooth drift, quadratic in the place.
struct Drift {
    cv::Size size;  ///< of the panel whose pixels are moved
    /// Weights of 1, u, v, u^2, u v, v^2, where u and v are x / width - 0.5 and y / height - 0.5.
    std::array<double, 6> x{}, y{};

    cv::Point2d at(double x_px, double y_px) const;
    /// The other way: which pixel lies at a place of the other panel.
    cv::Point2d pixelAt(cv::Point2d place) const;
    /// CV_32F, for each pixel its place on the other panel.
    void maps(cv::Mat& map_x, cv::Mat& map_y) const;
    /// The other way: for each pixel of the other panel, of this size, its place on the first.
    void mapsBack(cv::Size other, cv::Mat& map_x, cv::Mat& map_y) const;
};

/// From the panel that `first` moves to where `then` leads from the panel that `first` leads to.
Drift chained(const Drift& first, const Drift& then);
/// CV_32F, for each pixel of one panel its place on another, where both are known to lead to a third.
void mapsThrough(const Drift& one, const Drift& other, cv::Mat& map_x, cv::Mat& map_y);

/// An earlier panel brought onto today's.
struct Alignment {
    /// Median correlation of the texture of matched patches, -1..1; the same grains at two dates give 0.5 and
    /// more, another side of the tub about 0.1.
    double score = 0;
    /// Share of patches that agree on the way.
    double agreed = 0;
    bool good = false;  ///< the same side of the same tub
    double turn = 0;  ///< the tub was turned by this much round its wall, at mid height, in the panel's units
    Drift drift;      ///< from today's panel to the earlier one
    cv::Mat map_x, map_y;  ///< CV_32F, for each pixel of today's panel its place in the earlier one

    /// The earlier picture or mask as today's panel sees it; 0 where it shows nothing.
    cv::Mat warped(const cv::Mat& earlier) const;
};

/// What earlier photos show of the wall, as today's panel sees it.
struct EarlierPanel {
    cv::Mat bgr;      ///< CV_8UC3, same size as today's
    cv::Mat visible;  ///< CV_8UC1, 255 where it shows the wall
};

/// Finds the turn of the tub and the small distortion between two dates from the medium's texture.
/// @param most_turn_deg  largest turn looked for.
Alignment alignTo(const Panel& today, const Panel& earlier, double most_turn_deg = 25);

}  // namespace slipglass
