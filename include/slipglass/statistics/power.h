#pragma once
#include <optional>
#include <vector>

namespace slipglass {

/// What a comparison of two groups by Fisher's exact test (two-sided) can show before a single cutting is
/// stuck: for every outcome that could be, whether the test would call it more than chance.
class FisherPower {
public:
    /// @param a, b   cuttings of either group, 1 or more.
    /// @param level  largest p at which a difference counts as noticed.
    /// @throws  std::invalid_argument on empty groups (our bug).
    FisherPower(int a, int b, double level = 0.05);

    /// The chance that the difference is noticed when cuttings of the groups strike with these chances, each
    /// by itself: the exact sum over both binomials. 0..1.
    double chance(double strikes_a, double strikes_b) const;

private:
    int a_, b_;
    std::vector<bool> noticed_;  ///< by struck of a, then of b
};

/// How often a difference should be noticed if it is there. Common practice: 8 times in 10.
constexpr double kWantedPower = 0.8;

/// What the other group must strike for the difference to be noticed, in whole percent. Empty: not even all,
/// or none, would do.
struct NoticedFrom {
    std::optional<int> at_least, at_most;
};
/// @param percent  0..100, what the first group strikes.
NoticedFrom noticedFrom(const FisherPower& power, int percent, double wanted = kWantedPower);

/// The smallest size of two equal groups at which the difference is noticed often enough. Empty above `most`.
/// Since counts are whole, a somewhat larger group can do a little worse.
std::optional<int> groupSizeFor(double strikes_a, double strikes_b, int most = 500,
                                double wanted = kWantedPower);

}  // namespace slipglass
