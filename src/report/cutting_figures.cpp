#include <algorithm>
#include <cmath>

#include "cutting_parts.h"
#include "plain_words.h"
#include "slipglass/report/writers.h"
#include "slipglass/season/figures.h"

namespace slipglass {

namespace {

std::string perDay(std::optional<double> change, int decimals, const char* unit)
{
    if (!change) return {};
    const std::string text = figureText(std::abs(*change), decimals);
    if (text == figureText(0, decimals)) return "unchanged since the photo before";
    return text + unit + (*change > 0 ? " more" : " less") + " each day";
}

std::string likely(const std::string& range, const char* unit)
{
    return range.empty() ? "" : "likely " + range + unit;
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
            joined(
                {seen ? "of the wall" : "",
                 seen ? likely(rangeWords(covered->seen.coverage_low, covered->seen.coverage_high, 1), " %")
                      : "",
                 seen ? perDay(covered->coverage_percent_per_day, 2, " %") : "",
                 seen && covered->seen.photos_read == 1
                     ? "straw and fibres may be among them until there is a second photo of this side"
                     : "",
                 whenNotLatest(series, *covered)},
                ", "));
    }
    const auto* length = latestKnown(series, &Observation::root_length_mm);
    if (!length) return addFigure(figures, "Root length", "not known", "needs a label or a tub type");
    const bool seen = rootsSeen(length->seen, settings) != false;
    addFigure(
        figures, "Root length", lengthWords(length->seen, settings),
        joined({seen ? perDay(length->root_length_mm_per_day, 1, " mm") : "", whenNotLatest(series, *length)},
               ", "));
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
              joined({stands ? likely(rangeWords(seen.water_low_mm, seen.water_high_mm, 0), " mm") : "", days,
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
        addFigure(figures, "Medium looks", wetnessWord(wet->seen),
                  joined({figureText(wet->seen.wetness, 2) + " from 0, dry, to 1, wet",
                          whenNotLatest(series, *wet)},
                         ", "));
    const auto* browned = latestKnown(series, &Observation::browned_percent);
    if (browned && rootsSeen(browned->seen, settings) != false)
        addFigure(figures, "Browned", figureText(browned->seen.browned_percent, 0) + " %",
                  joined({"of the roots", whenNotLatest(series, *browned)}, ", "));
    const std::string age = ageWords(series);
    if (!age.empty()) addFigure(figures, "In the medium", age, "at the latest photo");
    return figures;
}

PageData rowsOf(const Series& series, const SeasonSettings& settings)
{
    PageData rows = emptyList();
    for (const SeriesPoint& point : series.points) {
        const Observation& seen = point.seen;
        PageData row;
        row.set("iso", isoDate(seen.taken.date));
        row.set("day", dayWords(seen.taken.date));
        row.set("age", point.days_since_stuck ? std::to_string(*point.days_since_stuck) : "");
        const bool use = usable(seen);
        const auto figure = [&](std::optional<double> value, int decimals, const char* unit) {
            return use && value ? figureText(value, decimals) + unit : std::string();
        };
        // Of roots that are none nothing is told.
        const bool none = use && rootsSeen(seen, settings) == false;
        const auto ofRoots = [&](std::optional<double> value, const char* unit) {
            return none && value ? "-" : figure(value, 0, unit);
        };
        row.set("coverage", use && seen.coverage_percent ? coverageWords(seen, settings) : "");
        row.set("length", use && seen.root_length_mm ? lengthWords(seen, settings) : "");
        row.set("water", figure(seen.water_level_mm, 1, " mm"));
        row.set("wetness", use && seen.wetness ? wetnessWords(seen) : "");
        row.set("browned", ofRoots(seen.browned_percent, " %"));
        row.set("gained", ofRoots(seen.gained_root_mm, " mm"));
        row.set("state", seen.state == State::measured  ? "measured"
                         : seen.state == State::caution ? "with caution"
                                                        : "take it again");
        row.set("line", validUtf8(captionOf(point, settings)));
        const std::string notes = joined(seen.notes, "; ");
        row.set("notes", notes.empty() ? PageData{false} : PageData{validUtf8(notes)});
        rows.push_back(row);
    }
    return rows;
}

}  // namespace slipglass
