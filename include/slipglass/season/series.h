#pragma once
#include <optional>
#include <string>
#include <vector>

#include "slipglass/observation.h"
#include "slipglass/season/plan.h"
#include "slipglass/settings.h"

namespace slipglass {

struct SeasonSettings {
    /// Coverage above which roots count as seen, percent: what rootless medium looks like at most in 19 of 20
    /// photos. Measured: docs/quality.md, "detection limit".
    double detection_limit_percent = 0.3;
    /// The same for a photo that could be compared with no other one of the same wall. Measured there too.
    double detection_limit_alone_percent = 0.8;

    template <class Self, class Visit>
    static void fields(Self& self, Visit&& visit)
    {
        visit("detection_limit_percent", self.detection_limit_percent, Bounds{0, 100});
        visit("detection_limit_alone_percent", self.detection_limit_alone_percent, Bounds{0, 100});
    }
};

/// Whether an observation shows roots: above the limit that holds for it. Empty when its coverage is not
/// known.
std::optional<bool> rootsSeen(const Observation& seen, const SeasonSettings& settings);

/// One observation in its place in a series.
struct SeriesPoint {
    Observation seen;
    std::optional<int>
        days_since_stuck;  ///< on the day of the photo; negative when it is older than the cutting
    /// Change per day since the last earlier day on which the figure is known; empty on the first such day.
    std::optional<double> coverage_percent_per_day, root_length_mm_per_day;
};

/// The cutting rooted between two photos.
struct Strike {
    /// Last day it is known not to have struck: of a photo, or stuck_on; empty when neither is known.
    std::optional<Date> after;
    Date by;         ///< first photo above the detection limit
    Date confirmed;  ///< next photo above it
};

/// One cutting's observations in date order, with what is derived from them.
/// Photos marked `retake` stay in the series, and nothing but their date and notes is used.
struct Series {
    PlannedCutting cutting;  ///< row of the plan; ids alone when there is none
    bool in_plan = false;
    int cuttings_in_tub = 1;          ///< above 1 the figures are the tub's, shared by its cuttings
    std::vector<SeriesPoint> points;  ///< by date, then time of day (unknown first), then photo

    std::optional<Date> first_photo, latest_photo;
    std::optional<int> days_since_stuck;   ///< at the latest photo
    std::optional<Date> roots_first_seen;  ///< first photo above the detection limit, confirmed or not
    std::optional<Strike> struck;          ///< above the limit on two photos running, of two days
    int standing_water_days = 0;  ///< calendar days from first to last photo of each run with standing water
};

/// A series for each row of the plan, in its order, then one for each tub that was seen and is in no plan, by
/// id. A planned tub without photos has an empty series. Figures that are not finite become empty.
/// Deterministic: the order of `observations` does not matter.
std::vector<Series> buildSeries(const std::vector<Observation>& observations, const std::optional<Plan>& plan,
                                const SeasonSettings& settings);

/// The order of a series: date, time of day (unknown first), photo, tub.
bool takenBefore(const Observation& a, const Observation& b);

/// Whether the observation's figures may be used.
bool usable(const Observation& seen);

/// The latest usable point where `figure` is known; null when there is none.
const SeriesPoint* latestKnown(const Series& series, std::optional<double> Observation::*figure);

/// One line for each thing in the series that cannot be right: a tub not in the plan, photos older than the
/// cutting.
std::vector<std::string> seriesWarnings(const std::vector<Series>& series, bool have_plan);

}  // namespace slipglass
