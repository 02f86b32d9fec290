#pragma once
#include <opencv2/core/types.hpp>
#include <optional>
#include <string>

#include "slipglass/store/season_store.h"
#include "slipglass/wall/look_back.h"
#include "slipglass/water/fog.h"

namespace slipglass {

/// What the season file keeps of a photo's view of a wall beside its pictures: KeptView::meta as values.
struct ViewFacts {
    OnSide place;  ///< its `side` is KeptView::side
    WallLight light;
    double root_share = 0;     ///< see EarlierView
    cv::Size size, full_size;  ///< of the picture the view came from, and of its photo, px
    double reduction = 1;      ///< full-size px per px of the picture
    std::optional<WallFog> fog;
    std::string view_meta, panel_meta;  ///< of WallViewFile and PanelFile
    bool in_mm = false;                 ///< its panel's, see Panel
    double unit_per_px = 1;             ///< likewise
    double inner_radius = 0;            ///< see EarlierView
};

std::string metaOf(const ViewFacts& facts);
/// Empty when slipglass did not write it.
std::optional<ViewFacts> factsOf(const KeptView& kept);

/// A view as later photos are shown it; its panel is opened from the store when it is wanted, which must
/// outlive it. Empty when slipglass did not write it.
std::optional<EarlierView> earlierView(const KeptView& kept, const SeasonStore& store);

}  // namespace slipglass
