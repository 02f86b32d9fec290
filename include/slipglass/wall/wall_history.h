#pragma once
#include <functional>
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
    RootMap roots;  ///< log-odds and if_root_browned as findRoots gives them for this photo
    /// From this panel to its side's reference panel; empty when that is not known.
    std::optional<Drift> to_reference;
};

/// What all photos together say of one of them. Lengths in its panel's units.
struct WallReading {
    RootMap roots;
    int photos_read = 1;  ///< photos that had a say, this one included
    /// Length first seen on this photo, where an earlier photo shows the same place.
    std::optional<double> gained;
    /// Length behind glare, anywhere on the wall, that other photos show. Empty without other photos.
    std::optional<double> hidden;
    /// Length seen on two earlier photos or more and, though its place can be seen, not any more.
    std::optional<double> lost;
};

/// How many photos after it are asked about a photo. What comes later changes its figures no more: a season
/// of any length is read on from a sum of all but the latest photos. Guess: six weeks of weekly photos.
constexpr size_t kLaterAsked = 6;

/// What the first photos of a side say together, on its reference panel and what they show beside it.
struct WallSum {
    int photos = 0;      ///< how many
    int left = 0;        ///< column of the pictures below where the reference panel begins
    cv::Mat root;        ///< CV_32FC1, chance of a root on the next photo, before it is asked
    cv::Mat first_seen;  ///< CV_16UC1: 0 = no root, n = root first seen on the n-th photo
    cv::Mat shown;       ///< CV_8UC1, 255 where any photo shows the wall
    cv::Mat times;       ///< CV_8UC1, on how many photos there was a root; 255 and more are 255
};

/// The photos of one side, in order of date.
struct SidePhotos {
    cv::Size reference_size;  ///< of the reference panel. What lies beside it counts as well
    size_t count = 0;
    /// Opened when it is wanted, twice: a season's views together fill a memory. Empty when it cannot be
    /// opened, or is not known to show the side: such a photo has no say.
    std::function<std::optional<WallView>(size_t nth)> view;
};

/// What becomes of reading a side.
struct SideReading {
    /// Of all photos but the last kLaterAsked, from which a season with more photos is read on; `photos` is 0
    /// where there are no more.
    WallSum to_go_on;
    /// As WallSum's, of all photos, on the side's reference panel alone.
    cv::Mat first_seen;
};

/// Reads the photos of one side of a wall together.
///
/// Each place of the wall either shows a root or does not; from one photo to the next a root appears there
/// with RootSettings::appears_per_photo and vanishes with vanishes_per_photo. Each photo's log-odds are what
/// it says of that state, and the forward-backward algorithm (Rabiner 1989, Proc. IEEE 77:257-286, two
/// states) gives what all before it and the kLaterAsked after it say of a photo's state. That is added to the
/// photo's own log-odds, so that edges are drawn from the photo itself. What a photo may say to the others is
/// limited, what a person has said is not. Of kLaterAsked + 1 photos what they say is held at once, of one
/// its view.
///
/// @param from   the sum of some of the first photos, `to_go_on` of an earlier reading; empty to read all.
/// @param first  photo from which readings are wanted, from.photos or later.
/// @param read   is given each, in order.
SideReading readSide(const SidePhotos& side, WallSum from, size_t first, const RootSettings& settings,
                     const std::function<void(size_t nth, const WallView&, WallReading)>& read);

/// A sum as it is kept in the season file.
std::string encodeWallSum(const WallSum& sum);
/// Empty when the bytes are not such a sum.
std::optional<WallSum> decodeWallSum(const std::string& bytes);

/// A view as the season file keeps it: all that readSide needs, without the picture.
struct WallViewFile {
    std::string bytes;  ///< PNG of three channels: log-odds in twentieths, if_root_browned, masks
    std::string meta;   ///< JSON: scale, pose, drift
};
WallViewFile encodeWallView(const WallView& view);
/// Odds come back limited to +-6 and rounded to 0.05. Empty when it is not such a view.
std::optional<WallView> decodeWallView(const WallViewFile& file);
/// The base's radius alone, inside, as EarlierView has it. 0 when the text is not such a meta.
double innerRadiusIn(const std::string& meta);
/// Its way to its side's reference panel alone. Empty when it has none or the text is not such a meta.
std::optional<Drift> driftIn(const std::string& meta);

}  // namespace slipglass
