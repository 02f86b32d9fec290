#include "reduced_picture.h"

#include <glib.h>

#include <algorithm>
#include <memory>
#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>
#include <vector>

namespace slipglass {

namespace {

constexpr int kJpegQuality = 68;

}  // namespace

std::string reducedPicture(const std::filesystem::path& file, int long_side)
{
    const bool is_png = file.extension() == ".png";
    const cv::Mat picture = cv::imread(file.string(), is_png ? cv::IMREAD_UNCHANGED : cv::IMREAD_COLOR);
    if (picture.empty()) return "data:,";
    const double shrink =
        std::min(1.0, static_cast<double>(long_side) / std::max(picture.cols, picture.rows));
    cv::Mat small;
    cv::resize(picture, small, {}, shrink, shrink, cv::INTER_AREA);
    std::vector<uchar> bytes;
    if (is_png)
        cv::imencode(".png", small, bytes, {cv::IMWRITE_PNG_COMPRESSION, 9});
    else
        cv::imencode(".jpg", small, bytes, {cv::IMWRITE_JPEG_QUALITY, kJpegQuality});
    const std::unique_ptr<char, decltype(&g_free)> base64(g_base64_encode(bytes.data(), bytes.size()),
                                                          g_free);
    return std::string(is_png ? "data:image/png;base64," : "data:image/jpeg;base64,") + base64.get();
}

}  // namespace slipglass
