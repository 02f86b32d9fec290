#pragma once
// Invented cuttings, as `compare` sees them.
#include <string>
#include <vector>

#include "../support/season_maker.h"
#include "slipglass/season/compare.h"

namespace slipglass::test {

/// A cutting alone in its tub, stuck on day 0, looked at until day `until`.
inline Series cuttingIn(const std::string& medium, StrikeState state, int until)
{
    static int next = 0;
    Series series;
    const std::string number = std::to_string(++next);
    series.cutting = planned("C" + number, "T" + number);
    series.cutting.medium = medium;
    series.in_plan = true;
    series.state = state;
    series.days_since_stuck = until;
    series.latest_photo = day(until);
    return series;
}

inline Series struckBetween(const std::string& medium, int after, int by)
{
    Series series = cuttingIn(medium, StrikeState::struck, by + 7);
    series.rootless_until = day(after);
    series.struck = Strike{day(after), day(by), day(by + 7)};
    return series;
}

inline Series notYet(const std::string& medium, int until)
{
    Series series = cuttingIn(medium, StrikeState::not_yet, until);
    series.rootless_until = day(until);
    return series;
}

inline Series failedOn(const std::string& medium, int n)
{
    Series series = cuttingIn(medium, StrikeState::failed, n);
    series.rootless_until = day(n);
    return series;
}

inline Series withoutPhotos(const std::string& medium)
{
    return cuttingIn(medium, StrikeState::no_photos, 0);
}

/// `struck` of `of` struck between days 14 and 21, the others not by day 42.
inline std::vector<Series> cuttings(const std::string& medium, int struck, int of)
{
    std::vector<Series> series;
    for (int i = 0; i < of; ++i)
        series.push_back(i < struck ? struckBetween(medium, 14, 21) : notYet(medium, 42));
    return series;
}

inline std::vector<Series> operator+(std::vector<Series> a, const std::vector<Series>& b)
{
    a.insert(a.end(), b.begin(), b.end());
    return a;
}

inline Comparison byMedium(std::vector<Series> series)
{
    return compare({{"winter", std::move(series), {}}}, {"medium", std::nullopt});
}

}  // namespace slipglass::test
