#include "slipglass/statistics/power.h"

#include <algorithm>
#include <boost/math/distributions/binomial.hpp>
#include <boost/math/distributions/hypergeometric.hpp>
#include <stdexcept>

namespace slipglass {

namespace {

/// Two tables are as probable as each other when they differ by less than this share: rounding, as R 4.2.2's
/// fisher.test takes it.
constexpr double kAsProbable = 1 + 1e-7;

/// Fisher's two-sided p of every table with `struck` in all, by struck of the first group: the sum of all
/// tables no more probable.
std::vector<double> twoSidedP(int a, int b, int struck)
{
    const auto of = [](int n) { return static_cast<unsigned>(n); };
    const boost::math::hypergeometric_distribution<> tables(of(a), of(struck), of(a + b));
    const int least = std::max(0, struck - b), most = std::min(a, struck);
    std::vector<double> probable;
    for (int x = least; x <= most; ++x) probable.push_back(boost::math::pdf(tables, of(x)));
    std::vector<double> sorted = probable, sums(static_cast<size_t>(a) + 1, 1.0);
    std::sort(sorted.begin(), sorted.end());
    std::vector<double> up_to(sorted.size());
    double sum = 0;
    for (size_t i = 0; i < sorted.size(); ++i) up_to[i] = sum += sorted[i];
    for (int x = least; x <= most; ++x) {
        const double own = probable[static_cast<size_t>(x - least)];
        const auto last = std::upper_bound(sorted.begin(), sorted.end(), own * kAsProbable);
        sums[static_cast<size_t>(x)] = up_to[static_cast<size_t>(last - sorted.begin()) - 1];
    }
    return sums;
}

std::vector<double> binomialPdf(int n, double chance)
{
    const boost::math::binomial_distribution<> struck(n, chance);
    std::vector<double> pdf;
    for (int x = 0; x <= n; ++x) pdf.push_back(boost::math::pdf(struck, x));
    return pdf;
}

}  // namespace

FisherPower::FisherPower(int a, int b, double level) : a_(a), b_(b)
{
    if (a < 1 || b < 1) throw std::invalid_argument("FisherPower: empty group");
    noticed_.resize(static_cast<size_t>(a + 1) * static_cast<size_t>(b + 1));
    for (int struck = 0; struck <= a + b; ++struck) {
        const std::vector<double> p = twoSidedP(a, b, struck);
        for (int x = std::max(0, struck - b); x <= std::min(a, struck); ++x)
            noticed_[static_cast<size_t>(x) * static_cast<size_t>(b + 1) + static_cast<size_t>(struck - x)] =
                p[static_cast<size_t>(x)] <= level * kAsProbable;
    }
}

double FisherPower::chance(double strikes_a, double strikes_b) const
{
    const std::vector<double> of_a = binomialPdf(a_, strikes_a), of_b = binomialPdf(b_, strikes_b);
    double sum = 0;
    size_t at = 0;
    for (const double x : of_a) {
        double row = 0;
        for (const double y : of_b) row += noticed_[at++] ? y : 0;
        sum += x * row;
    }
    return sum;
}

NoticedFrom noticedFrom(const FisherPower& power, int percent, double wanted)
{
    const double strikes = percent / 100.0;
    NoticedFrom from;
    for (int other = percent + 1; other <= 100 && !from.at_least; ++other)
        if (power.chance(strikes, other / 100.0) >= wanted) from.at_least = other;
    for (int other = percent - 1; other >= 0 && !from.at_most; --other)
        if (power.chance(strikes, other / 100.0) >= wanted) from.at_most = other;
    return from;
}

std::optional<int> groupSizeFor(double strikes_a, double strikes_b, int most, double wanted)
{
    for (int size = 1; size <= most; ++size)
        if (FisherPower(size, size).chance(strikes_a, strikes_b) >= wanted) return size;
    return std::nullopt;
}

}  // namespace slipglass
