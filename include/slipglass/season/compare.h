#pragma once
#include <optional>
#include <string>
#include <vector>

#include "slipglass/said.h"
#include "slipglass/season/series.h"
#include "slipglass/statistics/exact.h"
#include "slipglass/statistics/proportion.h"
#include "slipglass/statistics/survival.h"

namespace slipglass {

/// A season to be compared with others, or in itself.
struct NamedSeason {
    std::string name;  ///< differs from the others'
    std::vector<Series> series;
    std::vector<std::string> own_columns;  ///< of its plan
};

struct CompareWish {
    std::string by;                     ///< a column of the plan, or "season"
    std::optional<std::string> within;  ///< another one, whose values are kept apart
};

/// A value of the column, and how its cuttings did.
struct ComparedGroup {
    std::string value;  ///< kNotGiven where the plan says nothing
    int cuttings = 0;   ///< struck, not_yet and failed together: those that some photo tells of
    int struck = 0, not_yet = 0, failed = 0;
    Limits strike_rate;  ///< Wilson's, 0..1
    /// Days from sticking within which half of them had struck: somewhere in the span between two photos,
    /// whose right end is infinite when it may not have come yet. Empty when no day of sticking is known.
    std::optional<TimeSpan> median_days;
    std::optional<double> coverage_percent;  ///< median of the latest known
    std::optional<double> water_days;        ///< mean of the days with standing water
};
constexpr const char* kNotGiven = "(not given)";

/// One way of comparing, and what it gave.
struct ComparedTest {
    Chance chance;
    std::string method;  ///< for people: "Fisher's exact test"
};

/// Two groups, by their place in `groups`.
struct ComparedPair {
    size_t a = 0, b = 0;
    Difference difference;  ///< in strike rate, a - b, within what is kept apart
    ComparedTest test;
    double p_adjusted = 1;  ///< by Holm, for all pairs
};

/// The cuttings that share a season and a value of `within`: only they are compared with each other.
struct ComparedBlock {
    std::string name;
    std::vector<Share> shares;  ///< by group
};

struct Comparison {
    std::string by;
    std::vector<std::string> kept_apart;  ///< "season" and `within`, where they apply
    std::vector<ComparedGroup> groups;    ///< best strike rate first, then by value
    std::vector<ComparedBlock> blocks;    ///< one when nothing is kept apart
    std::optional<ComparedTest> rates;    ///< all groups; empty when there is nothing to compare
    std::optional<ComparedTest> days;     ///< the same of days to strike
    std::vector<ComparedPair> pairs;      ///< none when groups are too many, or of one cutting each
    bool too_many_pairs = false;
    int left_out = 0;  ///< cuttings without a photo that tells
    Text warnings;     ///< each one clear line
};
constexpr size_t kMostGroupsInPairs = 8;

/// Which value of a column struck best, and how often chance alone would do that.
///
/// Strike rates by Fisher's exact test; where cuttings share tubs, or a season or `within` is kept apart, by
/// handing out the groups anew inside each of these, whole tubs together. Days to strike by the same
/// exchange of log-rank scores. A cutting not yet struck counts as open from its last photo without roots; a
/// failed one as never to strike. Several seasons are kept apart unless `by` or `within` is "season".
/// Deterministic, and nothing in the result is NaN.
/// Throws Error for a column that no plan has (nearest and known ones named), `within` the same as `by`,
/// "season" with one season only, and when no cutting has a photo that tells.
Comparison compare(const std::vector<NamedSeason>& seasons, const CompareWish& wish);

/// ComparedGroup::median_days of all cuttings together. Empty when no day of sticking is known.
std::optional<TimeSpan> medianDaysToStrike(const std::vector<Series>& series);

}  // namespace slipglass
