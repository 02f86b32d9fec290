#include "canvas.h"

#include <algorithm>
#include <opencv2/imgproc.hpp>

namespace slipglass {

namespace {

/// From a view's panel to the canvas.
Drift wayTo(const Canvas& canvas, const WallView& view)
{
    Drift way = *view.to_reference;
    way.x[0] += canvas.left;
    return way;
}

}  // namespace

Canvas widened(const Canvas& canvas, const WallView& view)
{
    const cv::Rect seen = cv::boundingRect(view.panel.frontal);
    const double middle = seen.y + seen.height / 2.0;
    // No further than once round: what would lie there is no such side.
    const int width = canvas.reference.width;
    const int left =
                  std::clamp(-cvFloor(seen.x + view.to_reference->at(seen.x, middle).x), canvas.left, width),
              right = std::clamp(cvCeil(seen.br().x + view.to_reference->at(seen.br().x, middle).x),
                                 canvas.width - canvas.left, 2 * width);
    return {left, canvas.reference, left + right};
}

Way Way::there(const Canvas& canvas, const WallView& view)
{
    Way way;
    wayTo(canvas, view).mapsBack(canvas.size(), way.map_x_, way.map_y_);
    return way;
}

Way Way::back(const Canvas& canvas, const WallView& view)
{
    Way way;
    wayTo(canvas, view).maps(way.map_x_, way.map_y_);
    return way;
}

cv::Mat Way::moved(const cv::Mat& picture, int how) const
{
    cv::Mat result;
    cv::remap(picture, result, map_x_, map_y_, how, cv::BORDER_CONSTANT, 0);
    return result;
}

}  // namespace slipglass
