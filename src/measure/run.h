#pragma once
#include <map>
#include <optional>
#include <string>

#include "earlier_views.h"
#include "look_at.h"
#include "slipglass/layout/file_names.h"
#include "slipglass/measure.h"

namespace slipglass {

/// What does not change during a run.
struct Run {
    const MeasureOptions& options;
    const MeasureEvents& events;
    const Settings& settings;
    const std::optional<Plan>& plan;
    SeasonStore& store;
    FiguresKey figures{};
    std::map<PhotoAndTub, std::string> overlays{};  ///< names of those of this run's photos

    bool stopped() const { return events.stop && *events.stop; }
    Looking looking() const { return {settings, plan}; }
};

/// What, besides the photo, its tub and the tub's earlier photos, the figures depend on.
FiguresKey figuresKey(Settings settings);

/// What all of a tub's views depend on.
std::string basisOf(const std::string& tub, const FiguresKey& figures, const Looking& looking);

/// The last layer that `teach` left in the output folder, if it suits this network.
std::optional<RootLayer> taughtLayer(const std::filesystem::path& out, const Settings& settings,
                                     const MeasureEvents& events);

}  // namespace slipglass
