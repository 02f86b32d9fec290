#include <algorithm>
#include <cmath>

#include "compare_words.h"
#include "slipglass/report/compare_report.h"
#include "slipglass/season/figures.h"
#include "slipglass/terminal_text.h"

namespace slipglass {

namespace {

constexpr int kFew = 20;  // cuttings in the smallest group below which a reader is told they are few
constexpr size_t kGroupsNamed = 4;  // in the sentence; of more, the best and the worst

/// "peat-perlite struck 9 of 10, vermiculite 5 of 10"
std::string whoStruck(const Comparison& all, const Words& words)
{
    const auto& groups = all.groups;
    const auto valueOf = [&](const ComparedGroup& group) {
        return printable(valueWords(group.value, words));
    };
    if (groups.size() <= kGroupsNamed) {
        std::string text;
        for (const ComparedGroup& group : groups) {
            const std::vector<SaidPlace> places{{"value", valueOf(group)},
                                                {"share", share(shareOf(group), words)}};
            text += text.empty() ? words("{value} struck {share}", places)
                                 : ", " + words("{value} {share}", places);
        }
        return text;
    }
    return words("Of {n} values of {by}, {best} struck best, {best_share}, and {least} least, {least_share}",
                 {{"n", std::to_string(groups.size())},
                  {"by", columnWords(all.by, words)},
                  {"best", valueOf(groups.front())},
                  {"best_share", share(shareOf(groups.front()), words)},
                  {"least", valueOf(groups.back())},
                  {"least_share", share(shareOf(groups.back()), words)}});
}

bool few(const Comparison& all)
{
    return std::any_of(all.groups.begin(), all.groups.end(),
                       [](const ComparedGroup& group) { return group.cuttings < kFew; });
}

std::string onlySentence(const Comparison& all, const Words& words)
{
    const ComparedGroup& only = all.groups.front();
    const std::vector<SaidPlace> places{{"by", columnWords(all.by, words)},
                                        {"value", printable(valueWords(only.value, words))},
                                        {"share", share(shareOf(only), words)}};
    if (only.value == kNotGiven)
        return words("The plan gives no {by} for any cutting; all together struck {share}.", places);
    return words(
        "{value} struck {share}. It is the only value of {by}, so there is nothing to compare it with.",
        places);
}

std::string ratesSentence(const Comparison& all, const Words& words)
{
    if (all.groups.size() == 1) return onlySentence(all, words);
    std::vector<SaidPlace> places{{"who_struck", whoStruck(all, words)},
                                  {"columns", keptApart(all, words)},
                                  {"by", columnWords(all.by, words)}};
    if (!all.rates)
        return words(
            "{who_struck}; but no {columns} holds two values of {by}, so they cannot be compared within it.",
            places);
    places.push_back({"times", timesText(all.rates->chance.p, words)});
    if (few(all) && all.kept_apart.empty())
        return words("{who_struck}; with so few, chance alone does this {times}.", places);
    if (few(all))
        return words(
            "{who_struck}; with so few, compared within each {columns}, chance alone does this {times}.",
            places);
    if (all.kept_apart.empty()) return words("{who_struck}; chance alone does this {times}.", places);
    return words("{who_struck}; compared within each {columns}, chance alone does this {times}.", places);
}

std::string pointsInFavour(double difference, const std::string& of, const Words& words)
{
    const std::string size = percent(std::abs(difference));
    return size == "0" ? words.inSense("difference", "none")
                       : words("{points} points in favour of {value}",
                               {{"points", size}, {"value", printable(valueWords(of, words))}});
}

/// What size of difference may be behind what was seen; of two groups only, more are in the table.
std::string sizeSentence(const Comparison& all, const Words& words)
{
    if (all.groups.size() != 2 || all.pairs.empty()) return {};
    const ComparedPair& pair = all.pairs.front();
    const std::string &a = all.groups[pair.a].value, &b = all.groups[pair.b].value;
    const Limits limits = pair.difference.limits;
    return words("This fits a true difference in strike rate anywhere from {low} to {high}.",
                 {{"low", pointsInFavour(limits.low, limits.low < 0 ? b : a, words)},
                  {"high", pointsInFavour(limits.high, limits.high < 0 ? b : a, words)}});
}

std::string daysSentence(const Comparison& all, const Words& words)
{
    if (all.groups.size() < 2 || !all.rates) return {};
    const bool any_days = std::any_of(all.groups.begin(), all.groups.end(), [](const ComparedGroup& group) {
        return group.median_days.has_value();
    });
    if (!any_days) return words("Days to strike cannot be compared: the plan gives no stuck_on.");
    if (!all.days) return words("Days to strike are known for one value only.");
    return words(
        "In days to strike, where a cutting that has not struck yet counts as open, chance alone does as "
        "much "
        "{times}.",
        {{"times", timesText(all.days->chance.p, words)}});
}

}  // namespace

std::string whole(double value)
{
    return figureText(value, 0);
}

std::string percent(double share)
{
    return whole(100 * share);
}

std::string share(const Share& counts, const Words& words)
{
    return words("{n} of {all}", {{"n", std::to_string(counts.struck)}, {"all", std::to_string(counts.of)}});
}

Share shareOf(const ComparedGroup& group)
{
    return {group.struck, group.cuttings};
}

std::string columnWords(const std::string& column, const Words& words)
{
    for (const char* ours : {translated("variety"), translated("medium"), translated("treatment")})
        if (column == ours) return words(ours);
    return printable(column);
}

std::string valueWords(const std::string& value, const Words& words)
{
    return value == kNotGiven ? words("(not given)") : value;
}

std::string keptApart(const Comparison& all, const Words& words)
{
    std::string text;
    for (const std::string& column : all.kept_apart) {
        const std::string name = columnWords(column, words);
        text = text.empty() ? name : words("{one} and {other}", {{"one", text}, {"other", name}});
    }
    return text;
}

std::string timesText(double p, const Words& words)
{
    constexpr double kNearlyAlways = 0.95, kOften = 0.4, kHardlyEver = 1e-4;
    if (p >= kNearlyAlways) return words("nearly every time");
    if (p >= kOften) return words("about {n} times in 10", {{"n", whole(std::min(9.0, std::round(10 * p)))}});
    if (p < kHardlyEver) return words("less than 1 time in 10000");
    double one_in = std::round(1 / p);
    for (double step = 10; one_in >= 10 * step; step *= 10)  // two digits are all that is meant
        if (one_in < 100 * step) one_in = std::round(one_in / step) * step;
    return words("about 1 time in {n}", {{"n", whole(one_in)}});
}

std::vector<std::string> compareSentences(const Comparison& all, const Words& words)
{
    std::vector<std::string> sentences{ratesSentence(all, words), sizeSentence(all, words),
                                       daysSentence(all, words)};
    std::erase(sentences, "");
    return sentences;
}

}  // namespace slipglass
