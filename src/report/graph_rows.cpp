#include "graph_rows.h"

#include <algorithm>

#include "plain_words.h"
#include "slipglass/season/figures.h"

namespace slipglass {

namespace {

constexpr double kRow = 32;  // px

GraphBox rowAt(double top)
{
    GraphBox box;
    box.top = top;
    box.height = kRow;
    box.upright_numbers = box.days_below = false;
    return box;
}

/// A bar from the day a flag first held to the day it was over, under its words.
double drawFlag(GraphPaper& paper, const Sheet& sheet, const Flag& flag, double top)
{
    paper.openBox(rowAt(top));
    const double from = daysBetween(sheet.zero, flag.date);
    const Date until = flag.cleared.value_or(sheet.series.latest_photo.value_or(flag.date));
    const double to = daysBetween(sheet.zero, until);
    const double least = std::max(to, from + sheet.days * 0.02);
    paper.band({from, std::min(least, sheet.days)}, {0.1, 0.1}, {0.32, 0.32}, Ink::flag);
    const Words& words = sheet.words;
    const std::string from_day = words.shortDay(flag.date);
    const std::string when =
        flag.cleared ? words("{low} to {high}", {{"low", from_day}, {"high", words.shortDay(*flag.cleared)}})
                     : words("since {date}", {{"date", from_day}});
    paper.smallText(0.72, flagWords(flag.name, words) + ", " + when, Ink::flag);
    return top + kRow;
}

double drawForecastRow(GraphPaper& paper, const Sheet& sheet, double top)
{
    const Potting& potting = sheet.series.potting;
    paper.openBox(rowAt(top));
    const auto day = [&](Date date) { return static_cast<double>(daysBetween(sheet.zero, date)); };
    paper.line({day(*potting.earliest), day(*potting.latest)}, {0.22, 0.22}, Ink::care, 3);
    paper.dot(day(*potting.likely), 0.22, Ink::care);
    const Words& words = sheet.words;
    paper.smallText(0.72,
                    words("Ready to pot up {likely} ({earliest} to {latest}), chance {percent} %",
                          {{"likely", words.shortDay(*potting.likely)},
                           {"earliest", words.shortDay(*potting.earliest)},
                           {"latest", words.shortDay(*potting.latest)},
                           {"percent", words.number(potting.chance_percent, 0)}}),
                    Ink::care);
    return top + kRow;
}

/// A mark for each day on which something was done, and what it was.
double drawCare(GraphPaper& paper, const Sheet& sheet, const CareEvent& event, double top)
{
    paper.openBox(rowAt(top));
    const double day = std::clamp<double>(daysBetween(sheet.zero, event.date), 0, sheet.days);
    paper.dot(day, 0.22, Ink::care);
    paper.smallText(0.72, careWords(event, sheet.words) + ", " + sheet.words.shortDay(event.date), Ink::care);
    return top + kRow;
}

/// Care of the same kind shares a row.
std::vector<std::pair<Care, std::vector<const CareEvent*>>> careRows(const Series& series)
{
    std::vector<std::pair<Care, std::vector<const CareEvent*>>> rows;
    for (const Care what : {Care::watered, Care::tipped_out, Care::moved, Care::potted_up, Care::given_up}) {
        std::vector<const CareEvent*> events;
        for (const CareEvent& event : series.care)
            if (event.what == what) events.push_back(&event);
        if (!events.empty()) rows.emplace_back(what, events);
    }
    return rows;
}

double drawCareRow(GraphPaper& paper, const Sheet& sheet, const std::vector<const CareEvent*>& events,
                   double top)
{
    if (events.size() == 1) return drawCare(paper, sheet, *events.front(), top);
    paper.openBox(rowAt(top));
    for (const CareEvent* event : events)
        paper.dot(std::clamp<double>(daysBetween(sheet.zero, event->date), 0, sheet.days), 0.22, Ink::care);
    CareEvent kind;
    kind.what = events.front()->what;
    paper.smallText(0.72,
                    careWords(kind, sheet.words) + ", " +
                        sheet.words.numbered(static_cast<long long>(events.size()), "{n} time", "{n} times"),
                    Ink::care);
    return top + kRow;
}

}  // namespace

double heightOfRows(const Sheet& sheet)
{
    const size_t rows =
        sheet.flags.size() + careRows(sheet.series).size() + (sheet.series.potting.likely ? 1 : 0);
    return kRow * static_cast<double>(rows);
}

void drawRows(GraphPaper& paper, const Sheet& sheet, double top)
{
    if (sheet.series.potting.likely) top = drawForecastRow(paper, sheet, top);
    for (const Flag* flag : sheet.flags) top = drawFlag(paper, sheet, *flag, top);
    for (const auto& [what, events] : careRows(sheet.series)) top = drawCareRow(paper, sheet, events, top);
}

}  // namespace slipglass
