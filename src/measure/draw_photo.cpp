#include "draw_photo.h"

#include <algorithm>
#include <opencv2/imgproc.hpp>

#include "overlay.h"
#include "slipglass/photo/picture_bytes.h"
#include "slipglass/store/write_file.h"
#include "try_photo.h"

namespace slipglass {

namespace {

void drawPictures(const Files& files, const Picture& picture, const Look& look)
{
    cv::Mat drawn = underOverlay(picture.bgr);
    const cv::Mat found = drawFound(look, picture.full_size, drawn.size());
    layOver(drawn, found);
    writeFile(files.overlay, jpegBytes(drawn, 85));
    writeFoundPictures(files.page, look, picture.full_size, drawn, found);
}

}  // namespace

Files filesOf(const Item& item, const std::string& tub, const Run& run)
{
    const std::string stem = maskStem(item, tub);
    const MaskNames masks = maskNames(stem);
    const std::string& overlay = run.overlays.at({item.file.name, tub});
    return {run.options.out / masks.roots,
            run.options.out / masks.wall,
            run.options.out / overlay,
            {run.options.out, overlay, stem}};
}

bool filesThere(const Item& item, const std::set<PhotoAndTub>& to_draw, const Run& run)
{
    return std::all_of(item.tubs.begin(), item.tubs.end(), [&](const std::string& tub) {
        const Files files = filesOf(item, tub, run);
        if (!fileThere(files.wall) || !photoPictureThere(files.page)) return false;
        return to_draw.count({item.file.name, tub}) ||
               (fileThere(files.roots) && fileThere(files.overlay) && foundPicturesThere(files.page));
    });
}

void drawWall(const Files& files, const Picture& picture, const Look& look)
{
    writeFile(files.wall, maskBytes(look.wall_mask, picture.full_size));
    writePhotoPicture(files.page, picture);
    writeWallPicture(files.page, look);
}

void drawRoots(const Files& files, const Picture& picture, const Look& look)
{
    drawPictures(files, picture, look);
    writeFile(files.roots, maskBytes(look.root_mask, picture.full_size));
}

bool redrawRoots(const Files& files, const Item& item, const Look& look, const ViewFacts& facts,
                 bool was_drawn, const Run& run)
{
    const std::string mask = maskBytes(look.root_mask, facts.full_size);
    if (was_drawn && fileHolds(files.roots, mask)) return true;
    const auto problem = tryPhoto(item.file.name, onlyTub(item), [&] {  // told when it is measured
        const int long_side = std::max(facts.size.width, facts.size.height);
        drawPictures(files, readPicture(item.file.path, factsOf(item, run.settings.photos), long_side), look);
    });
    if (problem && isPassing(*problem))
        run.events.warn(item.file.name + ": " + problem->reason + ". The next run draws its roots.");
    writeFile(files.roots, mask);  // last: it tells that the overlay is drawn
    return !problem;
}

}  // namespace slipglass
