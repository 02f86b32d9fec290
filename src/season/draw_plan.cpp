#include "slipglass/season/draw_plan.h"

#include <algorithm>
#include <array>
#include <limits>
#include <map>
#include <numeric>
#include <random>
#include <set>
#include <tuple>

#include "slipglass/error.h"

namespace slipglass {

namespace {

constexpr int kMostTubs = 999, kMostCuttings = 3;
constexpr const char* kBlock = "block";
constexpr const char* kPlace = "place";

/// Lots: whole numbers below a bound, each as likely. std::uniform_int_distribution and std::shuffle may give
/// other numbers with another compiler.
class Lots {
public:
    explicit Lots(std::uint64_t seed) : engine_(seed) {}

    size_t below(size_t bound)
    {
        constexpr std::uint64_t kAll = std::numeric_limits<std::uint64_t>::max();
        const std::uint64_t fair = kAll - kAll % bound;  // what is over would favour the small numbers
        std::uint64_t number = engine_();
        while (number >= fair) number = engine_();
        return static_cast<size_t>(number % bound);
    }

    template <class T>
    void shuffle(std::vector<T>& items)
    {
        for (size_t left = items.size(); left > 1; --left) std::swap(items[left - 1], items[below(left)]);
    }

private:
    std::mt19937_64 engine_;
};

void requireRange(const std::string& option, int value, int low, int high)
{
    if (value < low || value > high)
        throw Error(option, "is " + std::to_string(value),
                    "Give a number from " + std::to_string(low) + " to " + std::to_string(high));
}

void checkFactor(const Factor& factor)
{
    const std::string option = "--" + factor.column;
    std::set<std::string> seen;
    for (const std::string& level : factor.levels) {
        if (level.empty()) throw Error(option, "has an empty value", "Give names with commas between them");
        if (!seen.insert(level).second)
            throw Error(option, "names '" + level + "' twice", "Name each value once");
    }
    if (factor.levels.empty()) throw Error(option, "names nothing", "Give names with commas between them");
}

/// The level of each factor, for every combination; the last factor's level changes fastest.
std::vector<std::vector<size_t>> combinationsOf(const std::vector<Factor>& factors)
{
    std::vector<std::vector<size_t>> all{{}};
    for (const Factor& factor : factors) {
        std::vector<std::vector<size_t>> more;
        for (const auto& so_far : all)
            for (size_t level = 0; level < factor.levels.size(); ++level) {
                more.push_back(so_far);
                more.back().push_back(level);
            }
        all = std::move(more);
        if (all.size() > kMostTubs) break;  // more than there can be tubs; told by the caller
    }
    return all;
}

std::vector<int> blockSizes(const BatchWish& wish, int combinations)
{
    if (wish.blocks && wish.per_block)
        throw Error("--blocks", "and --per-block say the same thing twice", "Give one of them");
    std::vector<int> sizes;
    if (wish.blocks) {
        requireRange("--blocks", *wish.blocks, 1, wish.tubs);
        const int count = *wish.blocks;
        for (int b = 0; b < count; ++b) sizes.push_back(wish.tubs / count + (b < wish.tubs % count ? 1 : 0));
        return sizes;
    }
    const int size = wish.per_block.value_or(combinations > 1 ? combinations : wish.tubs);
    requireRange("--per-block", size, 1, wish.tubs);
    for (int left = wish.tubs; left > 0; left -= size) sizes.push_back(std::min(left, size));
    return sizes;
}

/// Says which combinations get one tub more than others: each combination once before any comes again, and
/// among those that may come, one that keeps each factor by itself even.
class Extras {
public:
    Extras(const std::vector<std::vector<size_t>>& combinations, size_t factors, Lots& lots)
        : combinations_(combinations), in_all_(factors), lots_(lots)
    {
    }

    /// @return `count` different combinations, fewer than there are.
    std::vector<size_t> draw(size_t count)
    {
        std::vector<size_t> drawn;
        Counts in_block(in_all_.size());
        while (drawn.size() < count) {
            if (left_.empty()) {
                left_.resize(combinations_.size());
                std::iota(left_.begin(), left_.end(), size_t{0});
            }
            lots_.shuffle(left_);  // so that the lot decides between equals
            const auto next = std::min_element(left_.begin(), left_.end(), [&](size_t a, size_t b) {
                return costOf(a, drawn, in_block) < costOf(b, drawn, in_block);
            });
            drawn.push_back(*next);
            count_(in_block, *next);
            count_(in_all_, *next);
            left_.erase(next);
        }
        return drawn;
    }

private:
    using Counts = std::vector<std::map<size_t, int>>;  ///< extras so far by factor and level

    void count_(Counts& counts, size_t combination) const
    {
        for (size_t f = 0; f < counts.size(); ++f) ++counts[f][combinations_[combination][f]];
    }
    int crowd(const Counts& counts, size_t combination) const
    {
        int sum = 0;
        for (size_t f = 0; f < counts.size(); ++f) {
            const auto found = counts[f].find(combinations_[combination][f]);
            sum += found == counts[f].end() ? 0 : found->second;
        }
        return sum;
    }
    std::tuple<bool, int, int> costOf(size_t combination, const std::vector<size_t>& drawn,
                                      const Counts& in_block) const
    {
        const bool again = std::find(drawn.begin(), drawn.end(), combination) != drawn.end();
        return {again, crowd(in_block, combination), crowd(in_all_, combination)};
    }

    const std::vector<std::vector<size_t>>& combinations_;
    Counts in_all_;
    Lots& lots_;
    std::vector<size_t> left_;
};

/// The combination of each tub, in order of place.
std::vector<size_t> drawLots(const std::vector<int>& block_sizes,
                             const std::vector<std::vector<size_t>>& combinations, const BatchWish& wish)
{
    Lots lots(wish.seed);
    Extras extras(combinations, wish.factors.size(), lots);
    std::vector<size_t> of_tub;
    for (const int size : block_sizes) {
        const size_t tubs = static_cast<size_t>(size), each = tubs / combinations.size();
        std::vector<size_t> block = extras.draw(tubs % combinations.size());
        for (size_t c = 0; c < combinations.size(); ++c) block.insert(block.end(), each, c);
        lots.shuffle(block);
        of_tub.insert(of_tub.end(), block.begin(), block.end());
    }
    return of_tub;
}

/// "T07" of 12 tubs, "T007" of 120: sorts as it counts.
std::string tubId(int place, int tubs)
{
    const std::string number = std::to_string(place);
    const size_t digits = std::max<size_t>(2, std::to_string(tubs).size());
    return "T" + std::string(digits - number.size(), '0') + number;
}

std::string& columnOf(PlannedCutting& row, const std::string& column)
{
    if (column == "variety") return row.variety;
    if (column == "medium") return row.medium;
    if (column == "treatment") return row.treatment;
    throw std::invalid_argument("no factor of the plan: " + column);
}

std::vector<PlannedCutting> cuttingsOf(const PlannedCutting& tub, int count)
{
    if (count == 1) return {tub};
    const std::vector<const char*> positions = count == 2
                                                   ? std::vector<const char*>{"left", "right"}
                                                   : std::vector<const char*>{"left", "middle", "right"};
    std::vector<PlannedCutting> rows;
    for (const char* position : positions) {
        rows.push_back(tub);
        rows.back().cutting = tub.tub + "-" + position;
        rows.back().position = position;
    }
    return rows;
}

}  // namespace

DrawnPlan drawPlan(const BatchWish& wish)
{
    requireRange("--tubs", wish.tubs, 1, kMostTubs);
    requireRange("--cuttings-per-tub", wish.cuttings_per_tub, 1, kMostCuttings);
    for (const Factor& factor : wish.factors) checkFactor(factor);
    const auto combinations = combinationsOf(wish.factors);
    if (combinations.size() > static_cast<size_t>(wish.tubs))
        throw Error("--tubs",
                    "is " + std::to_string(wish.tubs) + ", fewer than there are combinations (" +
                        (combinations.size() > kMostTubs ? "over " + std::to_string(kMostTubs)
                                                         : std::to_string(combinations.size())) +
                        ")",
                    "Give more tubs, or compare less at once");

    DrawnPlan drawn;
    drawn.block_sizes = blockSizes(wish, static_cast<int>(combinations.size()));
    const std::vector<size_t> of_tub = drawLots(drawn.block_sizes, combinations, wish);
    for (const auto& combination : combinations) {
        TubsAlike alike;
        for (size_t f = 0; f < wish.factors.size(); ++f)
            alike.levels.push_back(wish.factors[f].levels[combination[f]]);
        drawn.shares.push_back(std::move(alike));
    }

    drawn.plan.own_column_names = {kBlock, kPlace};
    int place = 0;
    for (size_t b = 0; b < drawn.block_sizes.size(); ++b)
        for (int i = 0; i < drawn.block_sizes[b]; ++i) {
            TubsAlike& alike = drawn.shares[of_tub[static_cast<size_t>(place)]];
            ++alike.tubs;
            PlannedCutting tub;
            tub.tub = tub.cutting = tubId(++place, wish.tubs);
            for (size_t f = 0; f < wish.factors.size(); ++f)
                columnOf(tub, wish.factors[f].column) = alike.levels[f];
            tub.stuck_on = wish.stuck_on;
            tub.tub_type = wish.tub_type;
            tub.own_columns = {{kBlock, std::to_string(b + 1)}, {kPlace, std::to_string(place)}};
            for (auto& row : cuttingsOf(tub, wish.cuttings_per_tub))
                drawn.plan.cuttings.push_back(std::move(row));
        }
    return drawn;
}

std::vector<int> tubsByLevel(const DrawnPlan& drawn, const std::vector<Factor>& factors, size_t factor)
{
    const auto& levels = factors.at(factor).levels;
    std::vector<int> tubs(levels.size());
    for (const TubsAlike& alike : drawn.shares)
        tubs[static_cast<size_t>(std::find(levels.begin(), levels.end(), alike.levels[factor]) -
                                 levels.begin())] += alike.tubs;
    return tubs;
}

}  // namespace slipglass
