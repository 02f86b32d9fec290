#include "slipglass/statistics/survival.h"

#include <Eigen/Dense>
#include <algorithm>
#include <boost/math/distributions/chi_squared.hpp>
#include <cmath>
#include <map>
#include <set>

namespace slipglass {

namespace {

/// Adds up, over the event times of a block, what each group had and what it would have by chance.
class Expectation {
public:
    explicit Expectation(Eigen::Index groups)
        : observed(Eigen::VectorXd::Zero(groups)),
          expected(Eigen::VectorXd::Zero(groups)),
          covariance(Eigen::MatrixXd::Zero(groups, groups))
    {
    }

    void addTime(const std::vector<Followed>& block, double time)
    {
        Eigen::VectorXd at_risk = Eigen::VectorXd::Zero(observed.size());
        double events = 0;
        for (const Followed& one : block) {
            if (one.time < time) continue;
            at_risk[one.group] += 1;
            if (one.event && one.time == time) {
                observed[one.group] += 1;
                events += 1;
            }
        }
        const double all = at_risk.sum();
        const Eigen::VectorXd share = at_risk / all;
        expected += events * share;
        if (all < 2) return;
        const double spread = events * (all - events) / (all - 1);  // hypergeometric
        covariance += spread * (Eigen::MatrixXd(share.asDiagonal()) - share * share.transpose());
    }

    Eigen::VectorXd observed, expected;
    Eigen::MatrixXd covariance;
};

Eigen::Index groupsOf(const std::vector<Followed>& followed)
{
    int groups = 0;
    for (const Followed& one : followed) groups = std::max(groups, one.group + 1);
    return groups;
}

}  // namespace

std::vector<SurvivalStep> kaplanMeier(std::vector<Followed> followed)
{
    std::sort(followed.begin(), followed.end(), [](const auto& a, const auto& b) { return a.time < b.time; });
    std::vector<SurvivalStep> steps;
    double survival = 1, greenwood = 0;
    for (size_t i = 0; i < followed.size();) {
        SurvivalStep step;
        step.time = followed[i].time;
        step.at_risk = static_cast<int>(followed.size() - i);
        for (; i < followed.size() && followed[i].time == step.time; ++i)
            ++(followed[i].event ? step.events : step.censored);
        const double n = step.at_risk, d = step.events;
        survival *= 1 - d / n;
        if (d < n) greenwood += d / (n * (n - d));
        step.survival = survival;
        if (survival > 0) step.standard_error = survival * std::sqrt(greenwood);
        steps.push_back(step);
    }
    return steps;
}

std::optional<LogRank> logRank(const std::vector<Followed>& followed)
{
    std::map<int, std::vector<Followed>> blocks;
    for (const Followed& one : followed) blocks[one.block].push_back(one);
    Expectation sum(groupsOf(followed));
    for (const auto& [number, block] : blocks) {
        std::set<double> times;
        for (const Followed& one : block)
            if (one.event) times.insert(one.time);
        for (const double time : times) sum.addTime(block, time);
    }
    if (sum.covariance.size() == 0 || sum.covariance.norm() <= 0) return std::nullopt;
    // The differences add up to 0, so the covariance is singular; its pseudo-inverse is what is wanted.
    const Eigen::CompleteOrthogonalDecomposition<Eigen::MatrixXd> solver(sum.covariance);
    const Eigen::VectorXd difference = sum.observed - sum.expected;
    LogRank result;
    result.observed.assign(sum.observed.begin(), sum.observed.end());
    result.expected.assign(sum.expected.begin(), sum.expected.end());
    result.chi_square = difference.dot(solver.solve(difference));
    result.degrees = static_cast<int>(solver.rank());
    result.p = cdf(complement(boost::math::chi_squared(result.degrees), std::max(0.0, result.chi_square)));
    return result;
}

}  // namespace slipglass
