#include <algorithm>
#include <cmath>

#include "slipglass/report/compare_report.h"
#include "slipglass/season/figures.h"

namespace slipglass {

namespace {

constexpr size_t kColumns = 80, kNameWidth = 20, kPairWidth = 40;
constexpr int kFew = 20;  // cuttings in the smallest group below which a reader is told they are few
constexpr size_t kGroupsNamed = 4;  // in the sentence; of more, the best and the worst

/// Characters, by counting the bytes that do not continue one in UTF-8.
size_t width(const std::string& text)
{
    return static_cast<size_t>(std::count_if(
        text.begin(), text.end(), [](char c) { return (static_cast<unsigned char>(c) & 0xC0) != 0x80; }));
}

std::string left(const std::string& text, size_t columns)
{
    return text + std::string(columns - std::min(columns, width(text)), ' ');
}

std::string right(const std::string& text, size_t columns)
{
    return std::string(columns - std::min(columns, width(text)), ' ') + text;
}

std::string printable(std::string text)
{
    for (char& c : text)
        if (static_cast<unsigned char>(c) < 0x20 || c == 0x7F) c = '?';
    return text;
}

/// Breaks a paragraph at blanks.
std::string wrapped(const std::string& text)
{
    std::string lines, line;
    for (size_t at = 0; at <= text.size();) {
        const size_t end = std::min(text.find(' ', at), text.size());
        const std::string word = text.substr(at, end - at);
        if (!line.empty() && width(line) + 1 + width(word) > kColumns) {
            lines += line + '\n';
            line.clear();
        }
        line += (line.empty() ? "" : " ") + word;
        at = end + 1;
    }
    return lines + line + '\n';
}

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

std::string points(double difference)
{
    std::string text = difference > 0 ? "+" : "";
    return text.append(percent(difference));
}

std::string daysText(const std::optional<TimeSpan>& days)
{
    if (!days) return "-";
    if (!std::isfinite(days->right)) return "over " + whole(days->left);
    return whole(days->left) + "-" + whole(days->right);
}

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

std::string keptApart(const Comparison& all)
{
    std::string text;
    for (const std::string& column : all.kept_apart)
        text += (text.empty() ? "" : " and ") + printable(column);
    return text;
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

/// A row of a table; a long name stands on a line of its own.
std::string namedRow(const std::string& name, size_t name_width, const std::string& figures)
{
    const std::string shown = printable(name);
    return width(shown) <= name_width ? left(shown, name_width) + figures + '\n'
                                      : shown + '\n' + std::string(name_width, ' ') + figures + '\n';
}

std::string groupTable(const Comparison& all)
{
    const auto row = [](const std::string& struck, const std::string& open, const std::string& failed,
                        const std::string& rate, const std::string& days, const std::string& coverage,
                        const std::string& water) {
        return right(struck, 10) + right(open, 6) + right(failed, 8) + right(rate, 14) + right(days, 9) +
               right(coverage, 6) + right(water, 7);
    };
    std::string text =
        namedRow(all.by, kNameWidth, row("struck", "open", "failed", "percent", "days", "roots", "water"));
    for (const ComparedGroup& group : all.groups) {
        const std::string rate = percent(static_cast<double>(group.struck) / group.cuttings) + " (" +
                                 percent(group.strike_rate.low) + "-" + percent(group.strike_rate.high) + ")";
        const auto known = [](const std::optional<double>& value) {
            return value ? figureText(value, 1) : std::string("-");
        };
        text += namedRow(
            group.value, kNameWidth,
            row(share(shareOf(group)), std::to_string(group.not_yet), std::to_string(group.failed), rate,
                daysText(group.median_days), known(group.coverage_percent), known(group.water_days)));
    }
    return text;
}

std::string blockTable(const Comparison& all)
{
    std::string text = "Struck, within " + keptApart(all) + ":\n";
    for (const ComparedBlock& block : all.blocks) {
        text += "  " + printable(block.name) + ": ";
        bool first = true;
        for (size_t g = 0; g < block.shares.size(); ++g) {
            if (block.shares[g].of == 0) continue;
            text += (first ? "" : ", ") + printable(all.groups[g].value) + " " + share(block.shares[g]);
            first = false;
        }
        text += '\n';
    }
    return text;
}

std::string pText(double p)
{
    constexpr double kLeast = 0.0001;
    return p < kLeast ? "< 0.0001" : figureText(p, p < 0.01 ? 4 : 3);
}

std::string pairTable(const Comparison& all)
{
    const bool adjusted = all.pairs.size() > 1;
    const auto row = [&](const std::string& difference, const std::string& p, const std::string& p_adjusted) {
        return right(difference, 18) + right(p, 10) + (adjusted ? right(p_adjusted, 10) : "");
    };
    std::string text =
        namedRow("difference in strike rate, points", kPairWidth, row("(95 % limits)", "p", "adjusted"));
    for (const ComparedPair& pair : all.pairs) {
        const Difference& difference = pair.difference;
        text += namedRow(all.groups[pair.a].value + " less " + all.groups[pair.b].value, kPairWidth,
                         row(points(difference.value) + " (" + points(difference.limits.low) + " to " +
                                 points(difference.limits.high) + ")",
                             pText(pair.test.chance.p), pText(pair.p_adjusted)));
    }
    if (adjusted)
        text += wrapped("adjusted: p raised for making " + std::to_string(all.pairs.size()) +
                        " comparisons at once (Holm).");
    return text;
}

std::string testLine(const std::string& of, const std::optional<ComparedTest>& test)
{
    if (!test) return {};
    const auto& error = test->chance.standard_error;
    return wrapped(of + ": p " + pText(test->chance.p) +
                   (error ? " (known to " + figureText(error, 4) + ")" : "") + ", " +
                   printable(test->method) + ".");
}

std::string legend()
{
    return "open: not struck yet. percent: struck, with 95 % limits (Wilson). days: half of\n"
           "them had struck after that many, from sticking; the span is that between two\n"
           "photos. roots: coverage in percent, median at the latest photo. water: days\n"
           "with standing water, mean.\n";
}

}  // namespace

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

std::string compareText(const Comparison& all)
{
    std::string text = wrapped(ratesSentence(all));
    for (const std::string& sentence : {sizeSentence(all), daysSentence(all)})
        if (!sentence.empty()) text += wrapped(sentence);
    text += '\n' + groupTable(all) + '\n' + legend();
    if (all.blocks.size() > 1 && !all.kept_apart.empty()) text += '\n' + blockTable(all);
    if (!all.pairs.empty()) text += '\n' + pairTable(all);
    if (all.too_many_pairs)
        text += '\n' + wrapped("With more than " + std::to_string(kMostGroupsInPairs) +
                               " values they are not compared two by two: so many comparisons find something "
                               "in pure chance.");
    const std::string tests = testLine("Strike rates", all.rates) + testLine("Days to strike", all.days);
    return tests.empty() ? text : text + '\n' + tests;
}

}  // namespace slipglass
