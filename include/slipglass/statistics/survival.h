#pragma once
#include <optional>
#include <vector>

#include "slipglass/statistics/exact.h"

namespace slipglass {

// Times to an event. "Survival" is the share still without it: here, not yet struck.

/// Followed to the event itself, or to the day it was last seen without one.
struct Followed {
    double time = 0;
    bool event = false;  ///< false: not yet, when last seen at `time`
    int group = 0, block = 0;
};

struct SurvivalStep {
    double time = 0;
    int at_risk = 0, events = 0, censored = 0;  ///< who leaves at `time` is still at risk at `time`
    double survival = 1;
    std::optional<double> standard_error;  ///< Greenwood's; empty once survival is 0
};

/// Kaplan and Meier, JASA 53:457-481, 1958. A step for each time at which somebody leaves, in order.
std::vector<SurvivalStep> kaplanMeier(std::vector<Followed> followed);

struct LogRank {
    std::vector<double> observed, expected;  ///< events by group
    double chi_square = 0;
    int degrees = 0;
    double p = 1;
};

/// Mantel and Cox's log-rank test, in blocks: expected events and their covariance are added up over blocks.
/// Empty when nothing can be compared: one group only, or no event while two were at risk.
std::optional<LogRank> logRank(const std::vector<Followed>& followed);

/// The event came after `left` and not after `right`; `right` is infinite when it has not come yet.
/// 0 <= left < right.
struct TimeSpan {
    double left = 0, right = 0;
};

/// A share of the events that lies somewhere in a span; nothing tells where in it.
struct Mass {
    TimeSpan span;
    double share = 0;
};

struct Turnbull {
    std::vector<Mass> masses;  ///< by time; the last may reach to infinity
    double log_likelihood = 0;
    /// Largest directional derivative at the estimate, per cutting: 0 at the very maximum, and by concavity
    /// the log-likelihood is at most this times the number of cuttings below it.
    double gap = 0;
};

/// The distribution of times most likely to give these spans. Source: Turnbull, JRSS B 38:290-295, 1976;
/// found by self-consistency until `gap` is below 1e-8. Throws std::invalid_argument for a span that is none,
/// or none at all.
Turnbull turnbull(const std::vector<TimeSpan>& spans);

/// The span in which the share that has had the event passes one half; its right end is infinite when it may
/// not have yet.
TimeSpan medianOf(const Turnbull& estimate);

/// Log-rank scores of spans, from the estimate of all of them together: how much each would gain by a higher
/// rate of events for all. Early is above 0, late below, and their sum is 0.
/// Source: Finkelstein, Biometrics 42:845-854, 1986: the score of proportional hazards at "no difference".
std::vector<double> logRankScores(const std::vector<TimeSpan>& spans);

}  // namespace slipglass
