#include <algorithm>

#include "cutting_parts.h"
#include "plain_words.h"
#include "slipglass/report/writers.h"
#include "slipglass/season/figures.h"

namespace slipglass {

namespace {

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

void addRootFigures(PageData& figures, const Series& series, const SeasonSettings& settings)
{
    const auto* covered = latestKnown(series, &Observation::coverage_percent);
    if (!covered) {
        addFigure(figures, "Roots cover", "not known", "");
    } else {
        const bool seen = rootsSeen(covered->seen, settings).value_or(false);
        const std::string percent = figureText(covered->seen.coverage_percent, 1) + " %";
        addFigure(
            figures, "Roots cover", seen ? percent : "none seen",
            joined({seen ? rangeWords(covered->seen.coverage_low, covered->seen.coverage_high, 1) : "",
                    seen ? perDay(covered->coverage_percent_per_day, 2, " %") : "",
                    seen && covered->seen.photos_read == 1
                        ? "straw and fibres may be among them until there is a second photo of this side"
                        : "",
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
    const SeriesPoint* known = latestWater(series);
    if (!known) return addFigure(figures, "Water at the base", "not known", "");
    const std::string days =
        series.standing_water_days > 0 ? counted(series.standing_water_days, "day", "days") + " in all" : "";
    const Observation& seen = known->seen;
    const bool stands = seen.standing_water.value_or(false) && seen.water_level_mm;
    addFigure(figures, "Water at the base",
              stands ? figureText(seen.water_level_mm, 0) + " mm standing" : waterWords(seen),
              joined({stands ? rangeWords(seen.water_low_mm, seen.water_high_mm, 0) : "", days,
                      whenNotLatest(series, *known)},
                     ", "));
}

}  // namespace

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
        row.set("interval", use ? rangeWords(seen.coverage_low, seen.coverage_high, 1) : "");
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

}  // namespace slipglass
