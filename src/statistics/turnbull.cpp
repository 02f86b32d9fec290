#include <algorithm>
#include <cmath>
#include <stdexcept>

#include "slipglass/statistics/survival.h"

namespace slipglass {

namespace {

constexpr double kGap = 1e-8;
constexpr int kMostRounds = 1'000'000;
constexpr double kHalf = 0.5 - 1e-7;  // the estimate is good to its gap

/// The estimate puts its mass only on spans from a left end to the right end next after it.
std::vector<Mass> innermost(const std::vector<TimeSpan>& spans)
{
    struct End {
        double time;
        bool left;
    };
    std::vector<End> ends;
    for (const TimeSpan& span : spans) {
        if (!(span.left >= 0 && span.left < span.right)) throw std::invalid_argument("a span that is none");
        ends.push_back({span.left, true});
        ends.push_back({span.right, false});
    }
    // Spans are open at the left, so (a, b] ends before (b, c] begins.
    std::sort(ends.begin(), ends.end(),
              [](End a, End b) { return a.time != b.time ? a.time < b.time : !a.left && b.left; });
    std::vector<Mass> masses;
    for (size_t i = 0; i + 1 < ends.size(); ++i)
        if (ends[i].left && !ends[i + 1].left) masses.push_back({{ends[i].time, ends[i + 1].time}, 0});
    return masses;
}

bool holds(const TimeSpan& outer, const TimeSpan& inner)
{
    return outer.left <= inner.left && inner.right <= outer.right;
}

/// First and one-past-last mass inside each span: masses are in order, so they are neighbours.
struct Run {
    size_t first, last;
};

std::vector<Run> runsOf(const std::vector<TimeSpan>& spans, const std::vector<Mass>& masses)
{
    std::vector<Run> runs;
    for (const TimeSpan& span : spans) {
        size_t first = 0;
        while (!holds(span, masses[first].span)) ++first;
        size_t last = first;
        while (last < masses.size() && holds(span, masses[last].span)) ++last;
        runs.push_back({first, last});
    }
    return runs;
}

double shareOf(const std::vector<Mass>& masses, Run run)
{
    double share = 0;
    for (size_t j = run.first; j < run.last; ++j) share += masses[j].share;
    return share;
}

/// For each mass, the mean over the spans of (is it inside) / (share inside): 1 where mass belongs.
std::vector<double> gradient(const std::vector<Run>& runs, const std::vector<Mass>& masses)
{
    std::vector<double> slopes(masses.size(), 0.0);
    for (const Run& run : runs) {
        const double share = shareOf(masses, run);
        for (size_t j = run.first; j < run.last; ++j) slopes[j] += 1 / share;
    }
    for (double& slope : slopes) slope /= static_cast<double>(runs.size());
    return slopes;
}

/// Share later than `time`, which is an end of a span, so that no mass straddles it.
double later(const std::vector<Mass>& masses, double time)
{
    double share = 0;
    for (const Mass& mass : masses)
        if (mass.span.left >= time) share += mass.share;
    return share;
}

double timesLog(double share)
{
    return share > 0 ? share * std::log(share) : 0.0;
}

}  // namespace

Turnbull turnbull(const std::vector<TimeSpan>& spans)
{
    if (spans.empty()) throw std::invalid_argument("no span at all");
    Turnbull estimate;
    estimate.masses = innermost(spans);
    for (Mass& mass : estimate.masses) mass.share = 1.0 / static_cast<double>(estimate.masses.size());
    const std::vector<Run> runs = runsOf(spans, estimate.masses);
    for (int round = 0; round < kMostRounds; ++round) {
        const std::vector<double> slopes = gradient(runs, estimate.masses);
        estimate.gap = std::max(0.0, *std::max_element(slopes.begin(), slopes.end()) - 1);
        if (estimate.gap < kGap) break;
        for (size_t j = 0; j < slopes.size(); ++j) estimate.masses[j].share *= slopes[j];
    }
    for (const Run& run : runs) estimate.log_likelihood += std::log(shareOf(estimate.masses, run));
    return estimate;
}

TimeSpan medianOf(const Turnbull& estimate)
{
    double share = 0;
    for (const Mass& mass : estimate.masses) {
        share += mass.share;
        if (share >= kHalf) return mass.span;
    }
    return estimate.masses.back().span;
}

std::vector<double> logRankScores(const std::vector<TimeSpan>& spans)
{
    const Turnbull estimate = turnbull(spans);
    std::vector<double> scores;
    for (const TimeSpan& span : spans) {
        const double before = later(estimate.masses, span.left), after = later(estimate.masses, span.right);
        scores.push_back((timesLog(before) - timesLog(after)) / (before - after));
    }
    return scores;
}

}  // namespace slipglass
