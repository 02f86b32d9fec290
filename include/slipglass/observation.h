#pragma once
#include <optional>
#include <string>
#include <tuple>
#include <vector>

#include "slipglass/date.h"
#include "slipglass/frames.h"

namespace slipglass {

/// How far an observation can be trusted.
enum class State {
    measured,  ///< all figures that could be known are given
    caution,   ///< measured, but under conditions that widen the error; `notes` says which
    retake,    ///< not measured; `notes` says why and how to take the photo better
};

/// Lowest level of standing water that is told from a wet base, mm. Common practice: less is the last drop of
/// a drained tub. How well it is told: docs/measured/water.md.
constexpr double kLeastWaterMm = 2;

/// Where free water was read to stand above the inner base, in the panel's own lengths: mm, or nominal where
/// the photo has no scale. A fact: whether water stands is a verdict on it (setStanding).
struct WaterHeights {
    std::optional<double> level;      ///< 0 = none to be told from a wet base
    std::optional<double> low, high;  ///< 90 % interval
};

/// What is measured of roots, on a wall or on one cutting's part of it.
struct RootMeasures {
    std::optional<double> coverage_percent;  ///< root area / visible wall area, both on the panel, 0..100
    std::optional<double> coverage_low, coverage_high;  ///< 90 % interval
    std::optional<double> root_length_mm;               ///< centre lines of visible roots
    std::optional<double> root_width_mm;                ///< mean, weighted by length
    std::optional<double> browned_percent;              ///< share of root area that is browned, 0..100
    std::optional<double> deepest_root_mm;              ///< height of the lowest root above the inner base
};

/// What one cutting's part of the wall shows, where several cuttings share a tub; a share is of the part's
/// own visible wall.
struct PartFigures : RootMeasures {
    std::string place;  ///< "left", "middle" or "right", as seen on the side of the tub's first photo
    /// Length of its roots that run on, in one piece, into another part: whose they are cannot be told.
    std::optional<double> shared_root_mm;
    /// What roots in one piece have on both sides of the border to the next part on the right: the smaller of
    /// both lengths. Empty for the last part.
    std::optional<double> meets_next_mm;
};

/// Everything measured on one photo of one tub. An empty figure could not be known; it is never 0 instead.
/// Fields named as columns of observations.csv have that column's meaning and unit.
struct Observation : RootMeasures {
    std::string photo;  ///< path below the folder the user gave, '/' between parts
    std::string tub;
    TakenAt taken;
    State state = State::retake;

    std::optional<double> water_level_mm;  ///< standing free water above the inner base; 0 = seen, none there
    std::optional<double> water_level_percent;          ///< of the medium's height
    std::optional<double> water_low_mm, water_high_mm;  ///< 90 % interval
    std::optional<bool> standing_water;                 ///< 2 mm or more (setting); see setStanding
    std::optional<double> wetness;                      ///< 0 dry .. 1 wet, see setWetness
    std::optional<double> wall_area_mm2;                ///< visible wall that was measured
    std::optional<double> px_per_mm;   ///< full-size photo, wall facing the camera, half the filled height
    std::optional<double> confidence;  ///< that this is a tub, well placed: 0..1
    std::vector<std::string> notes;

    // Further columns, after `notes` in the file.
    std::optional<double> condensation_percent;  ///< share of the visible wall under fog or droplets, 0..100
    std::optional<double> green_percent;         ///< share of the visible wall that is green (algae), 0..100
    std::optional<double> wall_lightness;    ///< see Condition: percent of the lightness of the label's paper
    std::optional<double> medium_height_mm;  ///< medium surface above the inner base
    std::optional<double> sharpness;         ///< 0 blurred .. 1 sharp
    std::optional<double> glare_percent;     ///< share of the wall hidden by glare, 0..100
    std::optional<double> tilt_deg;          ///< roll of the tub in the picture
    std::optional<double>
        photos_read;  ///< photos of this wall that had a say in its roots, 1 = this one alone
    std::optional<double>
        gained_root_mm;  ///< root length first seen on this photo, where one before it looked
    std::optional<double> hidden_root_mm;  ///< root length behind glare, known from other photos
    std::optional<double>
        lost_root_mm;  ///< root length seen on two earlier photos and, though its place is in sight, not now

    /// What the water figures above were taken from; no column of its own.
    WaterHeights water;
    /// Outline in full-size photo px, for overlays: rim left, rim right, base right, base left. Empty if not
    /// found.
    std::vector<PhotoPoint> outline;
    /// Water line in full-size photo px, left to right. Empty if none.
    std::vector<PhotoPoint> water_line;
    /// The parts of its cuttings, left to right. Empty where they cannot be told apart.
    std::vector<PartFigures> parts;
};

/// Whether the observation's figures may be used.
inline bool usable(const Observation& seen)
{
    return seen.state != State::retake;
}

/// The order of a series: date, time of day (unknown first), photo, tub.
inline bool takenBefore(const Observation& a, const Observation& b)
{
    return std::tie(a.taken, a.photo, a.tub) < std::tie(b.taken, b.photo, b.tub);
}

/// A row of problems.csv: a file not measured, or measured with caution. Nothing is dropped silently.
struct Problem {
    std::string file;    ///< as the user would name it
    std::string tub;     ///< empty when not known
    std::string state;   ///< "not measured", "retake" or "caution"
    std::string reason;  ///< what is wrong
    std::string remedy;  ///< what to do
};

}  // namespace slipglass
