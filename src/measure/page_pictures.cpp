#include "page_pictures.h"

#include <algorithm>
#include <nlohmann/json.hpp>
#include <opencv2/imgproc.hpp>

#include "overlay.h"
#include "shrink.h"
#include "slipglass/layout/file_names.h"
#include "slipglass/photo/picture_bytes.h"
#include "slipglass/store/write_file.h"

namespace slipglass {

namespace {

// Long sides, px. A photo: a thin root of 0.4 mm is two px wide and can be drawn over. A small one:
// as a card on a phone, a dozen of which make 0.3 MB.
constexpr double kPhotoSide = 1200, kSmallSide = 360;
// Panel px per px of a wall picture: 0.3 mm.
constexpr double kWallShrink = 2;

}  // namespace

void writePhotoPicture(const PagePicture& which, const Picture& picture)
{
    const PagePictureNames names = pagePictureNames(which.overlay);
    writeFile(which.out / names.photo, jpegBytes(shrunk(picture.bgr, kPhotoSide), 75));
    const nlohmann::json facts = {{"photo_px", {picture.full_size.width, picture.full_size.height}},
                                  {"stem", which.mask_stem}};
    writeFile(which.out / names.facts, facts.dump(-1, ' ', false, nlohmann::json::error_handler_t::replace));
}

void writeFoundPictures(const PagePicture& which, const Look& look, cv::Size full_size, const cv::Mat& drawn,
                        const cv::Mat& found)
{
    const PagePictureNames names = pagePictureNames(which.overlay);
    writeFile(which.out / names.small, jpegBytes(shrunk(drawn, kSmallSide), 72));
    const cv::Size size = sizeAtMost(drawn.size(), kPhotoSide);
    writeFile(which.out / names.found,
              pngBytes(found.size() == size ? found : drawFound(look, full_size, size)));
}

void writeWallPicture(const PagePicture& which, const Look& look)
{
    if (!look.panel || look.panel->bgr.empty()) return;
    cv::Mat wall = look.panel->bgr;
    if (!look.place.side.empty()) {
        cv::Mat map_x, map_y, moved;
        look.place.to_reference.mapsBack(look.place.reference_size, map_x, map_y);
        cv::remap(wall, moved, map_x, map_y, cv::INTER_LINEAR);
        wall = moved;
    }
    const double side = std::max(wall.cols, wall.rows) / kWallShrink;
    writeFile(which.out / pagePictureNames(which.overlay).wall, jpegBytes(shrunk(wall, side), 72));
}

bool photoPictureThere(const PagePicture& which)
{
    const PagePictureNames names = pagePictureNames(which.overlay);
    // The wall picture is not asked for: a photo without a tub has none.
    return fileThere(which.out / names.photo) && fileThere(which.out / names.facts);
}

bool foundPicturesThere(const PagePicture& which)
{
    const PagePictureNames names = pagePictureNames(which.overlay);
    return fileThere(which.out / names.small) && fileThere(which.out / names.found);
}

}  // namespace slipglass
