#include <algorithm>
#include <boost/math/distributions/hypergeometric.hpp>
#include <boost/math/special_functions/gamma.hpp>
#include <numeric>
#include <stdexcept>

#include "lots.h"
#include "slipglass/statistics/exact.h"

namespace slipglass {

namespace {

// Two tables as probable as each other differ by rounding only; R and scipy forgive as much.
constexpr double kAsProbable = 1e-7;

struct Margins {
    std::vector<int> rows, columns;
};

Margins marginsOf(const CountTable& table)
{
    Margins margins;
    margins.columns.assign(table.empty() ? 0 : table.front().size(), 0);
    for (const auto& row : table) {
        if (row.size() != margins.columns.size()) throw std::invalid_argument("a ragged table");
        if (std::any_of(row.begin(), row.end(), [](int count) { return count < 0; }))
            throw std::invalid_argument("a negative count");
        margins.rows.push_back(std::accumulate(row.begin(), row.end(), 0));
        for (size_t c = 0; c < row.size(); ++c) margins.columns[c] += row[c];
    }
    return margins;
}

/// Rows and columns without a count say nothing.
CountTable withoutEmpty(const CountTable& table)
{
    const Margins margins = marginsOf(table);
    CountTable kept;
    for (size_t r = 0; r < table.size(); ++r) {
        if (margins.rows[r] == 0) continue;
        kept.emplace_back();
        for (size_t c = 0; c < table[r].size(); ++c)
            if (margins.columns[c] > 0) kept.back().push_back(table[r][c]);
    }
    return kept;
}

double logFactorial(int n)
{
    // Going through all tables asks for some of them a million times.
    static const std::vector<double> first = [] {
        constexpr int kFirst = 1024;
        std::vector<double> values;
        values.reserve(kFirst);
        for (int i = 0; i < kFirst; ++i) values.push_back(boost::math::lgamma(i + 1.0));
        return values;
    }();
    const auto nth = static_cast<size_t>(n);
    return nth < first.size() ? first[nth] : boost::math::lgamma(n + 1.0);
}

double sumOfLogFactorials(const std::vector<int>& counts)
{
    return std::accumulate(counts.begin(), counts.end(), 0.0,
                           [](double sum, int count) { return sum + logFactorial(count); });
}

/// A table's probability is exp(constant - this): the larger, the less probable.
double rarity(const CountTable& table)
{
    return std::accumulate(table.begin(), table.end(), 0.0, [](double sum, const std::vector<int>& row) {
        return sum + sumOfLogFactorials(row);
    });
}

double twoByTwo(const CountTable& table)
{
    const auto first_row = static_cast<unsigned>(table[0][0] + table[0][1]);
    const auto first_column = static_cast<unsigned>(table[0][0] + table[1][0]);
    const auto all = first_row + static_cast<unsigned>(table[1][0] + table[1][1]);
    const boost::math::hypergeometric_distribution<> chance(first_row, first_column, all);
    const double seen = pdf(chance, static_cast<unsigned>(table[0][0]));
    const unsigned least = first_row + first_column > all ? first_row + first_column - all : 0;
    double p = 0;
    for (unsigned count = least; count <= std::min(first_row, first_column); ++count) {
        const double probability = pdf(chance, count);
        if (probability <= seen * (1 + kAsProbable)) p += probability;
    }
    return std::min(1.0, p);
}

/// Goes through all tables with the given margins, a cell at a time.
class AllTables {
public:
    AllTables(const Margins& margins, double rarity_seen)
        : rows_(margins.rows),
          left_(margins.columns),
          rarity_seen_(rarity_seen),
          constant_(sumOfLogFactorials(margins.rows) + sumOfLogFactorials(margins.columns) -
                    logFactorial(std::accumulate(rows_.begin(), rows_.end(), 0)))
    {
    }

    /// Probability of the tables no more probable than the one seen; empty when there are too many tables.
    std::optional<double> p()
    {
        if (!fill(0, 0, rows_[0], 0)) return std::nullopt;
        return std::min(1.0, p_);
    }

private:
    bool fill(size_t row, size_t column, int left_in_row, double rarity_so_far)
    {
        if (row + 1 == rows_.size()) return count(rarity_so_far + sumOfLogFactorials(left_));
        if (column + 1 == left_.size()) {
            if (left_in_row > left_[column]) return true;
            left_[column] -= left_in_row;
            const bool go_on = fill(row + 1, 0, rows_[row + 1], rarity_so_far + logFactorial(left_in_row));
            left_[column] += left_in_row;
            return go_on;
        }
        const int most = std::min(left_in_row, left_[column]);
        for (int cell = 0; cell <= most; ++cell) {
            left_[column] -= cell;
            const bool go_on = fill(row, column + 1, left_in_row - cell, rarity_so_far + logFactorial(cell));
            left_[column] += cell;
            if (!go_on) return false;
        }
        return true;
    }

    bool count(double rarity)
    {
        if (rarity >= rarity_seen_ - kAsProbable) p_ += std::exp(constant_ - rarity);
        return ++tables_ <= kMostGoneThrough;
    }

    std::vector<int> rows_, left_;
    double rarity_seen_, constant_, p_ = 0;
    int tables_ = 0;
};

Chance byDrawing(const CountTable& table, const Margins& margins)
{
    std::vector<size_t> columns;  // of each counted thing, row after row
    for (size_t c = 0; c < margins.columns.size(); ++c)
        columns.insert(columns.end(), static_cast<size_t>(margins.columns[c]), c);
    const double seen = rarity(table);
    auto random = lots();
    int as_rare = 0;
    for (int draw = 0; draw < kDraws; ++draw) {
        std::shuffle(columns.begin(), columns.end(), random);
        CountTable drawn(table.size(), std::vector<int>(margins.columns.size(), 0));
        size_t next = 0;
        for (size_t r = 0; r < table.size(); ++r)
            for (int i = 0; i < margins.rows[r]; ++i) ++drawn[r][columns[next++]];
        as_rare += static_cast<int>(rarity(drawn) >= seen - kAsProbable);
    }
    return fromDraws(as_rare);
}

}  // namespace

Chance fisherExact(const CountTable& given)
{
    const CountTable table = withoutEmpty(given);
    if (table.size() < 2 || table.front().size() < 2) return {};
    if (table.size() == 2 && table.front().size() == 2) return {twoByTwo(table), std::nullopt};
    const Margins margins = marginsOf(table);
    if (const auto p = AllTables(margins, rarity(table)).p()) return {*p, std::nullopt};
    return byDrawing(table, margins);
}

}  // namespace slipglass
