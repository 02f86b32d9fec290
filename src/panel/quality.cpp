#include "slipglass/panel/quality.h"

#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>

namespace slipglass {

Quality qualityOf(const Panel& panel, const cv::Mat& bgr, double reduction)
{
    Quality quality;
    const int wall = cv::countNonZero(panel.wall);
    if (wall) quality.glare_percent = 100.0 * (wall - cv::countNonZero(panel.visible)) / wall;

    // In the photo itself, since a panel is already resampled: detail of a root's width against detail of a
    // grain's, in mm, so that the picture's size drops out. Finer detail would tell blur from sharp better,
    // but noise looks like it: a blurred, noisy picture then counts as sharp. Samples give 0.66 and more as
    // they are, 0.49..0.78 blurred by 0.2 mm, 0.28..0.45 by 0.4 mm, 0.15..0.20 by 0.8 mm, noise added.
    const cv::Mat shown = photoMask(panel, panel.frontal, bgr.size(), reduction);
    cv::Mat grey;
    cv::cvtColor(bgr, grey, cv::COLOR_BGR2GRAY);
    grey.convertTo(grey, CV_32F);
    const double px = panel.px_per_mm / reduction;
    const auto detail = [&](double from_mm) {
        cv::Mat finer, coarser;
        cv::GaussianBlur(grey, finer, {}, std::max(0.5, from_mm * px));
        cv::GaussianBlur(grey, coarser, {}, std::max(1.0, 2 * from_mm * px));
        const cv::Mat band = finer - coarser;
        return std::sqrt(cv::mean(band.mul(band), shown)[0]);
    };
    quality.sharpness = std::clamp(detail(0.18) / (detail(0.72) + 1e-3), 0.0, 1.0);

    // The front wall whether or not the picture holds it: what the mask lacks between floor and surface.
    const View view(panel.inner);
    int inside = 0, all = 0;
    for (double angle = -0.8; angle <= 0.8; angle += 0.1)
        for (double y = 1; y < panel.top_mm - 4; y += 4, ++all) {
            const PhotoPoint p = view.photoFromWall({angle, y});
            inside += p.x_px > 1 && p.y_px > 1 && p.x_px < bgr.cols * reduction - 2 &&
                      p.y_px < bgr.rows * reduction - 2;
        }
    if (all) quality.in_frame = static_cast<double>(inside) / all;
    return quality;
}

}  // namespace slipglass
