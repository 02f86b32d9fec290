#pragma once
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "slipglass/observe.h"
#include "slipglass/store/season_store.h"

namespace slipglass {

/// A view in its photo.
struct WallPhoto {
    Observation seen;
    cv::Size size, full_size;  ///< of the picture the view came from, and of its photo, px
    double reduction = 1;
    std::optional<WallFog> fog;  ///< empty where it stands alone
};

/// All that the season file has of one tub's wall, in order of date.
struct Wall {
    cv::Size first_size;  ///< of the tub's first panel
    std::vector<WallView> views;
    std::vector<WallPhoto> photos;  ///< one a view
};

/// The tub's first panel; empty when there is none, or it was not written by slipglass.
std::optional<Panel> panelOf(const std::optional<ReferencePanel>& reference);

/// Tells whether a tub's wall was read as it is now: changes with all that reading it depends on.
/// @param views, reference  what the season file has of the tub.
std::string wallKey(const std::vector<KeptView>& views, const std::optional<ReferencePanel>& reference,
                    const std::string& figures_key);

/// Views that were taken with other settings, or lead to another first photo, are left out: their photos are
/// gone, and their figures stay as they are.
Wall wallOf(const std::vector<KeptView>& views, const std::optional<ReferencePanel>& reference,
            const SeasonStore& store, const std::string& figures_key);

/// A view as the season file keeps it.
/// @param look  of a photo that has one.
KeptView keptView(const Look& look, const Picture& picture, const std::optional<ReferencePanel>& reference,
                  const std::string& figures_key);

/// What reading a wall's photos together changes in one observation.
void setReading(Observation& seen, const WallView& view, const WallReading& reading);

/// What it changes in the fog seen on each photo.
/// @param seen  one a photo of the wall.
void setFog(std::vector<Observation>& seen, const Wall& wall);

/// The wall's history as the season file keeps it: a 16-bit PNG on the tub's first panel (0 = no root, n =
/// root first seen on the n-th photo listed in its meta), with the dates and photos.
/// @param undrawn  photos whose overlay could not be drawn anew.
KeptHistory keptHistory(const std::string& key, const Wall& wall, const WallHistory& history,
                        const std::set<std::string>& undrawn);
std::set<std::string> undrawnIn(const KeptHistory& history);

}  // namespace slipglass
