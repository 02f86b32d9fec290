#include "slipglass/statistics/trend.h"

#include <algorithm>
#include <boost/math/distributions/normal.hpp>
#include <cmath>
#include <cstdlib>
#include <map>
#include <numeric>
#include <stdexcept>

namespace slipglass {

namespace {

constexpr size_t kMostDifferent = 50, kMostWithTies = 9;  // 9! orders take a tenth of a second

int sign(double x)
{
    return static_cast<int>(x > 0) - static_cast<int>(x < 0);
}

int scoreOf(const std::vector<double>& y)
{
    int s = 0;
    for (size_t i = 0; i < y.size(); ++i)
        for (size_t j = i + 1; j < y.size(); ++j) s += sign(y[j] - y[i]);
    return s;
}

/// How often each value is there.
std::vector<double> timesSeen(const std::vector<double>& values)
{
    std::map<double, double> seen;
    for (const double value : values) ++seen[value];
    std::vector<double> times;
    times.reserve(seen.size());
    for (const auto& [value, count] : seen) times.push_back(count);
    return times;
}

double sumOver(const std::vector<double>& counts, double (*term)(double))
{
    return std::accumulate(counts.begin(), counts.end(), 0.0,
                           [term](double sum, double count) { return sum + term(count); });
}

/// Of Kendall's score if x and y have nothing to do with each other, equal values in both allowed for.
double scoreVariance(const std::vector<double>& x, const std::vector<double>& y)
{
    const auto n = static_cast<double>(y.size());
    const auto in_x = timesSeen(x), in_y = timesSeen(y);
    const auto v = [](double t) { return t * (t - 1) * (2 * t + 5); };
    const auto pairs = [](double t) { return t * (t - 1); };
    const auto triples = [](double t) { return t * (t - 1) * (t - 2); };
    double variance = (v(n) - sumOver(in_x, v) - sumOver(in_y, v)) / 18;
    if (n > 1) variance += sumOver(in_x, pairs) * sumOver(in_y, pairs) / (2 * pairs(n));
    if (n > 2) variance += sumOver(in_x, triples) * sumOver(in_y, triples) / (9 * triples(n));
    return variance;
}

/// Share of all orders of n different values whose score is at least as far from 0 as s.
double exactOfDifferent(int n, int s)
{
    // share[k]: of the orders with k falling pairs, built up a value at a time.
    std::vector<double> share{1};
    for (int values = 2; values <= n; ++values) {
        std::vector<double> longer(share.size() + static_cast<size_t>(values) - 1, 0.0);
        for (size_t k = 0; k < share.size(); ++k)
            for (size_t put = 0; put < static_cast<size_t>(values); ++put)
                longer[k + put] += share[k] / values;
        share = std::move(longer);
    }
    const int pairs = n * (n - 1) / 2;
    double p = 0;
    for (int falling = 0; falling <= pairs; ++falling)
        if (std::abs(pairs - 2 * falling) >= std::abs(s)) p += share[static_cast<size_t>(falling)];
    return std::min(1.0, p);
}

double exactWithTies(std::vector<double> y, int s)
{
    std::sort(y.begin(), y.end());
    double all = 0, as_far = 0;
    do {
        ++all;
        if (std::abs(scoreOf(y)) >= std::abs(s)) ++as_far;
    } while (std::next_permutation(y.begin(), y.end()));
    return as_far / all;
}

std::vector<double> slopesOf(const std::vector<double>& x, const std::vector<double>& y)
{
    std::vector<double> slopes;
    for (size_t i = 0; i < x.size(); ++i)
        for (size_t j = i + 1; j < x.size(); ++j)
            if (x[i] != x[j]) slopes.push_back((y[j] - y[i]) / (x[j] - x[i]));
    std::sort(slopes.begin(), slopes.end());
    return slopes;
}

}  // namespace

double median(std::vector<double> values)
{
    std::sort(values.begin(), values.end());
    const size_t half = values.size() / 2;
    return values.size() % 2 == 1 ? values[half] : (values[half - 1] + values[half]) / 2;
}

std::optional<Trend> theilSen(const std::vector<double>& x, const std::vector<double>& y, double confidence)
{
    if (x.size() != y.size()) throw std::invalid_argument("x and y differ in number");
    const std::vector<double> slopes = slopesOf(x, y);
    if (slopes.empty()) return std::nullopt;
    Trend trend;
    trend.slope = median(slopes);
    trend.intercept = median(y) - trend.slope * median(x);
    const double z = boost::math::quantile(boost::math::normal(), 0.5 + confidence / 2);
    const double off = z * std::sqrt(std::max(0.0, scoreVariance(x, y)));
    const auto pairs = static_cast<double>(slopes.size());
    const double low = std::max(0.0, std::round((pairs - off) / 2) - 1);
    const double high = std::min(pairs - 1, std::round((pairs + off) / 2));
    trend.limits = {slopes[static_cast<size_t>(low)], slopes[static_cast<size_t>(high)]};
    return trend;
}

MannKendall mannKendall(const std::vector<double>& y)
{
    MannKendall result;
    result.s = scoreOf(y);
    std::vector<double> order(y.size());
    std::iota(order.begin(), order.end(), 0.0);
    result.variance = scoreVariance(order, y);
    if (result.variance <= 0) return result;
    result.z = (result.s - sign(result.s)) / std::sqrt(result.variance);
    const size_t different = timesSeen(y).size();
    result.exact = y.size() <= (different == y.size() ? kMostDifferent : kMostWithTies);
    if (!result.exact)
        result.p = 2 * cdf(complement(boost::math::normal(), std::abs(result.z)));
    else
        result.p = different == y.size() ? exactOfDifferent(static_cast<int>(y.size()), result.s)
                                         : exactWithTies(y, result.s);
    return result;
}

}  // namespace slipglass
