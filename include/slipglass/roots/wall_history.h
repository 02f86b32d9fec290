#pragma once
#include <opencv2/core/mat.hpp>
#include <optional>
#include <string>
#include <vector>

#include "slipglass/panel/align.h"
#include "slipglass/panel/panel.h"
#include "slipglass/roots/find_roots.h"

namespace slipglass {

/// What one photo shows of a wall.
struct WallView {
    Panel panel;    ///< masks, scale and pose; its picture is not looked at
    RootMap roots;  ///< odds and if_root_browned as findRoots gives them for this photo
    /// From this panel to its side's first; empty when that is not known: such a photo stands alone.
    std::optional<Drift> to_first;
};

/// What all photos together say of one of them.
struct WallReading {
    RootMap roots;
    int photos_read = 1;  ///< photos that had a say, this one included
    /// Length first seen on this photo, where an earlier photo shows the same place, mm.
    std::optional<double> gained_mm;
    /// Length behind glare, anywhere on the wall, that other photos show, mm. Empty without other photos.
    std::optional<double> hidden_mm;
    /// Length seen on two earlier photos or more and, though its place can be seen, not any more, mm.
    std::optional<double> lost_mm;
};

struct WallHistory {
    std::vector<WallReading> readings;  ///< one a view, in order
    /// On the side's first panel, CV_16UC1: 0 = no root, n = root first seen on view n - 1.
    cv::Mat first_seen;
};

/// Reads all photos of one side of a wall together.
///
/// Each place of the wall either shows a root or does not; from one photo to the next a root appears there
/// with RootSettings::appears_per_photo and vanishes with vanishes_per_photo. Each photo's odds are what it
/// says of that state, and the forward-backward algorithm (Rabiner 1989, Proc. IEEE 77:257-286, two states)
/// gives what all others together say of a photo's state. That is added to the photo's own odds, so that
/// edges are drawn from the photo itself. What a photo may say to the others is limited, what a person has
/// said is not.
///
/// @param views       in order of date.
/// @param first_size  of the side's first panel. What lies beside it counts as well, but is not in
/// `first_seen`.
WallHistory readTogether(const std::vector<WallView>& views, cv::Size first_size,
                         const RootSettings& settings);

/// A view as it is kept in the season file: all that readTogether needs, without the picture.
struct WallViewFile {
    std::string bytes;  ///< PNG: odds in twentieths, if_root_browned, masks
    std::string meta;   ///< JSON: scale, pose, drift
};
WallViewFile encodeWallView(const WallView& view);
/// Odds come back limited to +-6 and rounded to 0.05. Empty when the bytes are not such a view.
std::optional<WallView> decodeWallView(const WallViewFile& file);
/// Its way to its side's first panel alone. Empty when it has none or the text is not such a meta.
std::optional<Drift> driftIn(const std::string& meta);

}  // namespace slipglass
