#include "slipglass/season/compare.h"

#include <algorithm>
#include <map>
#include <numeric>
#include <set>

#include "compare_rows.h"
#include "slipglass/error.h"
#include "slipglass/statistics/trend.h"

namespace slipglass {

namespace {

bool struck(const Row& row)
{
    return row.series->state == StrikeState::struck;
}

void count(ComparedGroup& group, const Row& row)
{
    ++group.cuttings;
    ++(struck(row) ? group.struck : row.series->state == StrikeState::failed ? group.failed : group.not_yet);
}

ComparedGroup groupOf(const std::string& value, const std::vector<const Row*>& rows)
{
    ComparedGroup group;
    group.value = value;
    std::vector<double> coverage;
    std::vector<TimeSpan> days;
    double water_days = 0;
    int with_water = 0;
    for (const Row* row : rows) {
        count(group, *row);
        if (const SeriesPoint* latest = latestKnown(*row->series, &Observation::coverage_percent))
            coverage.push_back(*latest->seen.coverage_percent);
        if (row->days) days.push_back(*row->days);
        const auto& points = row->series->points;
        if (std::any_of(points.begin(), points.end(), [](const SeriesPoint& point) {
                return usable(point.seen) && point.seen.standing_water;
            })) {
            water_days += row->series->standing_water_days;
            ++with_water;
        }
    }
    group.strike_rate = wilsonLimits({group.struck, group.cuttings});
    if (!days.empty()) group.median_days = medianOf(turnbull(days));
    if (!coverage.empty()) group.coverage_percent = median(coverage);
    if (with_water > 0) group.water_days = water_days / with_water;
    return group;
}

std::vector<ComparedGroup> groupsOf(const std::vector<Row>& rows)
{
    std::map<std::string, std::vector<const Row*>> by_value;
    for (const Row& row : rows) by_value[row.group].push_back(&row);
    std::vector<ComparedGroup> groups;
    groups.reserve(by_value.size());
    for (const auto& [value, of_value] : by_value) groups.push_back(groupOf(value, of_value));
    // a/b > c/d, without division
    std::stable_sort(groups.begin(), groups.end(), [](const ComparedGroup& a, const ComparedGroup& b) {
        return a.struck * b.cuttings > b.struck * a.cuttings;
    });
    return groups;
}

using Numbers = std::map<std::string, int>;

Numbers numbersOf(const std::vector<ComparedGroup>& groups)
{
    Numbers numbers;
    for (const ComparedGroup& group : groups) numbers.emplace(group.value, static_cast<int>(numbers.size()));
    return numbers;
}

std::vector<ComparedBlock> blocksOf(const std::vector<Row>& rows, const Numbers& numbers)
{
    std::map<std::string, ComparedBlock> blocks;
    for (const Row& row : rows) {
        ComparedBlock& block = blocks[row.block];
        block.name = row.block;
        block.shares.resize(numbers.size());
        Share& share = block.shares[static_cast<size_t>(numbers.at(row.group))];
        ++share.of;
        share.struck += static_cast<int>(struck(row));
    }
    std::vector<ComparedBlock> list;
    list.reserve(blocks.size());
    for (auto& [name, block] : blocks) list.push_back(std::move(block));
    return list;
}

/// A row of the comparison with its score.
struct Scored {
    const Row* row;
    double score;
};

/// The scores' differences from the mean of their block, so that blocks may differ as they like.
void centreInBlocks(std::vector<Scored>& scored)
{
    std::map<std::string, std::pair<double, int>> sums;
    for (const Scored& one : scored) {
        sums[one.row->block].first += one.score;
        ++sums[one.row->block].second;
    }
    for (Scored& one : scored) one.score -= sums[one.row->block].first / sums[one.row->block].second;
}

struct TubUnit {
    std::set<std::string> groups, blocks;
    std::vector<Scored> cuttings;
};

/// What changes groups as one. Cuttings of a tub share its water, warmth and photos, so a tub whose cuttings
/// are all of one group is handed out whole, among tubs with cuttings in the same blocks. A tub that holds
/// several groups is a comparison of its own: they are handed out among its cuttings.
std::vector<Unit> unitsOf(std::vector<Scored> scored, const Numbers& numbers)
{
    centreInBlocks(scored);
    std::map<std::string, TubUnit> tubs;
    for (const Scored& one : scored) {
        TubUnit& tub = tubs[one.row->tub];
        tub.groups.insert(one.row->group);
        tub.blocks.insert(one.row->block);
        tub.cuttings.push_back(one);
    }
    std::map<std::vector<std::string>, int> exchanged;  // name of a set of units -> its number
    const auto numberOf = [&](const std::vector<std::string>& name) {
        return exchanged.emplace(name, static_cast<int>(exchanged.size())).first->second;
    };
    std::vector<Unit> units;
    for (const auto& [name, tub] : tubs) {
        if (tub.groups.size() > 1) {
            for (const Scored& one : tub.cuttings)
                units.push_back(
                    {numbers.at(one.row->group), numberOf({"tub", name, one.row->block}), one.score, 1});
            continue;
        }
        std::vector<std::string> among{"blocks"};
        among.insert(among.end(), tub.blocks.begin(), tub.blocks.end());
        Unit unit{numbers.at(*tub.groups.begin()), numberOf(among), 0, static_cast<int>(tub.cuttings.size())};
        for (const Scored& one : tub.cuttings) unit.score += one.score;
        units.push_back(unit);
    }
    return units;
}

/// How the rows may be compared.
struct Design {
    bool by_tub = false;                  ///< some tub holds several of the cuttings
    std::vector<std::string> kept_apart;  ///< columns
    Numbers numbers;
};

bool sharesTubs(const std::vector<Row>& rows)
{
    std::set<std::string> tubs;
    return std::any_of(rows.begin(), rows.end(),
                       [&](const Row& row) { return !tubs.insert(row.tub).second; });
}

std::string howExchanged(const Design& design, const Chance& chance)
{
    std::string text = design.by_tub ? "tubs exchanged whole" : "cuttings exchanged";
    for (size_t i = 0; i < design.kept_apart.size(); ++i)
        text += (i == 0 ? " within " : " and ") + design.kept_apart[i];
    return text + (chance.standard_error ? ", lots drawn" : ", all ways gone through");
}

std::optional<ComparedTest> exchangeTest(const std::string& of, std::vector<Scored> scored,
                                         const Design& design)
{
    const auto chance = permutationTest(unitsOf(std::move(scored), design.numbers));
    if (!chance) return std::nullopt;
    return ComparedTest{*chance, of + ", " + howExchanged(design, *chance)};
}

ComparedTest fisherTest(const std::vector<Share>& shares)
{
    CountTable table;
    for (const Share& share : shares) table.push_back({share.struck, share.of - share.struck});
    const Chance chance = fisherExact(table);
    return {chance, std::string("Fisher's exact test") + (chance.standard_error ? ", lots drawn" : "")};
}

/// Of strike rates, among the rows of the groups for which `wanted` holds.
template <class Wanted>
std::optional<ComparedTest> rateTest(const std::vector<Row>& rows, const std::vector<ComparedBlock>& blocks,
                                     const Design& design, const Wanted& wanted)
{
    if (!design.by_tub && design.kept_apart.empty()) {
        std::vector<Share> shares;
        for (size_t g = 0; g < blocks.front().shares.size(); ++g)
            if (wanted(g)) shares.push_back(blocks.front().shares[g]);
        if (shares.size() < 2) return std::nullopt;
        return fisherTest(shares);
    }
    std::vector<Scored> scored;
    for (const Row& row : rows)
        if (wanted(static_cast<size_t>(design.numbers.at(row.group))))
            scored.push_back({&row, struck(row) ? 1.0 : 0.0});
    return exchangeTest("strike or not", std::move(scored), design);
}

std::optional<ComparedTest> daysTest(const std::vector<Row>& rows, const Design& design)
{
    std::map<std::string, std::vector<const Row*>> blocks;
    for (const Row& row : rows)
        if (row.days) blocks[row.block].push_back(&row);
    std::vector<Scored> scored;
    for (const auto& [name, of_block] : blocks) {
        std::vector<TimeSpan> spans;
        spans.reserve(of_block.size());
        for (const Row* row : of_block) spans.push_back(*row->days);
        const std::vector<double> scores = logRankScores(spans);
        for (size_t i = 0; i < scores.size(); ++i) scored.push_back({of_block[i], scores[i]});
    }
    return exchangeTest("log-rank scores of days between photos", std::move(scored), design);
}

void comparePairs(Comparison& result, const std::vector<Row>& rows, const Design& design)
{
    std::vector<double> p;
    for (size_t a = 0; a < result.groups.size(); ++a) {
        for (size_t b = a + 1; b < result.groups.size(); ++b) {
            const auto test =
                rateTest(rows, result.blocks, design, [&](size_t g) { return g == a || g == b; });
            std::vector<BlockOfTwo> blocks;
            for (const ComparedBlock& block : result.blocks)
                if (block.shares[a].of > 0 && block.shares[b].of > 0)
                    blocks.push_back({block.shares[a], block.shares[b]});
            if (!test || blocks.empty()) continue;
            result.pairs.push_back({a, b, differenceWithin(blocks), *test});
            p.push_back(test->chance.p);
        }
    }
    const std::vector<double> adjusted = holm(p);
    for (size_t i = 0; i < adjusted.size(); ++i) result.pairs[i].p_adjusted = adjusted[i];
}

}  // namespace

Comparison compare(const std::vector<NamedSeason>& seasons, const CompareWish& wish)
{
    const Rows rows = rowsOf(seasons, wish);
    if (rows.rows.empty())
        throw Error("compare", "no cutting has a photo that tells whether it struck",
                    "Run `slipglass measure` with its photos first");
    Comparison result;
    result.by = rows.by;
    result.kept_apart = rows.kept_apart;
    result.groups = groupsOf(rows.rows);
    const Design design{sharesTubs(rows.rows), rows.kept_apart, numbersOf(result.groups)};
    result.blocks = blocksOf(rows.rows, design.numbers);
    if (result.groups.size() > 1) {
        result.rates = rateTest(rows.rows, result.blocks, design, [](size_t) { return true; });
        result.days = daysTest(rows.rows, design);
        result.too_many_pairs = result.groups.size() > kMostGroupsInPairs;
        const bool all_single = rows.rows.size() == result.groups.size();  // no pair can tell anything
        if (!result.too_many_pairs && !all_single) comparePairs(result, rows.rows, design);
    }
    result.left_out = static_cast<int>(rows.left_out.size());
    result.warnings = compareWarnings(rows);
    return result;
}

std::optional<TimeSpan> medianDaysToStrike(const std::vector<Series>& series)
{
    // By whichever column: all its values are taken together.
    std::vector<TimeSpan> days;
    for (const Row& row : rowsOf({{"", series, {}}}, {"medium", std::nullopt}).rows)
        if (row.days) days.push_back(*row.days);
    if (days.empty()) return std::nullopt;
    return medianOf(turnbull(days));
}

}  // namespace slipglass
