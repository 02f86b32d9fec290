#pragma once
#include <opencv2/core/mat.hpp>

#include "slipglass/wall/wall_history.h"

namespace slipglass {

/// The side's reference panel, and as much to its left and right as photos of a turned tub show from the
/// front.
struct Canvas {
    int left = 0;        ///< column at which the reference panel begins
    cv::Size reference;  ///< of the reference panel
    int width = 0;

    cv::Size size() const { return {width, reference.height}; }
    cv::Rect referencePanel() const { return {{left, 0}, reference}; }
    bool operator==(const Canvas&) const = default;
};

/// Wide enough for one more view. @param view  its way to the reference panel is known.
Canvas widened(const Canvas& canvas, const WallView& view);

/// Brings pictures from one place to another.
class Way {
public:
    /// From a view's panel to the canvas.
    static Way there(const Canvas& canvas, const WallView& view);
    /// From the canvas to a view's panel.
    static Way back(const Canvas& canvas, const WallView& view);

    /// @param how  OpenCV's interpolation. 0 where the picture shows nothing.
    cv::Mat moved(const cv::Mat& picture, int how) const;

private:
    cv::Mat map_x_, map_y_;
};

}  // namespace slipglass
