#pragma once
#include <opencv2/core/mat.hpp>
#include <optional>
#include <string>
#include <vector>

#include "slipglass/corrections/correction.h"
#include "slipglass/flags/verdict_settings.h"
#include "slipglass/observation.h"
#include "slipglass/panel/panel.h"
#include "slipglass/panel/quality.h"
#include "slipglass/photo/read_photo.h"
#include "slipglass/roots/find_roots.h"
#include "slipglass/tub/find_tub.h"
#include "slipglass/wall/look_back.h"
#include "slipglass/wall/parts.h"
#include "slipglass/wall/wall_history.h"
#include "slipglass/water/fog.h"
#include "slipglass/water/water_level.h"

namespace slipglass {

/// Every threshold of the program; settings.json sets any of them as {"group": {"field": value}}.
struct Settings : VerdictSettings {
    PhotoLimits photos;
    LabelSettings label;
    TubSettings tub;
    PanelSettings panel;
    RootSettings roots;
    PartSettings parts;
    WaterSettings water;
    QualitySettings quality;
    std::vector<TubType> tub_types;  ///< the user's own
    /// What `teach` has learnt from corrections; no key of settings.json.
    std::optional<RootLayer> taught;

    /// Fields by group and name that say how a photo is measured.
    std::vector<SettingField> measuringFields();
    /// All: those, the verdicts', those of a wall's parts, which are read from what is kept of the photos,
    /// and which photos are opened at all: that changes no figure of one that is.
    std::vector<SettingField> fields();
};

/// Defaults, changed by a settings.json. Throws Error as readSettings and readTubTypes do, and where two
/// settings say the opposite of each other.
Settings readSettingsFile(const std::filesystem::path& path);
/// The same from its text.
/// @param name  of the file, for messages.
Settings settingsFrom(const std::string& text, const std::string& name);

/// docs/settings.md: every setting, its default, its bounds and what it means. Markdown, or plain text for a
/// terminal.
std::string settingsPage(bool markdown);

/// One tub to be looked for in a photo.
struct TubInPhoto {
    std::string tub;
    std::optional<TubType> type;  ///< from the plan
    std::optional<Label> label;
    std::optional<Correction> correction = std::nullopt;  ///< what a person says of it: the last word
};

/// What one look at one tub gives.
struct Look {
    Observation seen;
    std::optional<Tub> tub;          ///< empty when none was found
    std::optional<Panel> panel;      ///< empty when no tub was found
    std::optional<Quality> quality;  ///< empty when no tub was found
    /// CV_8UC1 0/255, the picture's size. `takeFigures` leaves the roots' empty of any: they are drawn when a
    /// wall's photos are read together.
    cv::Mat root_mask, wall_mask;
    std::string remedy;                  ///< how to do better; empty when nothing is to be done
    OnSide place;                        ///< which side of the tub it shows
    WallLight light;                     ///< as later photos of that side are told
    double root_share = 0;               ///< the same: of the wall in sight, by the picture alone
    std::optional<EarlierPanel> before;  ///< what was there before, where earlier photos show the same side
    std::optional<WallView> view;        ///< for reading all photos of the wall together; empty for a retake
    std::optional<WallFog> fog;          ///< the same for its fog
};

/// The way from a picture to the tub's unrolled wall. Pure, as are the two below.
/// @param picture  decoded at least as large as pictureSideFor() says, or in full.
/// @param photo, taken  copied into the observation.
Look findWall(const Picture& picture, const PhotoFacts& facts, const std::string& photo, const TakenAt& taken,
              const TubInPhoto& which, const Settings& settings);

/// The way from there to the figures. Nothing to do for a photo that has to be taken again.
void takeFigures(Look& look, const Picture& picture, const TubInPhoto& which, const TubHistory& history,
                 const Settings& settings);

/// Both, in order, and the root mask as the photo shows it by itself.
/// @param earlier  see lookBack.
Look observe(const Picture& picture, const PhotoFacts& facts, const std::string& photo, const TakenAt& taken,
             const TubInPhoto& which, const std::vector<EarlierView>& earlier, const Settings& settings);

/// Long side a picture is decoded at, px: enough for a tub that fills half of its height to give the panel
/// its scale.
constexpr int kPictureSide = 1500;

/// Labels of a picture.
/// @param tubs  that are known to be in it: theirs are enough. Empty: all labels.
std::vector<Label> labelsIn(const Picture& picture, const LabelSettings& settings,
                            const std::vector<std::string>& tubs = {});

/// Labels read from the unrolled wall, where the code is nearly flat: a second try where the picture itself
/// gave none.
std::vector<Label> labelsOn(const Panel& panel, const LabelSettings& settings);

/// The same for a picture in which not even the tub is known.
std::vector<Label> labelsOnWallOf(const Picture& picture, const PhotoFacts& facts, const Settings& settings);

}  // namespace slipglass
