#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>

#include "readers.h"
#include "slipglass/tub/label.h"

namespace slipglass::fuzz {

void label_text(Bytes text)
{
    const auto payload = parseLabelText(textOf(text));
    if (!payload) return;
    require(!payload->tub.empty() && payload->tub.size() <= 64, "an id that is none");
    if (!payload->qr_side_mm) return;
    const auto again = parseLabelText(labelText(payload->tub, *payload->qr_side_mm));
    require(again && again->tub == payload->tub, "a label that reads otherwise once printed");
    require(again->qr_side_mm && std::abs(*again->qr_side_mm - *payload->qr_side_mm) <= 0.005 + 1e-9,
            "a side that is another once printed");
}

void label_picture(Bytes picture)
{
    constexpr size_t kMostPixels = 120 * 120;  // a code has 21 modules and more; larger ones are only slower
    if (picture.size() < 2 || picture[0] == 0) return;
    const size_t width = picture[0], rows = std::min(picture.size() - 1, kMostPixels) / width;
    if (rows == 0) return;
    const cv::Mat grey(static_cast<int>(rows), static_cast<int>(width), CV_8UC1,
                       const_cast<std::uint8_t*>(picture.data()) + 1);
    cv::Mat bgr;
    cv::cvtColor(grey, bgr, cv::COLOR_GRAY2BGR);
    for (const FoundLabel& label : findLabels(bgr, {})) require(!label.tub.empty(), "a label without an id");
}

}  // namespace slipglass::fuzz
