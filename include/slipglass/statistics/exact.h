#pragma once
#include <optional>
#include <vector>

namespace slipglass {

/// How often chance alone gives a result at least as far from "no difference" as the one seen.
struct Chance {
    double p = 1;  ///< above 0, at most 1
    /// Of p, where it was found by drawing lots (always the same ones) because there are too many cases to
    /// go through; empty where all were.
    std::optional<double> standard_error;
};

/// Counts by row and column.
using CountTable = std::vector<std::vector<int>>;

/// Fisher's exact test, two-sided: the tables with these margins that are no more probable than this one. All
/// are gone through where that is soon done, else lots are drawn.
/// Source: Fisher 1935; Freeman and Halton, Biometrika 38:141-149, 1951, for more than two rows or columns.
/// @throws  std::invalid_argument for a ragged table or a negative count (our bug).
Chance fisherExact(const CountTable& table);

/// What changes groups as one when lots are drawn: a cutting, or all cuttings of a tub.
struct Unit {
    int group = 0;     ///< 0, 1, ...
    int block = 0;     ///< groups are only exchanged inside a block
    double score = 0;  ///< summed over its cuttings
    int cuttings = 1;
};

/// Whether the groups differ in score per cutting more than the drawing of groups inside each block explains:
/// the sum over groups of (sum of scores less their block's mean)^2 / cuttings, against all ways, or many
/// drawn ways, to hand out the groups. Empty when no block holds two groups: there is nothing to exchange.
/// Source: Fisher 1935; its validity rests on the handing out alone, not on any distribution.
std::optional<Chance> permutationTest(const std::vector<Unit>& units);

/// p values of several tests made at once, each raised so that the chance of even one false alarm among them
/// stays below the smallest; in the order given. Source: Holm, Scand. J. Statistics 6:65-70, 1979.
std::vector<double> holm(const std::vector<double>& p);

}  // namespace slipglass
