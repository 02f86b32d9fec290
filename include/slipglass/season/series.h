#pragma once
#include <optional>
#include <string>
#include <vector>

#include "slipglass/observation.h"
#include "slipglass/season/care.h"
#include "slipglass/season/forecast.h"
#include "slipglass/season/growth.h"
#include "slipglass/season/plan.h"
#include "slipglass/season/tub_parts.h"
#include "slipglass/settings.h"

namespace slipglass {

struct SeasonSettings {
    double detection_limit_percent = 0.3;
    double detection_limit_alone_percent = 0.8;
    double strike_length_mm = 60.0;
    double potting_coverage_percent = 4.0;
    double potting_length_mm = 300.0;
    double potting_base_mm = 15.0;

    template <class Self, class Visit>
    static void fields(Self& self, Visit&& visit)
    {
        visit("detection_limit_percent", self.detection_limit_percent, Bounds{0, 100},
              "Coverage above which roots count as seen, percent: what rootless medium looks like at most in "
              "19 of 20 photos. Measured: docs/measured/quality.md.");
        visit("detection_limit_alone_percent", self.detection_limit_alone_percent, Bounds{0, 100},
              "The same for a photo that could be compared with no other of the same wall. Measured: "
              "docs/measured/quality.md.");
        visit("strike_length_mm", self.strike_length_mm, Bounds{1, 10000},
              "Root length, mm, past which roots on the latest photo alone mean that it has struck. Guess: "
              "without roots up to 35 mm were found (docs/measured/quality.md).");
        visit("potting_coverage_percent", self.potting_coverage_percent, Bounds{0.1, 100},
              "Coverage, percent, from which it can be potted up. Guess.");
        visit("potting_length_mm", self.potting_length_mm, Bounds{1, 100000},
              "The same for root length, mm. Guess.");
        visit("potting_base_mm", self.potting_base_mm, Bounds{0, 1000},
              "How near the base the deepest root must be, mm. Guess.");
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
    /// Relative growth rate per day (relativeGrowthRate) between the same two photos, where both show roots.
    std::optional<double> coverage_relative_per_day, root_length_relative_per_day;
    /// Whether it has struck and every figure that is known has passed its potting threshold; empty when
    /// coverage is not known.
    std::optional<bool> potting_reached;
    std::optional<bool> deep_enough;  ///< the deepest root is near the base; empty when not known
};

/// What is known of a cutting's rooting.
enum class StrikeState {
    no_photos,  ///< no photo that could tell
    not_yet,    ///< not by the latest photo that could tell
    struck,     ///< see Strike
    failed,     ///< given up or pulled before it was seen to strike
};

/// "no photos", "not yet", "struck" or "failed".
const char* strikeText(StrikeState state);

/// The cutting rooted between two photos.
struct Strike {
    /// Last day it is known not to have struck: of a photo, or stuck_on; empty when neither is known.
    std::optional<Date> after;
    Date by;  ///< first photo above the detection limit, or the day it was potted up if that was before
    /// Next photo above it, or the day it was potted up. `by` itself where the length of the roots on the
    /// latest photo told at once.
    Date confirmed;
};

/// One cutting's observations in date order, with what is derived from them.
/// Photos marked `retake` stay in the series, and nothing but their date and notes is used.
struct Series {
    PlannedCutting cutting;  ///< row of the plan; ids alone when there is none
    bool in_plan = false;
    int cuttings_in_tub = 1;
    /// Several cuttings in the tub: "left", "middle" or "right", where figures of roots are of the cutting's
    /// own part of the wall; "" where they are the tub's, shared by its cuttings (`tub_parts.shared` says
    /// why).
    std::string part;
    TubParts tub_parts;
    std::vector<SeriesPoint> points;  ///< by date, then time of day (unknown first), then photo

    std::vector<CareEvent> care;   ///< of its tub, by date; without those of another cutting
    std::vector<Weighing> weight;  ///< of its tub
    /// Earliest day that the plan or the care log gives for it.
    std::optional<Date> given_up_on, potted_up_on;
    /// The earlier of the two; photos of the tub after that day are not in the series.
    std::optional<Date> ended_on;

    StrikeState state = StrikeState::no_photos;
    /// Last day it is known to have been without roots: of a photo, of the day it was given up (when it
    /// failed), or stuck_on. The day of right-censoring of `not_yet` and `failed`. Empty when not known.
    std::optional<Date> rootless_until;
    std::optional<Date> first_photo, latest_photo;
    std::optional<int> days_since_stuck;   ///< at the latest photo
    std::optional<Date> roots_first_seen;  ///< first day with roots above the detection limit (or potted up),
                                           ///< confirmed or not
    /// Above the limit on two photos running, of two days; or on the latest one, with root length past the
    /// limit of the settings; or potted up, which the grower does with a rooted cutting.
    std::optional<Strike> struck;
    /// Of coverage and root length against days since `grows_from`: the day it was stuck, or where that is
    /// not known its first photo. From photos of the cutting that know the figure. Empty without roots.
    std::optional<Date> grows_from;
    Growth coverage_growth, root_length_growth;
    Potting potting;
    int standing_water_days = 0;  ///< calendar days from first to last photo of each run with standing water
};

/// A series for each row of the plan, in its order, then one for each tub that was seen and is in no plan, by
/// id. A planned tub without photos has an empty series. Figures that are not finite become empty.
/// Deterministic: the order of `observations` does not matter.
std::vector<Series> buildSeries(const std::vector<Observation>& observations, const std::optional<Plan>& plan,
                                const SeasonSettings& settings, const CareLog& care = {});

/// The latest usable point where `figure` is known; null when there is none.
const SeriesPoint* latestKnown(const Series& series, std::optional<double> Observation::*figure);

/// One line for each thing in the series that cannot be right: a tub not in the plan, photos older than the
/// cutting, a cutting both given up and potted up.
std::vector<std::string> seriesWarnings(const std::vector<Series>& series, bool have_plan);

/// One line for each thing in the care log that does not fit the season: a tub, or a cutting of a tub, that
/// nobody knows (one line for each; one that differs in capitals named), a row from before anything was stuck
/// in its tub.
std::vector<std::string> careWarnings(const CareLog& care, const std::vector<Series>& series);

}  // namespace slipglass
