#include "reduced_picture.h"

#include <glib.h>

#include <algorithm>
#include <memory>
#include <opencv2/imgproc.hpp>
#include <string>

#include "slipglass/photo/picture_bytes.h"

namespace slipglass {

namespace {

constexpr int kJpegQuality = 68;

}  // namespace

std::string reducedPicture(const std::filesystem::path& file, int long_side)
{
    const bool is_png = file.extension() == ".png";
    const cv::Mat picture = pictureFrom(file);
    if (picture.empty()) return "data:,";
    const double shrink =
        std::min(1.0, static_cast<double>(long_side) / std::max(picture.cols, picture.rows));
    cv::Mat small;
    cv::resize(picture, small, {}, shrink, shrink, cv::INTER_AREA);
    const std::string bytes = is_png ? pngBytes(small, PngPacking::small) : jpegBytes(small, kJpegQuality);
    const std::unique_ptr<char, decltype(&g_free)> base64(
        g_base64_encode(reinterpret_cast<const guchar*>(bytes.data()), bytes.size()), g_free);
    return std::string(is_png ? "data:image/png;base64," : "data:image/jpeg;base64,") + base64.get();
}

}  // namespace slipglass
