#pragma once
// Invented observations for the tests of everything after them.
#include <optional>
#include <string>

#include "slipglass/observation.h"
#include "slipglass/season/care.h"
#include "slipglass/season/plan.h"

namespace slipglass::test {

/// Day 0 is 2026-01-12, the day the cuttings are stuck.
inline Date day(int n)
{
    return Date{std::chrono::sys_days{std::chrono::year{2026} / 1 / 12} + std::chrono::days{n}};
}

/// A measured photo of that day that knows nothing yet.
inline Observation seenOn(int n, const std::string& tub = "T01")
{
    Observation seen;
    seen.tub = tub;
    seen.taken.date = day(n);
    seen.photo = tub + "/" + tub + "_" + isoDate(seen.taken.date) + ".jpg";
    seen.state = State::measured;
    return seen;
}

inline Observation covered(int n, double percent, const std::string& tub = "T01")
{
    Observation seen = seenOn(n, tub);
    seen.coverage_percent = percent;
    return seen;
}

inline Observation watered(int n, double level_mm, const std::string& tub = "T01")
{
    Observation seen = seenOn(n, tub);
    seen.water_level_mm = level_mm;
    seen.water = {level_mm, level_mm, level_mm};
    seen.standing_water = level_mm >= 2;
    return seen;
}

inline Observation unmeasured(int n, const std::string& note, const std::string& tub = "T01")
{
    Observation seen = seenOn(n, tub);
    seen.state = State::retake;
    seen.notes = {note};
    return seen;
}

inline PlannedCutting planned(const std::string& cutting, const std::string& tub, int stuck_on = 0)
{
    PlannedCutting row;
    row.cutting = cutting;
    row.tub = tub;
    row.stuck_on = day(stuck_on);
    return row;
}

inline CareEvent cared(int n, Care what, const std::string& tub = "T01")
{
    CareEvent event;
    event.date = day(n);
    event.tub = tub;
    event.what = what;
    return event;
}

}  // namespace slipglass::test
