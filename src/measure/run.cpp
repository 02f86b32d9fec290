#include "run.h"

#include <nlohmann/json.hpp>

#include "slipglass/corrections/taught.h"
#include "slipglass/roots/root_layer.h"

namespace slipglass {

FiguresKey figuresKey(Settings settings)
{
    std::string taught;
    if (settings.taught)
        taught = " taught " + nlohmann::json(settings.taught->weights).dump() +
                 nlohmann::json(settings.taught->bias).dump();
    // Raise the number when the code gives other figures from the same input.
    return {"figures 14 " + contentHash(contentHash(tubMapBytes()) + contentHash(rootMapBytes())),
            contentHash(settingsText(settings.measuringFields()) + taught)};
}

std::string basisOf(const std::string& tub, const FiguresKey& figures, const Looking& looking)
{
    std::string type = "no type";
    if (const auto t = looking.typeOf(tub)) {
        type.clear();
        for (const double size : {t->rim_diameter_mm, t->base_diameter_mm, t->height_mm, t->wall_mm})
            type += nlohmann::json(size).dump() + ' ';
    }
    return contentHash(figures.program + figures.settings + tub + '\n' + type);
}

std::optional<RootLayer> taughtLayer(const std::filesystem::path& out, const Settings& settings,
                                     const MeasureEvents& events)
{
    if (!settings.roots.learned) return std::nullopt;
    const std::filesystem::path file = out / output::kTaught;
    try {
        const std::optional<Taught> taught = readTaught(file);
        if (!taught) return std::nullopt;
        const bool same_network = taught->model == contentHash(rootMapBytes()) &&
                                  taught->layer.weights.size() == shippedRootLayer().weights.size();
        if (same_network) return taught->layer;
        events.warn(file.string() +
                    ": was taught to another root map than this slipglass has, and is not used. "
                    "Run `slipglass teach` again, or take it away with `slipglass teach DIR --undo`.");
    } catch (const Error& error) {
        events.warn(std::string(error.what()) + " It is not used.");
    }
    return std::nullopt;
}

}  // namespace slipglass
