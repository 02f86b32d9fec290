#include "quality_tables.h"

#include <cmath>
#include <functional>
#include <limits>
#include <map>
#include <sstream>

#include "slipglass/season/figures.h"

namespace slipglass::benchmark {

namespace {

using Trials = std::vector<const Trial*>;
using Number = std::optional<double>;

template <class Wanted>
Trials those(const Trials& trials, Wanted wanted)
{
    Trials chosen;
    for (const Trial* t : trials)
        if (wanted(*t)) chosen.push_back(t);
    return chosen;
}

std::vector<double> valuesOf(const Trials& trials, const std::function<Number(const Trial&)>& number)
{
    std::vector<double> values;
    for (const Trial* t : trials)
        if (const Number value = number(*t)) values.push_back(*value);
    return values;
}

std::string cell(Number value, int decimals)
{
    return value ? figureText(value, decimals) : "-";
}

std::string row(const std::vector<std::string>& cells)
{
    std::string line = "|";
    for (const std::string& text : cells)
        line.append(" ").append(text).append(" |");  // not operator+: g++ 12 warns of it
    return line + "\n";
}

std::string header(const std::vector<std::string>& names)
{
    return row(names) + row(std::vector<std::string>(names.size(), "---"));
}

bool isPasted(const Trial& t)
{
    return t.kind.starts_with("filled");
}

Number coverageError(const Trial& t)
{
    const PhotoAgreement& a = t.agreement;
    if (!a.coverage_percent || !a.true_coverage_percent) return {};
    return std::abs(*a.coverage_percent - *a.true_coverage_percent);
}

/// Coverage called root where there is none.
Number falseCoverage(const Trial& t)
{
    return t.rootless ? t.seen.coverage_percent : Number{};
}

Summary summary(const Trials& trials)
{
    std::vector<PhotoAgreement> photos;
    for (const Trial* t : trials) photos.push_back(t->agreement);
    return summaryOf(photos);
}

std::string share(const Trials& trials, State state)
{
    long count = 0;
    for (const Trial* t : trials) count += t->told == state;
    return std::to_string(std::lround(100.0 * static_cast<double>(count) /
                                      static_cast<double>(std::max<size_t>(1, trials.size()))));
}

/// Trials of each step in order of appearance.
std::vector<Trials> bySteps(const Trials& trials)
{
    std::vector<Trials> steps;
    std::map<std::pair<std::string, double>, size_t> place;
    for (const Trial* t : trials) {
        const auto [at, fresh] = place.try_emplace({t->kind, t->amount}, steps.size());
        if (fresh) steps.emplace_back();
        steps[at->second].push_back(t);
    }
    return steps;
}

std::string amountOf(const Trial& t)
{
    std::ostringstream text;
    text.imbue(std::locale::classic());
    text << t.amount;
    return text.str();
}

std::string stepTable(const Trials& all)
{
    std::string text = header({"what", "step", "photos", "measured %", "caution %", "retake %", "wall IoU",
                               "Dice", "coverage error, median", "p90", "first photo alike: median",
                               "rootless: median", "worst", "water error, mm", "in the 90 % interval"});
    for (const Trials& step : bySteps(all)) {
        const Trials usual = those(step, [](const Trial& t) { return t.first != First::alike; });
        const Trials alike = those(step, [](const Trial& t) { return t.first == First::alike; });
        const Summary s = summary(usual);
        const auto rootless = valuesOf(usual, falseCoverage);
        text += row({step[0]->kind, amountOf(*step[0]), std::to_string(usual.size()),
                     share(usual, State::measured), share(usual, State::caution), share(usual, State::retake),
                     cell(s.wall_iou_median, 2), cell(s.dice, 2), cell(s.coverage_error_median, 2),
                     cell(s.coverage_error_p90, 2), cell(summary(alike).coverage_error_median, 2),
                     cell(quantile(rootless, 0.5), 2), cell(quantile(rootless, 1), 2),
                     cell(s.water_error_median_mm, 1), cell(s.coverage_interval_hit_share, 2)});
    }
    return text;
}

struct Meter {
    const char* name;
    int decimals;
    std::function<Number(const Quality&)> value;
};

std::vector<Meter> meters()
{
    return {{"sharpness", 2, [](const Quality& q) { return q.sharpness; }},
            {"lightness, L*", 0, [](const Quality& q) { return q.lightness; }},
            {"burnt, %", 1, [](const Quality& q) { return q.burnt_percent; }},
            {"glare, %", 1, [](const Quality& q) { return q.glare_percent; }},
            {"px per mm", 2, [](const Quality& q) { return q.px_per_mm; }},
            {"tilt, degrees", 1, [](const Quality& q) { return std::abs(q.tilt_deg); }},
            {"in frame", 2, [](const Quality& q) { return q.in_frame; }},
            {"filled", 2, [](const Quality& q) { return q.filled; }},
            {"confidence", 2, [](const Quality& q) { return q.confidence; }}};
}

std::string meterTable(const Trials& all)
{
    std::vector<std::string> names{"what", "step", "tub found"};
    for (const Meter& meter : meters()) names.emplace_back(meter.name);
    std::string text = header(names);
    for (const Trials& step : bySteps(all)) {
        const Trials usual = those(step, [](const Trial& t) { return t.first != First::alike; });
        const Trials found = those(usual, [](const Trial& t) { return t.quality.has_value(); });
        std::vector<std::string> cells{step[0]->kind, amountOf(*step[0]),
                                       std::to_string(found.size()) + " of " + std::to_string(usual.size())};
        for (const Meter& meter : meters())
            cells.push_back(
                cell(quantile(valuesOf(found, [&](const Trial& t) { return meter.value(*t.quality); }), 0.5),
                     meter.decimals));
        text += row(cells);
    }
    return text;
}

/// A number with the ways to spoil it, and the classes trials are put in by it, from good to bad.
struct Axis {
    size_t meter;
    std::vector<std::string> kinds;
    std::vector<double> edges;
};

std::vector<Axis> axes()
{
    return {{0,
             {"defocus", "motion", "noise", "JPEG", "fog"},
             {1.01, 0.7, 0.65, 0.6, 0.55, 0.5, 0.47, 0.44, 0.41, 0.38, 0.35, 0.3, 0}},
            {1, {"too dark"}, {100, 30, 25, 20, 15, 12, 9, 6, 4, 2, 0}},
            {2, {"too light"}, {0, 0.5, 1, 2, 5, 10, 20, 40, 100}},
            {3, {"glare", "sheen"}, {0, 1, 3, 6, 10, 15, 20, 30, 50, 100}},
            {4, {"scale"}, {20, 4.5, 3.6, 3.2, 2.8, 2.3, 1.8, 1}},
            {5, {"roll"}, {0, 3, 7, 12, 17, 25}},
            {6, {"cut off at a side", "cut off below"}, {1.01, 0.999, 0.97, 0.94, 0.9, 0.8, 0.5}}};
}

/// Error of coverage in sum over the coverage there is, both over photos with roots: at 1, "no roots" is as
/// good a figure.
Number relativeError(const Trials& trials)
{
    double truth = 0, error = 0;
    for (const Trial* t : trials)
        if (const Number off = coverageError(*t); off && !t->rootless) {
            truth += *t->agreement.true_coverage_percent;
            error += *off;
        }
    if (truth <= 0) return {};
    return error / truth;
}

/// Share of walls without roots on which more is called root than the limit.
Number shareAbove(const Trials& trials, double limit)
{
    const auto rootless = valuesOf(trials, falseCoverage);
    if (rootless.empty()) return {};
    const auto above = std::count_if(rootless.begin(), rootless.end(), [&](double c) { return c > limit; });
    return static_cast<double>(above) / static_cast<double>(rootless.size());
}

/// The rule of docs/measured/quality.md, "Limits". @param usual  the same photos as they are.
std::string verdict(const Trials& trials, const Trials& usual, double detection_limit)
{
    constexpr size_t kTooFew = 5;
    if (trials.size() < kTooFew) return "(too few)";
    const double usual_dice = summary(usual).dice.value_or(0),
                 dice = summary(trials).dice.value_or(usual_dice);
    const double error = relativeError(trials).value_or(0);
    const double invented = shareAbove(trials, detection_limit).value_or(0);
    if (error >= 1 || dice < usual_dice / 2 || invented > 0.25) return "retake";
    if (error > 2 * relativeError(usual).value_or(1) || dice < usual_dice - 0.1 || invented > 0.1)
        return "caution";
    return "good";
}

std::string axisTable(const Axis& axis, const Trials& all, double detection_limit)
{
    const Meter meter = meters()[axis.meter];
    const auto is = [](const Trial& t, const std::string& kind) { return t.kind == kind; };
    const Trials usual = those(all, [&](const Trial& t) { return is(t, "none"); });
    const Trials concerned = those(all, [&](const Trial& t) {
        return t.quality && meter.value(*t.quality) && t.first != First::alike &&
               (is(t, "none") ||
                std::any_of(axis.kinds.begin(), axis.kinds.end(), [&](const auto& k) { return is(t, k); }));
    });
    std::string text = header({meter.name, "photos", "Dice", "coverage error, median", "p90", "relative",
                               "rootless: worst", "above the limit", "the rule says"});
    for (size_t i = 0; i + 1 < axis.edges.size(); ++i) {
        const double a = axis.edges[i], b = axis.edges[i + 1];
        const bool falling = a > b, last = i + 2 == axis.edges.size();
        const Trials in = those(concerned, [&](const Trial& t) {
            const double v = *meter.value(*t.quality);
            return falling ? v < a && (v >= b || last) : v >= a && (v < b || last);
        });
        if (in.empty()) continue;
        const Summary s = summary(in);
        const auto rootless = valuesOf(in, falseCoverage);
        text += row({figureText(a, 2) + " .. " + figureText(b, 2), std::to_string(in.size()), cell(s.dice, 2),
                     cell(s.coverage_error_median, 2), cell(s.coverage_error_p90, 2),
                     cell(relativeError(in), 2), cell(quantile(rootless, 1), 2),
                     cell(shareAbove(in, detection_limit), 2), verdict(in, usual, detection_limit)});
    }
    return text;
}

std::string stateTable(const Trials& all)
{
    std::string text = header({"told", "photos", "Dice", "coverage error, median", "p90", "relative",
                               "rootless: photos", "median", "p95", "worst", "in the 90 % interval"});
    for (const State state : {State::measured, State::caution, State::retake}) {
        const Trials told = those(all, [&](const Trial& t) { return t.told == state && t.quality; });
        const Summary s = summary(told);
        const auto rootless = valuesOf(told, falseCoverage);
        text +=
            row({stateText(state) + std::string(state == State::retake ? ", had it been measured" : ""),
                 std::to_string(told.size()), cell(s.dice, 2), cell(s.coverage_error_median, 2),
                 cell(s.coverage_error_p90, 2), cell(relativeError(told), 2), std::to_string(rootless.size()),
                 cell(quantile(rootless, 0.5), 2), cell(quantile(rootless, 0.95), 2),
                 cell(quantile(rootless, 1), 2), cell(s.coverage_interval_hit_share, 2)});
    }
    return text;
}

std::string pastedTable(const Trials& pasted)
{
    std::vector<std::string> fillings;
    for (const Trial* t : pasted)
        if (std::find(fillings.begin(), fillings.end(), t->unit) == fillings.end())
            fillings.push_back(t->unit);
    const auto states = [](const Trials& trials) {
        return share(trials, State::measured) + " / " + share(trials, State::caution) + " / " +
               share(trials, State::retake);
    };
    std::string text = header({"filled with", "alone: measured / caution / retake %", "coverage: median",
                               "worst", "with first: measured / caution / retake %", "coverage: median",
                               "worst", "worst length, mm"});
    for (const std::string& filling : fillings) {
        const Trials of = those(pasted, [&](const Trial& t) { return t.unit == filling; });
        const Trials alone = those(of, [](const Trial& t) { return t.first == First::none; });
        const Trials with = those(of, [](const Trial& t) { return t.first != First::none; });
        const auto told = [](const Trials& trials) {
            return valuesOf(those(trials, [](const Trial& t) { return t.told != State::retake; }),
                            falseCoverage);
        };
        const auto length = [](const Trial& t) { return t.seen.root_length_mm; };
        const Trials kept = those(with, [](const Trial& t) { return t.told != State::retake; });
        text += row({filling, states(alone), cell(quantile(told(alone), 0.5), 2),
                     cell(quantile(told(alone), 1), 2), states(with), cell(quantile(told(with), 0.5), 2),
                     cell(quantile(told(with), 1), 2), cell(quantile(valuesOf(kept, length), 1), 0)});
    }
    return text;
}

std::string blankTable(const Trials& all)
{
    struct Source {
        const char* name;
        std::function<bool(const Trial&)> has;
    };
    const std::vector<Source> sources{
        {"renderings as they are", [](const Trial& t) { return t.kind == "none"; }},
        {"renderings spoilt", [](const Trial& t) { return t.kind != "none" && !isPasted(t); }},
        {"filled with a photograph", [](const Trial& t) { return t.kind == "filled with a photograph"; }},
        {"filled with a pattern", [](const Trial& t) { return t.kind == "filled with a pattern"; }}};
    std::string text =
        header({"rootless and called measured", "compared with a reference panel", "photos",
                "coverage: median", "p90", "p95", "worst", "length, mm: median", "p95", "worst"});
    for (const Source& source : sources)
        for (const bool with : {false, true}) {
            const Trials of = those(all, [&](const Trial& t) {
                return t.rootless && t.told == State::measured && source.has(t) && t.compared == with;
            });
            const auto coverage = valuesOf(of, falseCoverage);
            const auto length = valuesOf(of, [](const Trial& t) { return t.seen.root_length_mm; });
            text += row({source.name, with ? "yes" : "no", std::to_string(of.size()),
                         cell(quantile(coverage, 0.5), 2), cell(quantile(coverage, 0.9), 2),
                         cell(quantile(coverage, 0.95), 2), cell(quantile(coverage, 1), 2),
                         cell(quantile(length, 0.5), 1), cell(quantile(length, 0.95), 1),
                         cell(quantile(length, 1), 1)});
        }
    return text;
}

std::string quoted(const std::string& text)
{
    std::string out(1, '"');
    for (const char c : text) out.append(c == '"' ? 2 : 1, c);
    out.push_back('"');
    return out;
}

const char* firstText(First first)
{
    return first == First::none ? "none" : first == First::good ? "good" : "alike";
}

}  // namespace

std::string qualityTables(const std::vector<Trial>& trials)
{
    Trials all;
    for (const Trial& t : trials) all.push_back(&t);
    const Trials spoilt = those(all, [](const Trial& t) { return !isPasted(t); });
    const Trials pasted = those(all, isPasted);
    const double limit = SeasonSettings{}.detection_limit_percent;

    std::string text;
    const auto add = [&](const char* title, const std::string& table) {
        text.append("## ").append(title).append("\n\n").append(table).append("\n");
    };
    add("Step by step", stepTable(spoilt));
    add("What the numbers say", meterTable(spoilt));
    std::string by_number;
    for (const Axis& axis : axes()) by_number.append(axisTable(axis, spoilt, limit)).append("\n");
    add("Error by number", by_number);
    add("What the states are worth", stateTable(spoilt));
    add("Tubs filled with something else", pastedTable(pasted));
    add("Detection limit", blankTable(all));
    return text;
}

std::string trialsCsv(const std::vector<Trial>& trials)
{
    std::string text = "what,step,photo,first,rootless,told,why";
    for (const char* name :
         {"sharpness", "lightness", "burnt_percent", "glare_percent", "px_per_mm", "tilt_deg", "in_frame",
          "filled", "confidence", "wall_iou", "dice", "coverage_percent", "true_coverage_percent",
          "coverage_low", "coverage_high", "root_length_mm", "water_level_mm", "true_water_level_mm"})
        text.append(",").append(name);
    text += "\r\n";
    for (const Trial& t : trials) {
        text += quoted(t.kind) + "," + (isPasted(t) ? quoted(t.unit) : amountOf(t)) + "," + t.photo + "," +
                firstText(t.first) + "," + (t.rootless ? "yes" : "no") + "," + stateText(t.told) + "," +
                quoted(t.why);
        for (const Meter& meter : meters())
            text.append(",").append(figureText(t.quality ? meter.value(*t.quality) : Number{}, 3));
        const PhotoAgreement& a = t.agreement;
        for (const Number& value :
             {a.wall_iou, a.dice, t.seen.coverage_percent, a.true_coverage_percent, t.seen.coverage_low,
              t.seen.coverage_high, t.seen.root_length_mm, t.seen.water_level_mm, a.true_water_level_mm})
            text.append(",").append(figureText(value, 3));
        text += "\r\n";
    }
    return text;
}

}  // namespace slipglass::benchmark
