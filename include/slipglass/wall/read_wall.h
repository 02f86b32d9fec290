#pragma once
#include <functional>
#include <opencv2/core/mat.hpp>
#include <optional>
#include <string>
#include <vector>

#include "slipglass/date.h"
#include "slipglass/store/season_store.h"
#include "slipglass/wall/set_figures.h"
#include "slipglass/wall/view_facts.h"

namespace slipglass {

/// One photo of a wall, read with the others.
struct ReadPhoto {
    const ViewFacts& facts;
    const WallView& view;
    const WallReading& reading;
    const Observation& seen;
    bool was_drawn;  ///< as it was read before
};

/// Since when there has been a root at each place of a wall: of the side with most photos, the earliest such.
struct RootAges {
    struct Photo {
        std::string name, date;
    };
    std::vector<Photo> photos;  ///< in order of date
    cv::Mat first_seen;         ///< CV_16UC1: 0 = no root, n = first seen on the n-th photo
    double unit_per_px = 0;     ///< of the pictures that it is drawn on, see Panel
    bool in_mm = false;         ///< likewise

    std::optional<double> mmPerPx() const { return in_mm ? std::optional(unit_per_px) : std::nullopt; }
};

/// What reading a tub's wall rests on, besides what the season file has of it.
struct WallTask {
    std::string tub;
    std::string basis;  ///< views on another one are left out: their figures stay as they are
    TubParts parts;     ///< from the plan
    RootSettings roots;
    PartSettings part_settings;
    std::function<bool(const std::string& photo)> listed;  ///< its pictures can be drawn in this run
    /// Draws a listed photo as it was read; false when that cannot be done.
    std::function<bool(const ReadPhoto&)> draw;
    std::function<void(const RootAges&)> draw_ages;
    std::function<bool()> stopped;
};

/// What reading a wall rests on besides its views; WallRecord::rests_on.
std::string restsOn(const WallTask& task);

/// Reads the photos of each side of a tub's wall together (readSide), puts right what that changes on each,
/// and keeps it. Photos that were read with the same others before, or are followed by more than kLaterAsked,
/// are not opened again. What was there stays when the season file holds no view on this basis.
/// @return whether anything was read anew.
bool readWall(const WallTask& task, SeasonStore& store);

/// Empty when the wall has none, or slipglass did not write it.
std::optional<RootAges> agesIn(const WallRecord& wall);

/// One colour a date, from blue through white to light yellow. Lightness rises all the way, so that the order
/// can be read in grey. Chosen over viridis, whose greens are for eyes without green cones next to the red
/// that roots are drawn with on photos; tests/measure/test_page_pictures.cpp has the differences as such eyes
/// see them.
std::vector<cv::Vec3b> ageColours(size_t dates);

}  // namespace slipglass
