#pragma once
#include <optional>
#include <string>
#include <vector>

#include "slipglass/overview/season_report.h"

namespace slipglass {

// Walking past the tubs and doing what each needs.

/// One thing a tub needs.
struct Need {
    Said what;  ///< what to do, in a few words: "tip the water out, look for rot"
    Said why;   ///< what was seen, in a few words: "21 mm of water"
    std::optional<Date> since;
    Severity severity = Severity::note;
    std::string flag;  ///< its name; "photo-due" where the tub wants no more than a photo
    /// Those it is about, by id, where the tub holds more; empty: the whole tub.
    std::vector<std::string> cuttings;
    Text evidence, advice;  ///< of the flag, at length
};

struct TubRound {
    std::string tub;
    std::vector<Need> needs;  ///< most urgent first
};

struct Rounds {
    std::optional<Date> newest_photo;       ///< of the season: what is said is as old as that
    std::vector<TubRound> tubs;             ///< those that need something, most urgent first
    std::vector<std::string> no_photo_yet;  ///< of which none was taken, in the order of the season
    std::vector<std::string> fine;          ///< the others, likewise
};

/// Days a tub's latest photo may be older than the season's newest before it wants one. Guess: a week, and
/// some days' grace.
constexpr int kPhotoDueDays = 10;

/// Days from one round to the next. Common practice: once a week.
constexpr int kRoundDays = 7;
/// When the tubs are to be photographed next; empty before the first photo.
std::optional<Date> nextRound(const Rounds& rounds);

/// What each tub needs, from the flags that hold and from photos of it that could not be read. Cuttings that
/// are potted up or given up are left out, and tubs with none left. Pure: reads no clock.
Rounds roundsOf(const SeasonReport& season, int photo_due_days = kPhotoDueDays);

}  // namespace slipglass
