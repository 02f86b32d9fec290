#include <algorithm>
#include <cmath>

#include "compare_words.h"
#include "slipglass/report/compare_report.h"
#include "slipglass/season/figures.h"
#include "slipglass/terminal_text.h"

namespace slipglass {

namespace {

constexpr size_t kColumns = 80, kNameWidth = 20, kPairWidth = 40;

/// Breaks a paragraph at blanks.
std::string wrapped(const std::string& text)
{
    std::string lines, line;
    for (size_t at = 0; at <= text.size();) {
        const size_t end = std::min(text.find(' ', at), text.size());
        const std::string word = text.substr(at, end - at);
        if (!line.empty() && terminalWidth(line) + 1 + terminalWidth(word) > kColumns) {
            lines += line + '\n';
            line.clear();
        }
        line += (line.empty() ? "" : " ") + word;
        at = end + 1;
    }
    return lines + line + '\n';
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

/// A row of a table; a long name stands on a line of its own.
std::string namedRow(const std::string& name, size_t name_width, const std::string& figures)
{
    const std::string shown = printable(name);
    return terminalWidth(shown) <= name_width ? leftAligned(shown, name_width) + figures + '\n'
                                              : shown + '\n' + std::string(name_width, ' ') + figures + '\n';
}

/// Right-aligned, each in its column.
std::string cells(const std::vector<std::string>& texts, const std::vector<size_t>& widths)
{
    std::string text;
    for (size_t i = 0; i < texts.size(); ++i) text += rightAligned(texts[i], widths[i]);
    return text;
}

std::string groupTable(const Comparison& all)
{
    const std::vector<size_t> widths{10, 6, 8, 14, 9, 6, 7};
    const auto known = [](const std::optional<double>& value) {
        return value ? figureText(value, 1) : std::string("-");
    };
    std::string text = namedRow(
        all.by, kNameWidth, cells({"struck", "open", "failed", "percent", "days", "roots", "water"}, widths));
    for (const ComparedGroup& group : all.groups) {
        const std::string rate = percent(static_cast<double>(group.struck) / group.cuttings) + " (" +
                                 percent(group.strike_rate.low) + "-" + percent(group.strike_rate.high) + ")";
        text += namedRow(
            group.value, kNameWidth,
            cells({share(shareOf(group)), std::to_string(group.not_yet), std::to_string(group.failed), rate,
                   daysText(group.median_days), known(group.coverage_percent), known(group.water_days)},
                  widths));
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
    const std::vector<size_t> widths{18, 10, 10};
    const auto row = [&](std::vector<std::string> texts) {
        if (!adjusted) texts.pop_back();
        return cells(texts, widths);
    };
    std::string text =
        namedRow("difference in strike rate, points", kPairWidth, row({"(95 % limits)", "p", "adjusted"}));
    for (const ComparedPair& pair : all.pairs) {
        const Difference& difference = pair.difference;
        text += namedRow(all.groups[pair.a].value + " less " + all.groups[pair.b].value, kPairWidth,
                         row({points(difference.value) + " (" + points(difference.limits.low) + " to " +
                                  points(difference.limits.high) + ")",
                              pText(pair.test.chance.p), pText(pair.p_adjusted)}));
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

std::string compareText(const Comparison& all)
{
    std::string text;
    for (const std::string& sentence : compareSentences(all)) text += wrapped(sentence);
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
