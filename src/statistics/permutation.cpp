#include <algorithm>
#include <boost/math/special_functions/gamma.hpp>
#include <map>
#include <numeric>

#include "lots.h"
#include "slipglass/statistics/exact.h"

namespace slipglass {

namespace {

/// A block's units; `groups` is handed out anew, the rest stays.
struct Block {
    std::vector<int> groups;
    std::vector<double> scores;  ///< less what their cuttings would have at the block's mean
    std::vector<int> cuttings;
};

void centre(Block& block)
{
    const double mean = std::accumulate(block.scores.begin(), block.scores.end(), 0.0) /
                        std::accumulate(block.cuttings.begin(), block.cuttings.end(), 0);
    for (size_t i = 0; i < block.scores.size(); ++i) block.scores[i] -= mean * block.cuttings[i];
}

bool oneGroup(const Block& block)
{
    return std::all_of(block.groups.begin(), block.groups.end(),
                       [&](int group) { return group == block.groups.front(); });
}

std::vector<Block> blocksOf(const std::vector<Unit>& units)
{
    std::map<int, Block> by_number;
    for (const Unit& unit : units) {
        Block& block = by_number[unit.block];
        block.groups.push_back(unit.group);
        block.scores.push_back(unit.score);
        block.cuttings.push_back(unit.cuttings);
    }
    std::vector<Block> blocks;
    for (auto& [number, block] : by_number) {
        if (oneGroup(block)) continue;
        centre(block);
        blocks.push_back(std::move(block));
    }
    return blocks;
}

class Statistic {
public:
    explicit Statistic(size_t groups) : sums_(groups), cuttings_(groups) {}

    double of(const std::vector<Block>& blocks)
    {
        std::fill(sums_.begin(), sums_.end(), 0.0);
        std::fill(cuttings_.begin(), cuttings_.end(), 0);
        for (const Block& block : blocks) {
            for (size_t i = 0; i < block.groups.size(); ++i) {
                sums_[static_cast<size_t>(block.groups[i])] += block.scores[i];
                cuttings_[static_cast<size_t>(block.groups[i])] += block.cuttings[i];
            }
        }
        double sum = 0;
        for (size_t g = 0; g < sums_.size(); ++g)
            if (cuttings_[g] > 0) sum += sums_[g] * sums_[g] / cuttings_[g];
        return sum;
    }

private:
    std::vector<double> sums_;
    std::vector<int> cuttings_;
};

/// In how many ways the groups can be handed out.
double ways(const std::vector<Block>& blocks)
{
    double log_ways = 0;
    for (const Block& block : blocks) {
        std::map<int, int> of_group;
        for (int group : block.groups) ++of_group[group];
        log_ways += boost::math::lgamma(static_cast<double>(block.groups.size()) + 1);
        for (const auto& [group, count] : of_group) log_ways -= boost::math::lgamma(count + 1.0);
    }
    return std::exp(log_ways);
}

/// The next way to hand out the groups; false after the last.
bool next(std::vector<Block>& blocks)
{
    return std::any_of(blocks.begin(), blocks.end(), [](Block& block) {
        return std::next_permutation(block.groups.begin(), block.groups.end());
    });
}

Chance byAll(std::vector<Block> blocks, Statistic& statistic, double least)
{
    for (Block& block : blocks) std::sort(block.groups.begin(), block.groups.end());
    double all = 0, as_far = 0;
    do {
        ++all;
        if (statistic.of(blocks) >= least) ++as_far;
    } while (next(blocks));
    return {as_far / all, std::nullopt};
}

Chance byDrawing(std::vector<Block> blocks, Statistic& statistic, double least)
{
    auto random = lots();
    int as_far = 0;
    for (int draw = 0; draw < kDraws; ++draw) {
        for (Block& block : blocks) std::shuffle(block.groups.begin(), block.groups.end(), random);
        as_far += static_cast<int>(statistic.of(blocks) >= least);
    }
    return fromDraws(as_far);
}

}  // namespace

std::optional<Chance> permutationTest(const std::vector<Unit>& units)
{
    const std::vector<Block> blocks = blocksOf(units);
    if (blocks.empty()) return std::nullopt;
    int groups = 0;
    for (const Unit& unit : units) groups = std::max(groups, unit.group + 1);
    Statistic statistic(static_cast<size_t>(groups));
    const double seen = statistic.of(blocks);
    const double least = seen - kSame * (1 + seen);
    return ways(blocks) <= kMostGoneThrough * (1 + kSame) ? byAll(blocks, statistic, least)
                                                          : byDrawing(blocks, statistic, least);
}

std::vector<double> holm(const std::vector<double>& p)
{
    std::vector<size_t> order(p.size());
    std::iota(order.begin(), order.end(), size_t{0});
    std::stable_sort(order.begin(), order.end(), [&](size_t a, size_t b) { return p[a] < p[b]; });
    std::vector<double> adjusted(p.size());
    double at_least = 0;
    for (size_t i = 0; i < order.size(); ++i) {
        at_least = std::max(at_least, std::min(1.0, p[order[i]] * static_cast<double>(p.size() - i)));
        adjusted[order[i]] = at_least;
    }
    return adjusted;
}

}  // namespace slipglass
