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
std::string whoStruck(const Comparison& all)
{
    const auto& groups = all.groups;
    if (groups.size() <= kGroupsNamed) {
        std::string text;
        for (size_t g = 0; g < groups.size(); ++g)
            text += (g == 0 ? "" : ", ") + printable(groups[g].value) + (g == 0 ? " struck " : " ") +
                    share(shareOf(groups[g]));
        return text;
    }
    return "Of " + std::to_string(groups.size()) + " values of " + printable(all.by) + ", " +
           printable(groups.front().value) + " struck best, " + share(shareOf(groups.front())) + ", and " +
           printable(groups.back().value) + " least, " + share(shareOf(groups.back()));
}

bool few(const Comparison& all)
{
    return std::any_of(all.groups.begin(), all.groups.end(),
                       [](const ComparedGroup& group) { return group.cuttings < kFew; });
}

std::string ratesSentence(const Comparison& all)
{
    if (all.groups.size() == 1) {
        const ComparedGroup& only = all.groups.front();
        if (only.value == kNotGiven)
            return "The plan gives no " + printable(all.by) + " for any cutting; all together struck " +
                   share(shareOf(only)) + ".";
        return printable(only.value) + " struck " + share(shareOf(only)) + ". It is the only value of " +
               printable(all.by) + ", so there is nothing to compare it with.";
    }
    if (!all.rates)
        return whoStruck(all) + "; but no " + keptApart(all) + " holds two values of " + printable(all.by) +
               ", so they cannot be compared within it.";
    return whoStruck(all) + "; " + (few(all) ? "with so few, " : "") +
           (all.kept_apart.empty() ? "" : "compared within each " + keptApart(all) + ", ") +
           "chance alone does this " + timesText(all.rates->chance.p) + ".";
}

std::string pointsInFavour(double difference, const std::string& of)
{
    const std::string size = percent(std::abs(difference));
    return size == "0" ? "none" : size + " points in favour of " + printable(of);
}

/// What size of difference may be behind what was seen; of two groups only, more are in the table.
std::string sizeSentence(const Comparison& all)
{
    if (all.groups.size() != 2 || all.pairs.empty()) return {};
    const ComparedPair& pair = all.pairs.front();
    const std::string &a = all.groups[pair.a].value, &b = all.groups[pair.b].value;
    const Limits limits = pair.difference.limits;
    const std::string& low_of = limits.low < 0 ? b : a;
    const std::string& high_of = limits.high < 0 ? b : a;
    return "This fits a true difference in strike rate anywhere from " + pointsInFavour(limits.low, low_of) +
           " to " + pointsInFavour(limits.high, high_of) + ".";
}

std::string daysSentence(const Comparison& all)
{
    if (all.groups.size() < 2 || !all.rates) return {};
    const bool any_days = std::any_of(all.groups.begin(), all.groups.end(), [](const ComparedGroup& group) {
        return group.median_days.has_value();
    });
    if (!any_days) return "Days to strike cannot be compared: the plan gives no stuck_on.";
    if (!all.days) return "Days to strike are known for one value only.";
    return "In days to strike, where a cutting that has not struck yet counts as open, chance alone does as "
           "much " +
           timesText(all.days->chance.p) + ".";
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

std::string share(const Share& counts)
{
    return std::to_string(counts.struck) + " of " + std::to_string(counts.of);
}

Share shareOf(const ComparedGroup& group)
{
    return {group.struck, group.cuttings};
}

std::string keptApart(const Comparison& all)
{
    std::string text;
    for (const std::string& column : all.kept_apart)
        text += (text.empty() ? "" : " and ") + printable(column);
    return text;
}

std::string timesText(double p)
{
    constexpr double kNearlyAlways = 0.95, kOften = 0.4, kHardlyEver = 1e-4;
    if (p >= kNearlyAlways) return "nearly every time";
    if (p >= kOften) return "about " + whole(std::min(9.0, std::round(10 * p))) + " times in 10";
    if (p < kHardlyEver) return "less than 1 time in 10000";
    double one_in = std::round(1 / p);
    for (double step = 10; one_in >= 10 * step; step *= 10)  // two digits are all that is meant
        if (one_in < 100 * step) one_in = std::round(one_in / step) * step;
    return "about 1 time in " + whole(one_in);
}

std::vector<std::string> compareSentences(const Comparison& all)
{
    std::vector<std::string> sentences{ratesSentence(all), sizeSentence(all), daysSentence(all)};
    std::erase(sentences, "");
    return sentences;
}

}  // namespace slipglass
