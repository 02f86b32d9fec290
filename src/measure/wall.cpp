#include "wall.h"

#include <algorithm>
#include <nlohmann/json.hpp>
#include <opencv2/imgcodecs.hpp>

#include "photo_list.h"
#include "slipglass/panel/panel_file.h"

namespace slipglass {

namespace {

using nlohmann::json;

/// Which first panel a tub's views lead to: a photo that is gone may lead to an older one.
std::string firstOf(const std::string& tub, const SeasonStore& store)
{
    const auto reference = store.referencePanel(tub);
    return reference ? contentHash(reference->photo + '\n' + reference->bytes) : std::string();
}

cv::Size firstSize(const std::string& tub, const SeasonStore& store)
{
    const auto reference = store.referencePanel(tub);
    if (!reference) return {};
    const json meta = json::parse(reference->meta, nullptr, false);
    const auto panel = decodePanel({reference->bytes, meta.is_object() ? meta.value("panel", "") : ""});
    return panel ? panel->bgr.size() : cv::Size();
}

}  // namespace

KeptView keptView(const std::string& photo, const std::string& tub, const WallView& view,
                  const Picture& picture, const SeasonStore& store)
{
    const WallViewFile file = encodeWallView(view);
    const json meta = {{"view", file.meta},
                       {"first", firstOf(tub, store)},
                       {"long_side", std::max(picture.bgr.cols, picture.bgr.rows)}};
    return {photo, tub, meta.dump(), file.bytes};
}

std::optional<Wall> wallOf(const std::string& tub, const SeasonStore& store, const std::string& figures_key)
{
    Wall wall;
    const std::string first = firstOf(tub, store);
    std::string made_of = figures_key + '\n' + first;
    for (const KeptView& kept : store.views(tub)) {
        const json meta = json::parse(kept.meta, nullptr, false);
        const auto seen = store.find(kept.photo, tub);
        if (!meta.is_object() || !seen) continue;
        auto view = decodeWallView({kept.bytes, meta.value("view", "")});
        if (!view) continue;
        if (meta.value("first", "") != first) view->to_first.reset();
        made_of += '\n' + kept.photo + '\n' + isoDate(seen->seen.taken.date) + contentHash(kept.meta) +
                   contentHash(kept.bytes);
        wall.views.push_back(std::move(*view));
        wall.seen.push_back(seen->seen);
        wall.long_sides.push_back(meta.value("long_side", 1));
    }
    if (wall.views.empty()) return std::nullopt;
    wall.key = contentHash(made_of);
    wall.first_size = firstSize(tub, store);
    if (wall.first_size.empty())
        for (WallView& view : wall.views) view.to_first.reset();
    return wall;
}

void setReading(Observation& seen, const WallView& view, const WallReading& reading)
{
    setRoots(seen, view.panel, reading.roots, reading.photos_read);
    if (!view.panel.in_mm) return;
    seen.gained_root_mm = reading.gained_mm;
    seen.hidden_root_mm = reading.hidden_mm;
    seen.lost_root_mm = reading.lost_mm;
}

KeptHistory keptHistory(const Wall& wall, const WallHistory& history)
{
    json photos = json::array();
    for (const Observation& seen : wall.seen)
        photos.push_back({{"photo", seen.photo}, {"date", isoDate(seen.taken.date)}});
    std::vector<uchar> bytes;
    if (!history.first_seen.empty()) cv::imencode(".png", history.first_seen, bytes);
    const json meta = {{"photos", photos},
                       {"mm_per_px", wall.views.front().panel.mm_per_px},
                       {"in_mm", wall.views.front().panel.in_mm}};
    // File names of old systems may not be UTF-8.
    return {wall.key, meta.dump(-1, ' ', false, json::error_handler_t::replace),
            std::string(bytes.begin(), bytes.end())};
}

}  // namespace slipglass
