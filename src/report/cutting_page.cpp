#include <algorithm>
#include <nlohmann/json.hpp>

#include "graph.h"
#include "page_files.h"
#include "page_parts.h"
#include "plain_words.h"
#include "slipglass/report/writers.h"
#include "slipglass/season/figures.h"

namespace slipglass {

namespace {

using Json = nlohmann::ordered_json;

const char* const kFolder = "report/cuttings";
// A brush for touching up: about a millimetre of wall, or this share of the photo's width.
constexpr double kBrushShare = 1.0 / 180;

std::string perDay(std::optional<double> change, int decimals, const char* unit)
{
    if (!change) return {};
    const std::string text = figureText(change, decimals);
    return (text.starts_with('-') ? "" : "+") + text + unit + " a day";
}

void addFigure(PageData& figures, const char* what, const std::string& value, const std::string& more)
{
    PageData figure;
    figure.set("what", what);
    figure.set("value", value);
    figure.set("more", more);
    figures.push_back(figure);
}

/// "2 to 3"; "" when not known.
std::string range(std::optional<double> low, std::optional<double> high, int decimals)
{
    return low && high ? figureText(low, decimals) + " to " + figureText(high, decimals) : "";
}

/// "on 3 Feb" where a figure is not of the latest photo.
std::string whenNotLatest(const Series& series, const SeriesPoint& point)
{
    return point.seen.taken.date == *series.latest_photo ? "" : "on " + shortDay(point.seen.taken.date);
}

void addRootFigures(PageData& figures, const Series& series, const SeasonSettings& settings)
{
    const auto* covered = latestKnown(series, &Observation::coverage_percent);
    if (!covered) {
        addFigure(figures, "Roots cover", "not known", "");
    } else {
        const bool seen = rootsSeen(covered->seen, settings).value_or(false);
        const std::string percent = figureText(covered->seen.coverage_percent, 1) + " %";
        addFigure(figures, "Roots cover", seen ? percent : "none seen",
                  joined({seen ? range(covered->seen.coverage_low, covered->seen.coverage_high, 1) : "",
                          seen ? perDay(covered->coverage_percent_per_day, 2, " %") : "",
                          whenNotLatest(series, *covered)},
                         ", "));
    }
    const auto* length = latestKnown(series, &Observation::root_length_mm);
    if (!length) return addFigure(figures, "Root length", "not known", "needs a label or a tub type");
    addFigure(
        figures, "Root length", figureText(length->seen.root_length_mm, 0) + " mm",
        joined({perDay(length->root_length_mm_per_day, 1, " mm"), whenNotLatest(series, *length)}, ", "));
}

void addWaterFigure(PageData& figures, const Series& series)
{
    const auto known =
        std::find_if(series.points.rbegin(), series.points.rend(), [](const SeriesPoint& point) {
            return usable(point.seen) && (point.seen.standing_water || point.seen.water_level_mm);
        });
    if (known == series.points.rend()) return addFigure(figures, "Water at the base", "not known", "");
    const std::string days =
        series.standing_water_days > 0
            ? counted(static_cast<size_t>(series.standing_water_days), "day", "days") + " in all"
            : "";
    const Observation& seen = known->seen;
    const bool stands = seen.standing_water.value_or(false) && seen.water_level_mm;
    addFigure(figures, "Water at the base",
              stands ? figureText(seen.water_level_mm, 0) + " mm standing" : waterWords(seen),
              joined({stands ? range(seen.water_low_mm, seen.water_high_mm, 0) : "", days,
                      whenNotLatest(series, *known)},
                     ", "));
}

PageData figuresOf(const Series& series, const SeasonSettings& settings)
{
    PageData figures = emptyList();
    if (series.points.empty()) return figures;
    addRootFigures(figures, series, settings);
    addWaterFigure(figures, series);
    if (const auto* wet = latestKnown(series, &Observation::wetness))
        addFigure(figures, "Medium looks", wetnessWords(wet->seen), whenNotLatest(series, *wet));
    if (const auto* browned = latestKnown(series, &Observation::browned_percent))
        addFigure(figures, "Browned roots", figureText(browned->seen.browned_percent, 0) + " %",
                  whenNotLatest(series, *browned));
    const std::string age = ageWords(series);
    if (!age.empty()) addFigure(figures, "In the medium", age, "at the latest photo");
    return figures;
}

/// A photo's figures in one line.
std::string captionOf(const SeriesPoint& point, const SeasonSettings& settings)
{
    const Observation& seen = point.seen;
    const std::string age =
        point.days_since_stuck ? "day " + std::to_string(*point.days_since_stuck) : std::string();
    const std::string notes = joined(seen.notes, "; ");
    if (seen.state == State::retake) return joined({age, "could not be measured: " + notes}, ". ");
    std::string text =
        joined({age, "roots cover " + coverageWords(seen, settings),
                seen.root_length_mm ? "length " + figureText(seen.root_length_mm, 0) + " mm" : "",
                "water " + waterWords(seen), "medium " + wetnessWords(seen)},
               ", ");
    if (seen.state == State::caution) text += ". With caution: " + notes;
    return text + ".";
}

Json pointsJson(const std::vector<PhotoPoint>& points)
{
    Json list = Json::array();
    for (const PhotoPoint& p : points) {
        const auto tenth = [](double px) { return std::round(px * 10) / 10; };
        list.push_back({tenth(p.x_px), tenth(p.y_px)});
    }
    return list;
}

/// A photo whose pictures are all there.
struct Shown {
    const SeriesPoint* point;
    const PhotoPictures* pictures;
};

std::vector<Shown> shownOf(const Series& series, const PicturesThere& there)
{
    std::vector<Shown> shown;
    for (const auto& point : series.points) {
        const PhotoPictures& pictures = picturesOf(point, there);
        if (!pictures.photo.empty() && !pictures.found.empty() && pictures.width > 0)
            shown.push_back({&point, &pictures});
    }
    return shown;
}

Json photoJson(const Shown& shown, const SeasonSettings& settings)
{
    const Observation& seen = shown.point->seen;
    const PhotoPictures& pictures = *shown.pictures;
    const double brush = seen.px_per_mm ? *seen.px_per_mm : pictures.width * kBrushShare;
    return {{"name", seen.photo},
            {"tub", seen.tub},
            {"stem", pictures.stem},
            {"heading", dayWords(seen.taken.date)},
            {"caption", captionOf(*shown.point, settings)},
            {"alt", pictureWords(seen, settings)},
            {"px", {pictures.width, pictures.height}},
            {"brush", std::round(std::max(1.0, brush) * 10) / 10},
            {"photo", addressOf(pictures.photo, kFolder)},
            {"found", addressOf(pictures.found, kFolder)},
            {"wall", pictures.wall.empty() ? Json(nullptr) : Json(addressOf(pictures.wall, kFolder))},
            {"outline", pointsJson(seen.outline)},
            {"water_line", pointsJson(seen.water_line)}};
}

/// What the scripts work on. "<" is written as its code, so that no text ends the script element.
std::string scriptData(const Series& series, const std::vector<Shown>& shown, const Graph& graph,
                       const SeasonSettings& settings)
{
    Json data;
    data["file"] = safeFileName(series.cutting.cutting);
    data["photos"] = Json::array();
    for (const Shown& photo : shown) data["photos"].push_back(photoJson(photo, settings));
    data["graph"] = Json::array();
    for (const GraphDay& day : graph.days) {
        Json places = Json::array();
        for (const auto& [x, y] : day.places) places.push_back({std::round(x), std::round(y)});
        data["graph"].push_back(
            {{"x", std::round(day.x)}, {"heading", day.heading}, {"lines", day.lines}, {"places", places}});
    }
    std::string text = data.dump(-1, ' ', false, Json::error_handler_t::replace);
    for (size_t at = text.find('<'); at != std::string::npos; at = text.find('<', at))
        text.replace(at, 1, "\\u003c");
    return text;
}

PageData growthData(const std::string& tub, const PicturesThere& there)
{
    const auto found = there.growth.find(tub);
    if (found == there.growth.end()) return PageData{false};
    PageData dates = emptyList();
    for (const GrowthColour& colour : found->second) {
        PageData date;
        const auto day = parseIsoDate(colour.date);
        date.set("colour", validUtf8(colour.colour));
        date.set("iso", validUtf8(colour.date));
        date.set("day", day ? dayWords(*day) : validUtf8(colour.date));
        date.set("area",
                 colour.first_seen_mm2 ? PageData{figureText(colour.first_seen_mm2, 0)} : PageData{false});
        dates.push_back(date);
    }
    PageData growth;
    growth.set("src", addressOf(growthMapName(tub), kFolder));
    growth.set("alt", "Growth map: the roots on the unrolled wall, lighter the later they were first seen");
    growth.set("name", validUtf8(growthMapName(tub)));
    growth.set("legend", addressOf(growthLegendName(tub), kFolder));
    growth.set("legend_name", validUtf8(growthLegendName(tub)));
    growth.set("dates", dates);
    return growth;
}

/// The picture that is there before a script runs: the latest.
PageData viewerData(const std::vector<Shown>& shown, const PicturesThere& there,
                    const SeasonSettings& settings)
{
    if (shown.empty()) return PageData{false};
    const Shown& latest = shown.back();
    const Observation& seen = latest.point->seen;
    PageData picture;
    picture.set("last", std::to_string(shown.size() - 1));
    picture.set("heading", dayWords(seen.taken.date));
    picture.set("caption", validUtf8(captionOf(*latest.point, settings)));
    picture.set("photo", addressOf(latest.pictures->photo, kFolder));
    picture.set("found", addressOf(latest.pictures->found, kFolder));
    picture.set("alt", validUtf8(pictureWords(seen, settings)));
    picture.set("width", std::to_string(latest.pictures->width));
    picture.set("height", std::to_string(latest.pictures->height));
    PageData strip = emptyList();
    for (const Shown& photo : shown) {
        PageData item;
        const std::string& big =
            photo.pictures->overlay.empty() ? photo.pictures->photo : photo.pictures->overlay;
        item.set("overlay", addressOf(big, kFolder));
        item.set("small", addressOf(photo.pictures->small.empty() ? big : photo.pictures->small, kFolder));
        item.set("iso", isoDate(photo.point->seen.taken.date));
        item.set("day", shortDay(photo.point->seen.taken.date));
        item.set("current", PageData{&photo == &latest});
        strip.push_back(item);
    }
    picture.set("strip", strip);
    PageData wall{false}, growth = growthData(seen.tub, there);
    const auto with_wall = std::find_if(shown.rbegin(), shown.rend(),
                                        [](const Shown& photo) { return !photo.pictures->wall.empty(); });
    if (with_wall != shown.rend()) {
        wall = PageData{};
        wall.set("src", addressOf(with_wall->pictures->wall, kFolder));
        wall.set("alt", "The unrolled wall on " + dayWords(with_wall->point->seen.taken.date));
        wall.set("growth", growth);
    }
    picture.set("wall", wall);
    picture.set("growth", growth);
    return picture;
}

PageData rowsOf(const Series& series)
{
    PageData rows = emptyList();
    for (const SeriesPoint& point : series.points) {
        const Observation& seen = point.seen;
        PageData row;
        row.set("iso", isoDate(seen.taken.date));
        row.set("day", dayWords(seen.taken.date));
        row.set("age", point.days_since_stuck ? std::to_string(*point.days_since_stuck) : "");
        const bool use = usable(seen);
        const auto figure = [&](std::optional<double> value, int decimals) {
            return use ? figureText(value, decimals) : std::string();
        };
        row.set("coverage", figure(seen.coverage_percent, 1));
        row.set("interval",
                use && seen.coverage_low && seen.coverage_high
                    ? figureText(seen.coverage_low, 1) + " to " + figureText(seen.coverage_high, 1)
                    : "");
        row.set("length", figure(seen.root_length_mm, 0));
        row.set("water", figure(seen.water_level_mm, 1));
        row.set("wetness", use && seen.wetness ? wetnessWords(seen) : "");
        row.set("browned", figure(seen.browned_percent, 0));
        row.set("gained", figure(seen.gained_root_mm, 0));
        row.set("state", seen.state == State::measured  ? "measured"
                         : seen.state == State::caution ? "with caution"
                                                        : "take it again");
        const std::string notes = joined(seen.notes, "; ");
        row.set("notes", notes.empty() ? PageData{false} : PageData{validUtf8(notes)});
        rows.push_back(row);
    }
    return rows;
}

/// What it needs, and what it needed once.
void addNeeds(PageData& page, const Series& series, const SeasonReport& season, const Rounds& rounds)
{
    const PlannedCutting& cutting = series.cutting;
    PageData needs = emptyList(), gone = emptyList();
    for (const TubRound& round : rounds.tubs)
        for (const Need& need : round.needs)
            if (round.tub == cutting.tub && !series.ended_on && isAbout(need, cutting.cutting))
                needs.push_back(needData(need));
    for (const Flag& flag : season.flags) {
        if (flag.holds || flag.cutting != cutting.cutting || flag.tub != cutting.tub) continue;
        PageData item;
        item.set("words", validUtf8(flagWords(flag.name)));
        item.set("iso", isoDate(flag.date));
        item.set("since", dayWords(flag.date));
        item.set("cleared_iso", flag.cleared ? isoDate(*flag.cleared) : "");
        item.set("cleared", flag.cleared ? dayWords(*flag.cleared) : "");
        item.set("evidence", validUtf8(flag.evidence));
        gone.push_back(item);
    }
    page.set("any_need", PageData{needs.is_non_empty_list()});
    page.set("needs", needs);
    page.set("any_gone", PageData{gone.is_non_empty_list()});
    page.set("gone", gone);
}

PageData neighbour(const SeasonReport& season, size_t nth)
{
    if (nth >= season.series.size()) return PageData{false};
    const std::string& id = season.series[nth].cutting.cutting;
    PageData item;
    item.set("id", validUtf8(id));
    item.set("page", addressOf(cuttingPageName(id), kFolder));
    return item;
}

/// What was done to the tub, and what its water does.
void addCare(PageData& page, const Series& series, const SeasonReport& season)
{
    PageData done = emptyList(), says = emptyList();
    for (const CareEvent& event : series.care) {
        PageData item;
        item.set("iso", isoDate(event.date));
        item.set("day", dayWords(event.date));
        item.set("what", careWords(event));
        item.set("note", event.note.empty() ? PageData{false} : PageData{validUtf8(event.note)});
        done.push_back(item);
    }
    for (const WaterBehaviour& water : season.water) {
        if (water.tub != series.cutting.tub) continue;
        for (const std::string& line : water.says) {
            PageData item;
            item.set("line", validUtf8(line));
            says.push_back(item);
        }
    }
    page.set("any_care", PageData{done.is_non_empty_list()});
    page.set("care", done);
    page.set("water_says", says);
}

/// The drawing as part of a page: without what makes it a file of its own.
std::string inlineSvg(const std::string& svg)
{
    return svg.substr(svg.find("<svg"));
}

}  // namespace

std::string cuttingHtml(const SeasonReport& season, size_t nth, const ForPages& with)
{
    const PicturesThere& pictures = with.pictures;
    const Series& series = season.series.at(nth);
    const Graph graph = drawGraph(series, season.flags, season.settings);
    const auto shown = shownOf(series, pictures);
    const std::string id = validUtf8(series.cutting.cutting);
    PageData page;
    page.set("id", id);
    page.set("before", nth == 0 ? PageData{false} : neighbour(season, nth - 1));
    page.set("after", neighbour(season, nth + 1));
    page.set("about", validUtf8(aboutCutting(series)));
    page.set("strike", strikeSentence(series));
    page.set("potting", pottingSentence(series));
    page.set("shared", series.cuttings_in_tub > 1 && series.part.empty()
                           ? PageData{"The figures are the tub's, shared by its " +
                                      std::to_string(series.cuttings_in_tub) + " cuttings."}
                           : PageData{false});
    page.set("figures", figuresOf(series, season.settings));
    addNeeds(page, series, season, with.rounds);
    page.set("picture", viewerData(shown, pictures, season.settings));
    page.set("graph", inlineSvg(graph.svg));
    page.set("graph_alt", "Graphs of root coverage, root length, water level and wetness of " + id +
                              " over time; the left and right arrow keys step through the photos, and the "
                              "table below has the same figures");
    page.set("rows", rowsOf(series));
    addCare(page, series, season);
    page.set("data", scriptData(series, shown, graph, season.settings));
    return pageOf(page, id + " - rooting season", page_file::cutting(), page_file::cuttingScript());
}

}  // namespace slipglass
