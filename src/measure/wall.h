#pragma once
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "slipglass/observe.h"
#include "slipglass/panel/panel_file.h"
#include "slipglass/store/season_store.h"

namespace slipglass {

/// A view in its photo.
struct WallPhoto {
    Observation seen;
    cv::Size size, full_size;  ///< of the picture the view came from, and of its photo, px
    double reduction = 1;
    std::optional<WallFog> fog;
    std::string side;     ///< which side of the tub it shows, see OnSide
    cv::Size first_size;  ///< of that side's first panel
};

/// All that the season file has of one tub's wall, in order of date.
struct Wall {
    std::vector<WallView> views;
    std::vector<WallPhoto> photos;  ///< one a view
};

/// What reading each side's photos together gives.
struct WallRead {
    std::vector<WallReading> readings;  ///< one a view of the wall
    std::vector<size_t> most;           ///< views of the side with most photos, the earliest of such
    cv::Mat first_seen;                 ///< of that side: 0 = no root, n = first seen on the n-th of `most`
};
WallRead readSides(const Wall& wall, const RootSettings& settings);

/// Tells whether a tub's wall was read as it is now: changes with all that reading it depends on.
/// @param views  what the season file has of the tub.
std::string wallKey(const std::vector<KeptView>& views, const std::string& depends_on);

/// Views on another basis (see EarlierViews) are left out: their photos are gone, and their figures stay as
/// they are.
Wall wallOf(const std::vector<KeptView>& views, const SeasonStore& store, const std::string& basis);

/// A view as the season file keeps it.
/// @param look   of a photo that has one, in its place.
/// @param panel  its panel.
KeptView keptView(const Look& look, const PanelFile& panel, const Picture& picture, const std::string& basis);

/// What reading a wall's photos together changes in one observation.
void setReading(Observation& seen, const WallView& view, const WallReading& reading);

/// What it changes in the fog seen on each photo.
/// @param seen  one a photo of the wall.
void setFog(std::vector<Observation>& seen, const Wall& wall);

/// The wall's history as the season file keeps it: WallRead::first_seen as a 16-bit PNG, with the photos and
/// their dates.
/// @param undrawn  photos whose overlay could not be drawn anew.
KeptHistory keptHistory(const std::string& key, const Wall& wall, const WallRead& read,
                        const std::set<std::string>& undrawn);
std::set<std::string> undrawnIn(const KeptHistory& history);

}  // namespace slipglass
