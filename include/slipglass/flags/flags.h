#pragma once
#include <optional>
#include <string>
#include <vector>

#include "slipglass/said.h"
#include "slipglass/season/series.h"
#include "slipglass/settings.h"

namespace slipglass {

/// How soon a flag wants something done.
enum class Severity { act_today, look_soon, note };

/// "act today", "look soon" or "note".
const char* severityText(Severity severity);

struct FlagSettings {
    int waterlogged_photos = 2;
    int waterlogged_days = 7;
    int no_roots_days = 28;
    int likely_failed_days = 42;
    double drying_wetness = 0.3;
    double drying_lightening_percent = 10;
    double browned_percent = 20.0;
    double white_root_loss_percent = 20.0;
    double green_percent = 3.0;
    double slow_fall_mm_per_day = 0.5;
    double crowding_root_mm = 10.0;
    double crowding_coverage_percent = 10.0;
    int stalled_days = 14;
    double stalled_rise_share = 0.5;

    template <class Self, class Visit>
    static void fields(Self& self, Visit&& visit)
    {
        visit("waterlogged_photos", self.waterlogged_photos, Bounds{2, 20},
              "`waterlogged`: standing water on this many photos running, of as many days. Common practice.");
        visit("waterlogged_days", self.waterlogged_days, Bounds{1, 100},
              "`waterlogged`: or standing water from one photo to another at least so many days later. "
              "Common practice.");
        visit("no_roots_days", self.no_roots_days, Bounds{1, 1000},
              "`no-roots-yet`: older than this without roots. Common practice.");
        visit("likely_failed_days", self.likely_failed_days, Bounds{1, 1000},
              "`no-roots-yet`: from this age on, likely failed. Common practice.");
        visit("drying_wetness", self.drying_wetness, Bounds{0, 1},
              "`drying`: wetness at or below which the medium is drying out: under a first photo (0.5) by "
              "twice what wetness errs by. Measured: docs/measured/condition.md.");
        visit("drying_lightening_percent", self.drying_lightening_percent, Bounds{0, 100},
              "`drying`: and so much lighter than on the tub's first photo: two and a half times the spread "
              "of photos of one state. Measured: docs/measured/condition.md.");
        visit("browned_percent", self.browned_percent, Bounds{0, 100},
              "`browning`: browned share of the root area, percent, from which roots in standing water may "
              "be rotting. Common practice.");
        visit("white_root_loss_percent", self.white_root_loss_percent, Bounds{0, 100},
              "`browning`: share of its largest area, percent, that white root must have lost, beyond what "
              "the intervals of both photos allow. Guess.");
        visit("green_percent", self.green_percent, Bounds{0.1, 100},
              "`green-wall`: green share of the wall, percent, by which it must have risen since the lowest "
              "earlier photo. Guess.");
        visit("slow_fall_mm_per_day", self.slow_fall_mm_per_day, Bounds{0.01, 50},
              "`slow-to-absorb`: fall of the water level between two photos, mm a day, that it stays below "
              "even where both levels err as far as their intervals reach. Common practice.");
        visit("crowding_root_mm", self.crowding_root_mm, Bounds{0.1, 1000},
              "`crowding`: root in one piece on either side of the border between two cuttings, mm. Guess.");
        visit("crowding_coverage_percent", self.crowding_coverage_percent, Bounds{0.1, 100},
              "`crowding` where nobody knows whose roots are whose: coverage, percent, at which they "
              "probably meet; only a note. Guess: roots 0.8 mm wide are then 8 mm apart on average.");
        visit("stalled_days", self.stalled_days, Bounds{1, 1000},
              "`stalled`: days without growth. Common practice.");
        visit("stalled_rise_share", self.stalled_rise_share, Bounds{0, 10},
              "`stalled`: share of the upper half of its interval that coverage must have risen by in that "
              "time. Tried on invented growth: docs/measured/forecasts.md.");
    }
};

/// A dated statement about a series that asks for an action.
struct Flag {
    std::string tub, cutting;
    std::string name;  ///< of its kind: "standing-water"
    Severity severity = Severity::note;
    Date date{};                      ///< day it first held in its latest run
    Text evidence;                    ///< what was seen, in words and figures
    std::vector<std::string> photos;  ///< the photos it rests on, oldest first
    Text advice;
    double how_much = 0;  ///< for the order among flags of a kind: mm of water; 0 where nothing is counted
    bool holds = true;    ///< nothing seen since says otherwise
    std::optional<Date> cleared;  ///< day it was first seen not to hold any more
    /// Another flag of the cutting that holds and comes first (comesBefore), by name: what this one asks is
    /// not said until then. "" when there is none.
    std::string waits_for;
    /// Day the care log says that it was done (FlagKind::done_by), on the latest photo it rests on or later:
    /// it is not asked again until a photo shows it again.
    std::optional<Date> done_on;
};

/// The flags of all series: those that hold, most urgent first, then those that cleared, latest first. Of
/// each kind and cutting only the latest run is told. What still holds when a cutting leaves its tub clears
/// on that day. Whether water stands is taken from Observation::standing_water, so its threshold is set in
/// one place only. Photos marked `retake` count for `retake` alone. A photo on which a figure is not known
/// neither raises nor clears a flag about it. There is no `drying` while water stands or may stand.
/// `browning` needs the browned share to have risen past its threshold while water stands, or white root to
/// have shrunk by more than the intervals of the two photos allow; the browned share alone raises nothing,
/// since ripening roots darken too. `green-wall` needs the green share to have risen by its threshold since
/// the lowest earlier photo: what was green from the start is no algae. `slow-to-absorb` looks at two photos
/// running that know the level, water standing on both, with no watering or tipping out between in the care
/// log. `crowding` looks at the border between two cuttings' parts of the wall; where a tub's cuttings have
/// none, it is a note about how full the wall is. `stalled` compares a photo with the latest one that is
/// `stalled_days` older and shows roots; there is none once it can be potted up. `ready-to-pot` is
/// SeriesPoint::potting_reached, so that its thresholds are set in one place only (SeasonSettings), or the
/// forecast's likely day when that has come. A cutting that was potted up or given up raises no more flags:
/// those that held are cleared on that day.
std::vector<Flag> findFlags(const std::vector<Series>& series, const FlagSettings& settings);

}  // namespace slipglass
