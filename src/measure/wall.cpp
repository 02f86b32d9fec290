#include "wall.h"

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "overlay.h"
#include "photo_list.h"

namespace slipglass {

namespace {

using nlohmann::json;

/// Light in hundred-thousandths: finer than a photo tells.
constexpr double kLightSteps = 1e5;

json fogJson(const std::optional<WallFog>& fog)
{
    if (!fog) return nullptr;
    json places = json::array();
    for (const FogPlace& place : fog->places) {
        json row = {place.seen, place.veiled};
        if (place.grains)
            for (const double light : {place.grains->mean, place.grains->spread})
                row.push_back(std::lround(kLightSteps * light));
        places.push_back(row);
    }
    return {{"columns", fog->columns}, {"places", places}};
}

/// Throws json::exception on what fogJson did not write.
std::optional<WallFog> fogFrom(const json& kept)
{
    if (kept.is_null()) return std::nullopt;
    WallFog fog{kept.at("columns"), {}};
    if (fog.columns < 1) return std::nullopt;
    for (const json& row : kept.at("places")) {
        FogPlace place{row.at(0), row.at(1), {}};
        if (row.size() > 2)
            place.grains =
                GrainLight{row.at(2).get<double>() / kLightSteps, row.at(3).get<double>() / kLightSteps};
        fog.places.push_back(place);
    }
    return fog;
}

/// Views of each side, in order of date; sides in order of their first.
std::vector<std::vector<size_t>> sidesOf(const Wall& wall)
{
    std::vector<std::vector<size_t>> sides;
    for (size_t i = 0; i < wall.photos.size(); ++i) {
        auto side = std::find_if(sides.begin(), sides.end(), [&](const auto& views) {
            return wall.photos[views[0]].side == wall.photos[i].side;
        });
        if (side == sides.end()) side = sides.insert(sides.end(), {{}});
        side->push_back(i);
    }
    return sides;
}

}  // namespace

KeptView keptView(const Look& look, const PanelFile& panel, const Picture& picture, const std::string& basis)
{
    const WallViewFile file = encodeWallView(look.view.value());
    const auto orNull = [](const std::optional<double>& value) { return value ? json(*value) : json(); };
    const OnSide& place = look.place;
    const json meta = {
        {"view", file.meta},
        {"panel", panel.meta},
        {"basis", basis},
        {"side", {{"id", place.side}, {"size", {place.first_size.width, place.first_size.height}}}},
        {"wall_lightness", orNull(look.light.wall_lightness)},
        {"white", orNull(look.light.white)},
        {"against_label", look.light.against_label},
        {"root_share", look.root_share},
        {"picture", {picture.bgr.cols, picture.bgr.rows}},
        {"photo", {picture.full_size.width, picture.full_size.height}},
        {"reduction", picture.reduction},
        {"fog", fogJson(look.fog)}};
    return {look.seen.photo, look.seen.tub, meta.dump(), file.bytes, panel.bytes};
}

std::string wallKey(const std::vector<KeptView>& views, const std::string& depends_on)
{
    std::string made_of = depends_on;
    for (const KeptView& kept : views)
        made_of += '\n' + kept.photo + '\n' + contentHash(kept.meta) + contentHash(kept.bytes);
    return contentHash(made_of);
}

Wall wallOf(const std::vector<KeptView>& views, const SeasonStore& store, const std::string& basis)
{
    Wall wall;
    for (const KeptView& kept : views) try {
            const json meta = json::parse(kept.meta);
            const auto seen = store.find(kept.photo, kept.tub);
            if (!seen || meta.at("basis") != basis) continue;
            const auto sizeOf = [](const json& size) {
                return cv::Size(size.at(0).get<int>(), size.at(1).get<int>());
            };
            const json& side = meta.at("side");
            WallPhoto photo{seen->seen,
                            sizeOf(meta.at("picture")),
                            sizeOf(meta.at("photo")),
                            meta.at("reduction"),
                            fogFrom(meta.at("fog")),
                            side.at("id"),
                            sizeOf(side.at("size"))};
            auto view = decodeWallView({kept.bytes, meta.at("view")});
            if (!view) continue;
            wall.views.push_back(std::move(*view));
            wall.photos.push_back(std::move(photo));
        } catch (const json::exception&) {
            continue;  // not written by slipglass
        }
    return wall;
}

WallRead readSides(const Wall& wall, const RootSettings& settings)
{
    WallRead read;
    read.readings.resize(wall.views.size());
    for (const std::vector<size_t>& side : sidesOf(wall)) {
        std::vector<WallView> views;
        views.reserve(side.size());
        for (const size_t i : side) views.push_back(wall.views[i]);
        WallHistory history = readTogether(views, wall.photos[side[0]].first_size, settings);
        for (size_t k = 0; k < side.size(); ++k) read.readings[side[k]] = std::move(history.readings[k]);
        if (side.size() <= read.most.size()) continue;
        read.most = side;
        read.first_seen = history.first_seen;
    }
    return read;
}

void setReading(Observation& seen, const WallView& view, const WallReading& reading)
{
    setRoots(seen, view.panel, reading.roots, reading.photos_read);
    if (!view.panel.in_mm) return;
    seen.gained_root_mm = reading.gained_mm;
    seen.hidden_root_mm = reading.hidden_mm;
    seen.lost_root_mm = reading.lost_mm;
}

void setFog(std::vector<Observation>& seen, const Wall& wall)
{
    for (const std::vector<size_t>& side : sidesOf(wall)) {
        std::vector<WallFog> fogs;
        std::vector<size_t> of_photo;
        for (const size_t i : side) {
            if (!wall.photos[i].fog) continue;
            fogs.push_back(*wall.photos[i].fog);
            of_photo.push_back(i);
        }
        const auto condensation = condensationOf(fogs);
        for (size_t i = 0; i < of_photo.size(); ++i) seen[of_photo[i]].condensation_percent = condensation[i];
    }
}

KeptHistory keptHistory(const std::string& key, const Wall& wall, const WallRead& read,
                        const std::set<std::string>& undrawn)
{
    json photos = json::array();
    for (const size_t i : read.most) {
        const Observation& seen = wall.photos[i].seen;
        photos.push_back({{"photo", seen.photo}, {"date", isoDate(seen.taken.date)}});
    }
    std::string bytes;
    if (!read.first_seen.empty()) bytes = encoded(".png", read.first_seen, {});
    json meta = {{"photos", photos}, {"undrawn", undrawn}};
    if (!read.most.empty()) {
        const Panel& panel = wall.views[read.most[0]].panel;
        meta["mm_per_px"] = panel.mm_per_px;
        meta["in_mm"] = panel.in_mm;
    }
    // File names of old systems may not be UTF-8.
    return {key, meta.dump(-1, ' ', false, json::error_handler_t::replace), bytes};
}

std::set<std::string> undrawnIn(const KeptHistory& history)
{
    const json meta = json::parse(history.meta, nullptr, false);
    return meta.is_object() ? meta.value("undrawn", std::set<std::string>{}) : std::set<std::string>{};
}

}  // namespace slipglass
