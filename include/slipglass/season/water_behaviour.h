#pragma once
#include <optional>
#include <string>
#include <vector>

#include "slipglass/said.h"
#include "slipglass/season/series.h"

namespace slipglass {

/// How the water level of a tub changed from one photo to the next that knows it.
struct LevelFall {
    Date from{}, to{};
    double mm_per_day = 0;  ///< positive when it fell
    /// The fall that both levels' intervals allow at most, mm a day (errors independent of each other). Empty
    /// when an interval is not known, and with `at_least`.
    std::optional<double> most_mm_per_day;
    /// No water was seen on the second photo: mm_per_day is what it fell at least.
    bool at_least = false;
};

/// The fall from one photo to another of a later day. Empty when it says nothing: a level is not known, no
/// water stood on the first, the tub was watered or tipped out between (both days counted), or the level rose
/// by more than the intervals allow, which only watering does.
std::optional<LevelFall> levelFall(const Observation& first, const Observation& second,
                                   const std::vector<CareEvent>& of_tub);

/// How water behaves in one tub.
struct WaterBehaviour {
    std::string tub, medium;                ///< media of several cuttings joined by " / "
    int photos = 0;                         ///< that show whether water stands
    int photos_standing = 0;                ///< of them, with standing water
    std::vector<LevelFall> falls;           ///< in order of date
    std::optional<double> fall_mm_per_day;  ///< median of `falls`
    bool fall_at_least = false;             ///< some of them are lower bounds, so the median is one
    int waterings = 0, tipped_out = 0;      ///< in the care log
    int watered_onto_water = 0;  ///< waterings while the last photo before, at most a week old, showed water
    int after_watering = 0;      ///< waterings followed by such a photo within a week
    int standing_after_watering = 0;
    bool never_dry = false;          ///< water on every photo, of several days
    bool watered_too_often = false;  ///< watered onto water, or water on most photos after watering
    Text says;                       ///< the same in plain sentences
};

/// One entry a tub, by id. Taken from the series of the tub's cuttings.
std::vector<WaterBehaviour> waterBehaviour(const std::vector<Series>& series);

/// How fast water goes in one medium.
struct MediumWater {
    std::string medium;
    int tubs = 0, photos = 0, photos_standing = 0, falls = 0, never_dry = 0;
    std::optional<double> fall_mm_per_day;  ///< median of all falls of its tubs
    bool fall_at_least = false;
    std::string says;
};

/// By medium, as the plan writes it (capitals apart), in alphabetical order; tubs without one are left out.
std::vector<MediumWater> waterByMedium(const std::vector<WaterBehaviour>& tubs);

}  // namespace slipglass
