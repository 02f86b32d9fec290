#include "wall.h"

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "overlay.h"
#include "photo_list.h"
#include "slipglass/panel/panel_file.h"

namespace slipglass {

namespace {

using nlohmann::json;

/// Which first panel a tub's views lead to: a photo that is gone may lead to an older one.
std::string firstOf(const std::optional<ReferencePanel>& reference)
{
    return reference ? contentHash(reference->photo + '\n' + reference->bytes) : std::string();
}

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

}  // namespace

std::optional<Panel> panelOf(const std::optional<ReferencePanel>& reference)
{
    if (!reference) return std::nullopt;
    const json meta = json::parse(reference->meta, nullptr, false);
    return decodePanel({reference->bytes, meta.is_object() ? meta.value("panel", "") : ""});
}

KeptView keptView(const Look& look, const Picture& picture, const std::optional<ReferencePanel>& reference,
                  const std::string& figures_key)
{
    const WallViewFile file = encodeWallView(look.view.value());
    const json meta = {{"view", file.meta},
                       {"figures", figures_key},
                       {"first", firstOf(reference)},
                       {"picture", {picture.bgr.cols, picture.bgr.rows}},
                       {"photo", {picture.full_size.width, picture.full_size.height}},
                       {"reduction", picture.reduction},
                       {"fog", fogJson(look.fog)}};
    return {look.seen.photo, look.seen.tub, meta.dump(), file.bytes};
}

std::string wallKey(const std::vector<KeptView>& views, const std::optional<ReferencePanel>& reference,
                    const std::string& figures_key)
{
    std::string made_of = figures_key + '\n' + firstOf(reference);
    for (const KeptView& kept : views)
        made_of += '\n' + kept.photo + '\n' + contentHash(kept.meta) + contentHash(kept.bytes);
    return contentHash(made_of);
}

Wall wallOf(const std::vector<KeptView>& views, const std::optional<ReferencePanel>& reference,
            const SeasonStore& store, const std::string& figures_key)
{
    Wall wall;
    if (const auto panel = panelOf(reference)) wall.first_size = panel->bgr.size();
    const std::string first = firstOf(reference);
    for (const KeptView& kept : views) try {
            const json meta = json::parse(kept.meta);
            const auto seen = store.find(kept.photo, kept.tub);
            if (!seen || meta.at("figures") != figures_key || meta.at("first") != first) continue;
            const auto sizeOf = [&](const char* name) {
                return cv::Size(meta.at(name).at(0).get<int>(), meta.at(name).at(1).get<int>());
            };
            WallPhoto photo{seen->seen, sizeOf("picture"), sizeOf("photo"), meta.at("reduction"),
                            fogFrom(meta.at("fog"))};
            auto view = decodeWallView({kept.bytes, meta.at("view")});
            if (!view) continue;
            if (wall.first_size.empty()) view->to_first.reset();
            wall.views.push_back(std::move(*view));
            wall.photos.push_back(std::move(photo));
        } catch (const json::exception&) {
            continue;  // not written by slipglass
        }
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

void setFog(std::vector<Observation>& seen, const Wall& wall)
{
    std::vector<WallFog> fogs;
    std::vector<size_t> of_photo;
    for (size_t i = 0; i < wall.photos.size(); ++i) {
        if (!wall.photos[i].fog) continue;
        fogs.push_back(*wall.photos[i].fog);
        of_photo.push_back(i);
    }
    const auto condensation = condensationOf(fogs);
    for (size_t i = 0; i < of_photo.size(); ++i) seen[of_photo[i]].condensation_percent = condensation[i];
}

KeptHistory keptHistory(const std::string& key, const Wall& wall, const WallHistory& history,
                        const std::set<std::string>& undrawn)
{
    json photos = json::array();
    for (const WallPhoto& photo : wall.photos)
        photos.push_back({{"photo", photo.seen.photo}, {"date", isoDate(photo.seen.taken.date)}});
    std::string bytes;
    if (!history.first_seen.empty()) bytes = encoded(".png", history.first_seen, {});
    json meta = {{"photos", photos}, {"undrawn", undrawn}};
    if (!wall.views.empty()) {
        meta["mm_per_px"] = wall.views.front().panel.mm_per_px;
        meta["in_mm"] = wall.views.front().panel.in_mm;
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
