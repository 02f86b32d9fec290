#include "slipglass/wall/view_facts.h"

#include <cmath>
#include <nlohmann/json.hpp>

#include "../words/strict_json.h"
#include "slipglass/panel/panel_file.h"
#include "slipglass/wall/wall_history.h"

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

std::optional<WallFog> fogFrom(const json& kept)
{
    if (kept.is_null()) return std::nullopt;
    WallFog fog{intIn(kept.at("columns")), {}};
    if (fog.columns < 1) return std::nullopt;
    for (const json& row : kept.at("places")) {
        FogPlace place{intIn(row.at(0)), intIn(row.at(1)), {}};
        if (row.size() > 2)
            place.grains =
                GrainLight{row.at(2).get<double>() / kLightSteps, row.at(3).get<double>() / kLightSteps};
        fog.places.push_back(place);
    }
    return fog;
}

json orNull(const std::optional<double>& value)
{
    return value ? json(*value) : json();
}

std::optional<double> numberIn(const json& value)
{
    return value.is_null() ? std::nullopt : std::optional<double>(value);
}

json sizeJson(cv::Size size)
{
    return {size.width, size.height};
}

cv::Size sizeFrom(const json& size)
{
    return {intIn(size.at(0)), intIn(size.at(1))};
}

}  // namespace

std::string metaOf(const ViewFacts& facts)
{
    const json meta = {{"view", facts.view_meta},
                       {"panel", facts.panel_meta},
                       {"side", {{"size", sizeJson(facts.place.reference_size)}}},
                       {"wall_lightness", orNull(facts.light.wall_lightness)},
                       {"white", orNull(facts.light.white)},
                       {"against_label", facts.light.against_label},
                       {"root_share", facts.root_share},
                       {"picture", sizeJson(facts.size)},
                       {"photo", sizeJson(facts.full_size)},
                       {"reduction", facts.reduction},
                       {"fog", fogJson(facts.fog)}};
    return meta.dump();
}

std::optional<ViewFacts> factsOf(const KeptView& kept)
{
    try {
        const json meta = json::parse(kept.meta);
        ViewFacts facts;
        facts.view_meta = meta.at("view");
        facts.panel_meta = meta.at("panel");
        const auto way = driftIn(facts.view_meta);
        if (!way) return std::nullopt;
        facts.place = {kept.side, sizeFrom(meta.at("side").at("size")), *way};
        constexpr int kLongest_px = 20'000;  // far beyond a panel of the largest tub
        for (const int side : {facts.place.reference_size.width, facts.place.reference_size.height})
            if (side < 1 || side > kLongest_px) return std::nullopt;
        facts.light = {numberIn(meta.at("wall_lightness")), numberIn(meta.at("white")),
                       meta.at("against_label")};
        facts.root_share = meta.at("root_share");
        facts.size = sizeFrom(meta.at("picture"));
        facts.full_size = sizeFrom(meta.at("photo"));
        facts.reduction = meta.at("reduction");
        facts.fog = fogFrom(meta.at("fog"));
        const json panel = json::parse(facts.panel_meta);
        facts.in_mm = panel.at("in_mm");
        facts.unit_per_px = panel.at("mm_per_px");
        facts.inner_radius = innerRadiusIn(facts.view_meta);
        return facts;
    } catch (const json::exception&) {
        return std::nullopt;
    }
}

std::optional<EarlierView> earlierView(const KeptView& kept, const SeasonStore& store)
{
    const auto facts = factsOf(kept);
    if (!facts) return std::nullopt;
    const auto panel = [&store, photo = kept.photo, tub = kept.tub, meta = facts->panel_meta] {
        return decodePanel({store.panel(photo, tub), meta});
    };
    return EarlierView{facts->place, facts->in_mm,      facts->light,
                       panel,        facts->root_share, facts->inner_radius};
}

}  // namespace slipglass
