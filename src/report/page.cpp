#include <glib.h>

#include <algorithm>
#include <kainjow/mustache.hpp>
#include <map>
#include <memory>

#include "page_template.h"
#include "slipglass/report/file_names.h"
#include "slipglass/report/writers.h"
#include "slipglass/season/figures.h"

namespace slipglass {

namespace {

using kainjow::mustache::data;
using kainjow::mustache::list;
using kainjow::mustache::mustache;
using Strings = std::vector<std::string>;

std::string joined(const Strings& parts, const char* between)
{
    std::string text;
    for (const auto& part : parts)
        if (!part.empty()) text += (text.empty() ? "" : between) + part;
    return text;
}

std::string counted(size_t n, const char* one, const char* many)
{
    return std::to_string(n) + " " + (n == 1 ? one : many);
}

/// A path below the output folder as an address, whatever letters are in it.
std::string address(const std::string& path)
{
    const std::unique_ptr<char, decltype(&g_free)> escaped(g_uri_escape_string(path.c_str(), "/", FALSE),
                                                           g_free);
    return escaped.get();
}

/// What the page's content rule names its only style by.
std::string styleHash()
{
    const std::string style = kPageStyle;
    const std::unique_ptr<GChecksum, decltype(&g_checksum_free)> sum(g_checksum_new(G_CHECKSUM_SHA256),
                                                                     g_checksum_free);
    g_checksum_update(sum.get(), reinterpret_cast<const guchar*>(style.data()),
                      static_cast<gssize>(style.size()));
    std::array<guint8, 32> bytes{};
    gsize size = bytes.size();
    g_checksum_get_digest(sum.get(), bytes.data(), &size);
    const std::unique_ptr<char, decltype(&g_free)> base64(g_base64_encode(bytes.data(), size), g_free);
    return std::string("sha256-") + base64.get();
}

std::string severityClass(Severity severity)
{
    std::string text = severityText(severity);
    std::replace(text.begin(), text.end(), ' ', '-');
    return text;
}

/// A tub of the page: its cuttings share its picture, figures and flags.
struct TubOnPage {
    std::string tub, anchor;
    std::vector<const Series*> cuttings;
};

std::vector<TubOnPage> tubsOf(const SeasonReport& season)
{
    std::vector<TubOnPage> tubs;
    std::map<std::string, size_t> place;
    for (const auto& series : season.series) {
        const auto [known, is_new] = place.emplace(series.cutting.tub, tubs.size());
        // Numbered, because an id may hold anything and an anchor may not.
        if (is_new) tubs.push_back({series.cutting.tub, "tub-" + std::to_string(tubs.size() + 1), {}});
        tubs[known->second].cuttings.push_back(&series);
    }
    return tubs;
}

data flagData(const Flag& flag)
{
    data item;
    item.set("severity", severityText(flag.severity));
    item.set("severity_class", severityClass(flag.severity));
    item.set("name", flag.name);
    item.set("date", isoDate(flag.date));
    item.set("cleared", flag.cleared ? isoDate(*flag.cleared) : "");
    return item;
}

/// One flag of several cuttings of a tub, told once.
struct SharedFlag {
    const Flag* flag;
    Strings cuttings;
};

/// A waterlogged tub has standing water: the same water is told once.
bool saidByAnother(const Flag& flag, const std::vector<Flag>& flags)
{
    return flag.name == "standing-water" && std::any_of(flags.begin(), flags.end(), [&](const Flag& other) {
               return other.name == "waterlogged" && other.holds && flag.holds &&
                      other.cutting == flag.cutting;
           });
}

std::vector<SharedFlag> sharedFlags(const std::vector<Flag>& flags, bool holding)
{
    std::vector<SharedFlag> shared;
    for (const auto& flag : flags) {
        if (flag.holds != holding || saidByAnother(flag, flags)) continue;
        const auto same = std::find_if(shared.begin(), shared.end(), [&](const SharedFlag& other) {
            return other.flag->tub == flag.tub && other.flag->name == flag.name &&
                   other.flag->date == flag.date && other.flag->evidence == flag.evidence;
        });
        if (same != shared.end())
            same->cuttings.push_back(flag.cutting);
        else
            shared.push_back({&flag, {flag.cutting}});
    }
    return shared;
}

data doingData(const std::vector<SharedFlag>& flags, const std::vector<TubOnPage>& tubs)
{
    data items{data::type::list};
    for (const auto& shared : flags) {
        const Flag& flag = *shared.flag;
        const auto tub =
            std::find_if(tubs.begin(), tubs.end(), [&](const auto& t) { return t.tub == flag.tub; });
        data item = flagData(flag);
        item.set("tub", validUtf8(flag.tub));
        item.set("anchor", tub == tubs.end() ? "tubs" : tub->anchor);
        const bool says_more = shared.cuttings.size() > 1 || shared.cuttings.front() != flag.tub;
        item.set("cuttings", says_more ? validUtf8(joined(shared.cuttings, ", ")) : "");
        item.set("evidence", validUtf8(flag.evidence));
        item.set("advice", flag.advice);
        items.push_back(item);
    }
    return items;
}

data tubFlags(const std::vector<SharedFlag>& flags, const std::string& tub)
{
    data items{data::type::list};
    for (const auto& shared : flags)
        if (shared.flag->tub == tub) items.push_back(flagData(*shared.flag));
    return items;
}

/// Where a figure is not of the latest photo, its date.
std::string whenNotLatest(const Series& series, const SeriesPoint& point)
{
    return point.seen.taken.date == *series.latest_photo ? "" : "on " + isoDate(point.seen.taken.date);
}

void addFigure(data& figures, const char* what, const std::string& value, const Strings& more)
{
    data figure;
    figure.set("what", what);
    figure.set("value", value);
    figure.set("more", joined(more, ", "));
    figures.push_back(figure);
}

std::string perDay(std::optional<double> change, int decimals, const char* unit)
{
    if (!change) return {};
    const std::string text = figureText(change, decimals);
    return (text.starts_with('-') ? "" : "+") + text + unit + " a day";
}

void addCoverage(data& figures, const Series& series, const SeasonSettings& settings)
{
    const auto* point = latestKnown(series, &Observation::coverage_percent);
    if (!point) return addFigure(figures, "Roots cover", "not known", {});
    const Observation& seen = point->seen;
    const bool seen_at_all = rootsSeen(seen, settings).value_or(false);
    const std::string range =
        seen.coverage_low && seen.coverage_high
            ? figureText(seen.coverage_low, 1) + " to " + figureText(seen.coverage_high, 1)
            : "";
    addFigure(figures, "Roots cover", seen_at_all ? figureText(seen.coverage_percent, 1) + " %" : "none seen",
              {seen_at_all ? range : "", seen_at_all ? perDay(point->coverage_percent_per_day, 2, " %") : "",
               whenNotLatest(series, *point)});
}

void addLength(data& figures, const Series& series)
{
    const auto* point = latestKnown(series, &Observation::root_length_mm);
    if (!point) return addFigure(figures, "Root length", "not known", {"needs a label or a tub type"});
    addFigure(figures, "Root length", figureText(point->seen.root_length_mm, 0) + " mm",
              {perDay(point->root_length_mm_per_day, 1, " mm"), whenNotLatest(series, *point)});
}

std::string waterText(const Observation& seen)
{
    if (!seen.standing_water.value_or(false)) return "none standing";
    return seen.water_level_mm ? figureText(seen.water_level_mm, 0) + " mm standing" : "standing";
}

void addWater(data& figures, const Series& series)
{
    const auto known =
        std::find_if(series.points.rbegin(), series.points.rend(), [](const SeriesPoint& point) {
            return usable(point.seen) && (point.seen.standing_water || point.seen.water_level_mm);
        });
    if (known == series.points.rend()) return addFigure(figures, "Water at the base", "not known", {});
    const std::string days =
        series.standing_water_days > 0
            ? counted(static_cast<size_t>(series.standing_water_days), "day", "days") + " in all"
            : "";
    addFigure(figures, "Water at the base", waterText(known->seen), {days, whenNotLatest(series, *known)});
}

data figuresOf(const Series& series, const SeasonSettings& settings)
{
    data figures{data::type::list};
    if (series.points.empty()) return figures;
    addCoverage(figures, series, settings);
    addLength(figures, series);
    addWater(figures, series);
    if (const auto* browned = latestKnown(series, &Observation::browned_percent))
        addFigure(figures, "Browned roots", figureText(browned->seen.browned_percent, 0) + " %",
                  {whenNotLatest(series, *browned)});
    return figures;
}

std::string strikeText(const Series& series)
{
    if (series.struck)
        return "Struck " +
               (series.struck->after ? "between " + isoDate(*series.struck->after) + " and "
                                     : std::string("by ")) +
               isoDate(series.struck->by) + ".";
    if (series.points.empty()) return "No photo yet.";
    if (series.roots_first_seen)
        return "Roots first seen on " + isoDate(*series.roots_first_seen) +
               "; one more photo will tell whether it struck.";
    return "No roots seen yet.";
}

std::string aboutCutting(const Series& series)
{
    const PlannedCutting& cutting = series.cutting;
    std::string text = joined({cutting.variety, cutting.position, cutting.treatment, cutting.note}, "; ");
    if (cutting.stuck_on) {
        text += (text.empty() ? "Stuck on " : ". Stuck on ") + isoDate(*cutting.stuck_on);
        if (series.days_since_stuck)
            text += ", " +
                    counted(static_cast<size_t>(std::max(0, *series.days_since_stuck)), "day", "days") +
                    " at the latest photo";
    }
    return text.empty() ? text : text + ".";
}

data cuttingData(const Series& series)
{
    data item;
    item.set("id", validUtf8(series.cutting.cutting));
    item.set("about", validUtf8(aboutCutting(series)));
    item.set("strike", strikeText(series));
    item.set("graph", address(graphName(series.cutting.cutting)));
    item.set("graph_alt", validUtf8("Graphs of root coverage, root length and water level of " +
                                    series.cutting.cutting + ", from its first to its latest photo"));
    return item;
}

std::string pictureAlt(const Observation& seen)
{
    std::string text =
        "Tub " + seen.tub + " on " + isoDate(seen.taken.date) + ", with what was found drawn on it";
    if (seen.coverage_percent)
        text += "; roots cover " + figureText(seen.coverage_percent, 1) + " % of the wall";
    if (seen.standing_water)
        text += *seen.standing_water ? "; water stands at the base" : "; no standing water";
    return text;
}

/// The latest overlay there is; false when there is none.
data pictureOf(const Series& series, const std::map<PhotoAndTub, std::string>& overlays,
               const std::set<std::string>& pictures)
{
    for (auto point = series.points.rbegin(); point != series.points.rend(); ++point) {
        const auto name = overlays.find({point->seen.photo, point->seen.tub});
        if (name == overlays.end() || pictures.count(name->second) == 0) continue;
        data picture;
        picture.set("src", address(name->second));
        picture.set("alt", validUtf8(pictureAlt(point->seen)));
        picture.set("caption", isoDate(point->seen.taken.date) +
                                   (point->seen.state == State::measured
                                        ? std::string()
                                        : std::string(" (") + stateText(point->seen.state) + ")"));
        return picture;
    }
    return data{false};
}

std::string aboutTub(const Series& series)
{
    return joined(
        {series.cutting.medium, series.cutting.tub_type.empty() ? "" : series.cutting.tub_type + " tub",
         series.latest_photo
             ? counted(series.points.size(), "photo", "photos") + ", latest " + isoDate(*series.latest_photo)
             : ""},
        "; ");
}

std::string headline(const SeasonReport& season, size_t tubs)
{
    std::string text =
        counted(tubs, "tub", "tubs") + " with " + counted(season.series.size(), "cutting", "cuttings");
    const auto struck =
        std::count_if(season.series.begin(), season.series.end(), [](const auto& s) { return s.struck; });
    text += ", of which " + std::to_string(struck) + (struck == 1 ? " has struck." : " have struck.");
    std::optional<Date> first, latest;
    for (const auto& seen : season.observations) {
        first = std::min(first.value_or(seen.taken.date), seen.taken.date);
        latest = std::max(latest.value_or(seen.taken.date), seen.taken.date);
    }
    return first ? text + " Photos from " + isoDate(*first) + " to " + isoDate(*latest) + "."
                 : text + " No photos yet.";
}

data problemData(const Problem& problem)
{
    data item;
    item.set("file", validUtf8(problem.file));
    item.set("tub", problem.tub.empty() ? data{false} : data{validUtf8(problem.tub)});
    item.set("state", validUtf8(problem.state));
    item.set("reason", validUtf8(problem.reason));
    item.set("remedy", validUtf8(problem.remedy));
    return item;
}

}  // namespace

std::string indexHtml(const SeasonReport& season, const std::set<std::string>& pictures)
{
    const auto tubs = tubsOf(season);
    const auto overlays = overlayNames(season.observations);
    const auto holding = sharedFlags(season.flags, true);
    const auto gone = sharedFlags(season.flags, false);

    data tub_items{data::type::list};
    for (const auto& tub : tubs) {
        const Series& series = *tub.cuttings.front();
        data item;
        item.set("tub", validUtf8(tub.tub));
        item.set("anchor", tub.anchor);
        item.set("about", validUtf8(aboutTub(series)));
        item.set("picture", pictureOf(series, overlays, pictures));
        item.set("no_picture", series.points.empty() ? "No photo yet" : "No picture");
        item.set("flags", tubFlags(holding, tub.tub));
        item.set("gone", tubFlags(gone, tub.tub));
        item.set("figures", figuresOf(series, season.settings));
        item.set("shared", tub.cuttings.size() > 1 ? data{"The figures are the tub's, shared by its " +
                                                          std::to_string(tub.cuttings.size()) + " cuttings."}
                                                   : data{false});
        data cuttings{data::type::list};
        for (const auto* cutting : tub.cuttings) cuttings.push_back(cuttingData(*cutting));
        item.set("cuttings", cuttings);
        tub_items.push_back(item);
    }
    data problems{data::type::list}, warnings{data::type::list};
    for (const auto& problem : season.problems) problems.push_back(problemData(problem));
    for (const auto& line : season.warnings) {
        data item;
        item.set("line", validUtf8(line));
        warnings.push_back(item);
    }

    data page;
    page.set("style", kPageStyle);
    page.set("style_hash", styleHash());
    page.set("headline", headline(season, tubs.size()));
    page.set("problem_count", std::to_string(season.problems.size() + season.warnings.size()));
    page.set("any_problem", data{!season.problems.empty() || !season.warnings.empty()});
    page.set("doing", doingData(holding, tubs));
    page.set("tubs", tub_items);
    page.set("problems", problems);
    page.set("warnings", warnings);
    mustache skeleton(kPageTemplate);
    return skeleton.render(page);
}

}  // namespace slipglass
