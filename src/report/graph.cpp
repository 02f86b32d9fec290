#include <algorithm>
#include <array>
#include <cmath>
#include <map>

#include "graph_paper.h"
#include "graph_rows.h"
#include "plain_words.h"
#include "slipglass/report/writers.h"
#include "slipglass/season/figures.h"

namespace slipglass {

namespace {

using FigureMember = std::optional<double> Observation::*;

/// A figure in one place of time, with its interval where there is one.
struct Dot {
    double day;  ///< since the graph's first day
    double value, low, high;
    const Observation* seen;
    bool none;   ///< looked, and none seen: no value is drawn
    size_t run;  ///< places with a photo between them that does not know the figure are of different runs
};

/// One of the graphs above each other.
struct Strip {
    const char* title;
    const char* if_unknown;
    const char* if_none;  ///< where all its photos say so
    FigureMember value, low, high;
    double least_top;  ///< the axis reaches at least so high, so that noise does not look like growth
    Ink ink, pale;     ///< of the line and of the interval
    double height;     ///< px
};

const char* const kNoScale = translated("not known: needs a label or a tub type");
const std::array<Strip, 4> kStrips{{
    {translated("Roots cover, % of the wall"), translated("not measured yet"),
     translated("none seen on {photos}"), &Observation::coverage_percent, &Observation::coverage_low,
     &Observation::coverage_high, 1.0, Ink::root, Ink::root_pale, 130},
    {translated("Root length seen, {unit}"), kNoScale, translated("none seen on {photos}"),
     &Observation::root_length_mm, nullptr, nullptr, 20.0, Ink::length, Ink::root_pale, 110},
    {translated("Water standing at the base, {unit}"), kNoScale, translated("none standing on {photos}"),
     &Observation::water_level_mm, &Observation::water_low_mm, &Observation::water_high_mm, 5.0, Ink::water,
     Ink::water_pale, 110},
    {translated("How wet the medium looks"), translated("not measured yet"), "", &Observation::wetness,
     nullptr, nullptr, 1.0, Ink::wet, Ink::water_pale, 80},
}};

// Px over a strip for its title, under it for its dates.
constexpr double kTitle = 24, kDates = 30, kFoot = 8;
// Of a strip that is nothing but words.
constexpr double kWords = 26;
constexpr double kSecondsPerDay = 86400.0;

double dayOf(const TakenAt& taken, Date zero)
{
    return daysBetween(zero, taken.date) + taken.second_of_day.value_or(0) / kSecondsPerDay;
}

bool isNone(const Strip& strip, const Observation& seen, const SeasonSettings& settings)
{
    if (strip.value == &Observation::wetness) return false;
    if (strip.value == &Observation::water_level_mm) return seen.standing_water == false;
    return rootsSeen(seen, settings) == false;
}

/// Of one of the units in which a strip is drawn.
double unitOf(const Sheet& sheet, const Strip& strip)
{
    const bool length =
        strip.value == &Observation::root_length_mm || strip.value == &Observation::water_level_mm;
    return length ? sheet.words.mmPerUnit() : 1;
}

std::vector<Dot> placesOf(const Sheet& sheet, const Strip& strip)
{
    const double unit = unitOf(sheet, strip);
    std::vector<Dot> places;
    size_t run = 0;
    std::optional<Date> unknown;
    for (const auto& point : sheet.series.points) {
        const auto& seen = point.seen;
        if (!usable(seen) || !(seen.*strip.value)) {
            unknown = seen.taken.date;
            continue;
        }
        // A photo of the same day that knows it makes it a known day.
        const bool known_before = !places.empty() && places.back().seen->taken.date == unknown;
        if (unknown && unknown != seen.taken.date && !known_before) ++run;
        unknown.reset();
        const double value = *(seen.*strip.value);
        const double low = strip.low ? (seen.*strip.low).value_or(value) : value;
        const double high = strip.high ? (seen.*strip.high).value_or(value) : value;
        places.push_back({dayOf(seen.taken, sheet.zero), value / unit, low / unit, high / unit, &seen,
                          isNone(strip, seen, sheet.settings), run});
    }
    return places;
}

bool allNone(const std::vector<Dot>& places)
{
    return std::all_of(places.begin(), places.end(), [](const Dot& place) { return place.none; });
}

double topOf(const std::vector<Dot>& places, const Strip& strip, double unit)
{
    if (strip.value == &Observation::wetness) return 1;
    double top = strip.least_top / unit;
    for (const auto& place : places)
        if (!place.none) top = std::max({top, place.value * 1.1, place.high * 1.05});
    return top;
}

std::string lineFor(const Strip& strip, const Observation& seen, const SeasonSettings& settings,
                    const Words& words)
{
    if (strip.value == &Observation::coverage_percent)
        return words("Roots cover {coverage}", {{"coverage", coverageWords(seen, settings, words)}});
    if (strip.value == &Observation::root_length_mm)
        return words("Root length {length}", {{"length", lengthWords(seen, settings, words)}});
    if (strip.value == &Observation::water_level_mm)
        return words("Water {water}", {{"water", waterWords(seen, words)}});
    return words("Medium looks {wetness}", {{"wetness", wetnessWords(seen, words)}});
}

/// Coverage or length from which a cutting can be potted up; empty for other figures.
std::optional<double> pottingThreshold(const Strip& strip, const Sheet& sheet)
{
    if (strip.value == &Observation::coverage_percent) return sheet.settings.potting_coverage_percent;
    if (strip.value == &Observation::root_length_mm)
        return sheet.settings.potting_length_mm / unitOf(sheet, strip);
    return std::nullopt;
}

/// When the cutting will likely be ready to pot up, as a band of time under the growth, and from where on it
/// is.
void drawForecast(GraphPaper& paper, const Sheet& sheet, const GraphBox& box, double threshold)
{
    const Potting& potting = sheet.series.potting;
    if (!potting.likely) return;
    const auto day = [&](Date date) { return static_cast<double>(daysBetween(sheet.zero, date)); };
    paper.band({day(*potting.earliest), std::max(day(*potting.latest), day(*potting.earliest) + 0.5)},
               {box.low, box.low}, {box.high, box.high}, Ink::forecast);
    paper.line({day(*potting.likely), day(*potting.likely)}, {box.low, box.high}, Ink::care, 1, true);
    if (threshold < box.high) paper.line({0, sheet.days}, {threshold, threshold}, Ink::care, 1, true);
}

using Days = std::map<std::pair<Date, const Observation*>, GraphDay>;

/// What is joined by a line: seen on photos running, none of them without the figure.
void drawRun(GraphPaper& paper, const Strip& strip, const std::vector<Dot>& places, size_t from, size_t to)
{
    std::vector<double> x, y, low, high;
    for (size_t i = from; i < to; ++i) {
        x.push_back(places[i].day);
        y.push_back(places[i].value);
        low.push_back(places[i].low);
        high.push_back(places[i].high);
    }
    if (strip.low) paper.band(x, low, high, strip.pale);
    if (strip.low)
        for (size_t i = 0; i < x.size(); ++i) paper.line({x[i], x[i]}, {low[i], high[i]}, strip.ink, 1);
    if (x.size() > 1) paper.line(x, y, strip.ink);
}

void drawPlaces(GraphPaper& paper, const Sheet& sheet, const Strip& strip, const std::vector<Dot>& places)
{
    for (size_t from = 0, to = 0; from < places.size(); from = std::max(to, from + 1)) {
        to = from;
        while (to < places.size() && !places[to].none && places[to].run == places[from].run) ++to;
        drawRun(paper, strip, places, from, to);
    }
    if (strip.value == &Observation::coverage_percent)
        paper.line({0, sheet.days},
                   {sheet.settings.detection_limit_percent, sheet.settings.detection_limit_percent},
                   Ink::limit, 1, true);
    for (const Dot& place : places) {
        if (place.none)
            paper.cross(place.day, 0, strip.ink);
        else
            paper.dot(place.day, place.value, strip.ink, place.seen->state == State::caution);
    }
}

/// What a day's photo shows, for those who ask. @param drawn  whether it has a dot in this strip.
void addToDays(const GraphPaper& paper, const Sheet& sheet, const Strip& strip,
               const std::vector<Dot>& places, bool drawn, Days& shown)
{
    for (const Dot& place : places) {
        GraphDay& day = shown[{place.seen->taken.date, place.seen}];
        day.x = paper.xOf(place.day);
        day.heading = sheet.words.day(place.seen->taken.date);
        day.lines.push_back(lineFor(strip, *place.seen, sheet.settings, sheet.words));
        if (drawn) day.places.emplace_back(paper.xOf(place.day), paper.yOf(place.none ? 0 : place.value));
    }
}

double heightOf(const Strip& strip, const std::vector<Dot>& places)
{
    return kTitle + (allNone(places) ? kWords : strip.height + kDates);
}

/// Where there is nothing to draw, a line says so.
void drawWords(GraphPaper& paper, const Sheet& sheet, const Strip& strip, const std::vector<Dot>& places,
               GraphBox box)
{
    box.height = kWords;
    box.upright_numbers = box.days_below = box.axes = false;
    paper.openBox(box);
    paper.smallTextAt(
        GraphPaper::kLeft, box.top + 10,
        places.empty() ? sheet.words(strip.if_unknown)
                       : sheet.words(strip.if_none,
                                     {{"photos", sheet.words.numbered(static_cast<long long>(places.size()),
                                                                      "{n} photo", "{n} photos")}}),
        Ink::ink);
}

void drawStrip(GraphPaper& paper, const Sheet& sheet, const Strip& strip, double top, Days& shown)
{
    const auto places = placesOf(sheet, strip);
    double highest = topOf(places, strip, unitOf(sheet, strip));
    // What is foretold is foretold of a height, which is then shown.
    if (const auto threshold = pottingThreshold(strip, sheet); threshold && sheet.series.potting.likely)
        highest = std::max(highest, *threshold * 1.1);
    GraphBox box;
    box.top = top + kTitle;
    box.height = strip.height;
    // A little room, so that a point on zero is whole.
    box.low = -0.06 * highest;
    box.high = 1.02 * highest;
    box.title = sheet.words(strip.title, {{"unit", sheet.words.unit()}});
    if (strip.value == &Observation::wetness) {
        box.low = -0.12;
        box.high = 1.12;
        box.words = {sheet.words("dry"), sheet.words("damp"), sheet.words("wet")};
    }
    const bool drawn = !allNone(places);
    if (drawn) {
        paper.openBox(box);
        if (const auto threshold = pottingThreshold(strip, sheet))
            drawForecast(paper, sheet, box, *threshold);
        drawPlaces(paper, sheet, strip, places);
    } else {
        drawWords(paper, sheet, strip, places, box);
    }
    addToDays(paper, sheet, strip, places, drawn, shown);
}

Sheet sheetFor(const Series& series, const std::vector<Flag>& flags, const SeasonSettings& settings,
               const Words& words)
{
    Sheet sheet{series, settings, {}, {}, 0, words};
    sheet.zero =
        series.first_photo.value_or(series.cutting.stuck_on.value_or(Date{std::chrono::year{2000} / 1 / 1}));
    if (series.cutting.stuck_on) sheet.zero = std::min(sheet.zero, *series.cutting.stuck_on);
    std::optional<Date> last = series.latest_photo;
    if (series.potting.latest) last = std::max(last.value_or(*series.potting.latest), *series.potting.latest);
    if (!series.care.empty()) last = std::max(last.value_or(sheet.zero), series.care.back().date);
    // A little room at the right, so that the last point is whole.
    sheet.days = 1.03 * std::max(7, last ? daysBetween(sheet.zero, *last) + 1 : 0);
    for (const Flag& flag : flags)
        if (flag.cutting == series.cutting.cutting && flag.tub == series.cutting.tub)
            sheet.flags.push_back(&flag);
    std::stable_sort(sheet.flags.begin(), sheet.flags.end(),
                     [](const Flag* a, const Flag* b) { return a->date < b->date; });
    return sheet;
}

}  // namespace

Graph drawGraph(const Series& series, const std::vector<Flag>& flags, const SeasonSettings& settings,
                const Words& words, const std::string& before)
{
    const Sheet sheet = sheetFor(series, flags, settings, words);
    double height = kFoot + heightOfRows(sheet);
    for (const Strip& strip : kStrips) height += heightOf(strip, placesOf(sheet, strip));

    GraphPaper paper(static_cast<int>(height), sheet.zero, sheet.days, words);
    Days shown;
    double top = 0;
    for (const Strip& strip : kStrips) {
        drawStrip(paper, sheet, strip, top, shown);
        top += heightOf(strip, placesOf(sheet, strip));
    }
    drawRows(paper, sheet, top);

    Graph graph;
    graph.svg = paper.svg(before);
    for (auto& [key, day] : shown) graph.days.push_back(std::move(day));
    std::stable_sort(graph.days.begin(), graph.days.end(),
                     [](const GraphDay& a, const GraphDay& b) { return a.x < b.x; });
    return graph;
}

}  // namespace slipglass
