#include <algorithm>
#include <cmath>

#include "cutting_parts.h"
#include "plain_words.h"
#include "slipglass/report/writers.h"
#include "slipglass/season/figures.h"

namespace slipglass {

namespace {

/// @param size  of it, with its unit; all zeros where nothing changed.
std::string perDay(double change, const std::string& size, const Words& words)
{
    if (size.find_first_of("123456789") == std::string::npos)
        return words("unchanged since the photo before");
    return change > 0 ? words("{change} more each day", {{"change", size}})
                      : words("{change} less each day", {{"change", size}});
}

std::string likely(const std::string& range, const Words& words)
{
    return range.empty() ? "" : words("likely {range}", {{"range", range}});
}

void addFigure(PageData& figures, const std::string& what, const std::string& value, const std::string& more)
{
    PageData figure;
    figure.set("what", what);
    figure.set("value", value);
    figure.set("more", more);
    figures.push_back(figure);
}

void addRootFigures(PageData& figures, const Series& series, const SeasonSettings& settings,
                    const Words& words)
{
    const auto* covered = latestKnown(series, &Observation::coverage_percent);
    if (!covered) {
        addFigure(figures, words("Roots cover"), words("not known"), "");
    } else {
        const bool seen = rootsSeen(covered->seen, settings).value_or(false);
        const std::string percent = words.number(covered->seen.coverage_percent, 1) + " %";
        const std::string range =
            rangeWords(covered->seen.coverage_low, covered->seen.coverage_high, 1, words);
        const auto& change = covered->coverage_percent_per_day;
        addFigure(
            figures, words("Roots cover"), seen ? percent : words("none seen"),
            joined(
                {seen ? words("of the wall") : "", seen && !range.empty() ? likely(range + " %", words) : "",
                 seen && change ? perDay(*change, words.number(std::abs(*change), 2) + " %", words) : "",
                 seen && covered->seen.photos_read == 1
                     ? words("straw and fibres may be among them until there is a second photo of this side")
                     : "",
                 whenNotLatest(series, *covered, words)},
                ", "));
    }
    const auto* length = latestKnown(series, &Observation::root_length_mm);
    if (!length)
        return addFigure(figures, words("Root length"), words("not known"),
                         words("needs a label or a tub type"));
    const bool seen = rootsSeen(length->seen, settings) != false;
    const auto& change = length->root_length_mm_per_day;
    addFigure(figures, words("Root length"), lengthWords(length->seen, settings, words),
              joined({seen && change ? perDay(*change, words.length(std::abs(*change), 1), words) : "",
                      whenNotLatest(series, *length, words)},
                     ", "));
}

void addWaterFigure(PageData& figures, const Series& series, const Words& words)
{
    const SeriesPoint* known = latestWater(series);
    if (!known) return addFigure(figures, words("Water at the base"), words("not known"), "");
    const std::string days =
        series.standing_water_days > 0
            ? words.numbered(series.standing_water_days, "{n} day in all", "{n} days in all")
            : "";
    const Observation& seen = known->seen;
    const bool stands = seen.standing_water.value_or(false) && seen.water_level_mm;
    addFigure(
        figures, words("Water at the base"),
        stands ? words("{level} standing", {{"level", Mm{*seen.water_level_mm}}}) : waterWords(seen, words),
        joined(
            {stands ? likely(lengthRangeWords(seen.water_low_mm, seen.water_high_mm, 0, words), words) : "",
             days, whenNotLatest(series, *known, words)},
            ", "));
}

}  // namespace

PageData figuresOf(const Series& series, const SeasonSettings& settings, const Words& words)
{
    PageData figures = emptyList();
    if (series.points.empty()) return figures;
    addRootFigures(figures, series, settings, words);
    addWaterFigure(figures, series, words);
    if (const auto* wet = latestKnown(series, &Observation::wetness))
        addFigure(
            figures, words("Medium looks"), wetnessWord(wet->seen, words),
            joined({words("{wetness} from 0, dry, to 1, wet", {{"wetness", Number{*wet->seen.wetness, 2}}}),
                    whenNotLatest(series, *wet, words)},
                   ", "));
    const auto* browned = latestKnown(series, &Observation::browned_percent);
    if (browned && rootsSeen(browned->seen, settings) != false)
        addFigure(figures, words("Browned"), words.number(browned->seen.browned_percent, 0) + " %",
                  joined({words("of the roots"), whenNotLatest(series, *browned, words)}, ", "));
    const std::string age = ageWords(series, words);
    if (!age.empty()) addFigure(figures, words("In the medium"), age, words("at the latest photo"));
    return figures;
}

PageData rowsOf(const Series& series, const SeasonSettings& settings, const Words& words)
{
    PageData rows = emptyList();
    for (const SeriesPoint& point : series.points) {
        const Observation& seen = point.seen;
        PageData row;
        row.set("iso", isoDate(seen.taken.date));
        row.set("day", words.day(seen.taken.date));
        row.set("age", point.days_since_stuck ? std::to_string(*point.days_since_stuck) : "");
        const bool use = usable(seen);
        // Of roots that are none nothing is told.
        const bool none = use && rootsSeen(seen, settings) == false;
        const auto ofRoots = [&](std::optional<double> value, const std::string& figure) {
            return !use || !value ? "" : none ? "-" : figure;
        };
        row.set("coverage", use && seen.coverage_percent ? coverageWords(seen, settings, words) : "");
        row.set("length", use && seen.root_length_mm ? lengthWords(seen, settings, words) : "");
        row.set("water", use && seen.water_level_mm ? words.length(*seen.water_level_mm, 1) : "");
        row.set("wetness", use && seen.wetness ? wetnessWords(seen, words) : "");
        row.set("browned", ofRoots(seen.browned_percent, words.number(seen.browned_percent, 0) + " %"));
        row.set("gained", ofRoots(seen.gained_root_mm, words.length(seen.gained_root_mm.value_or(0), 0)));
        row.set("state", seen.state == State::measured  ? words("measured")
                         : seen.state == State::caution ? words("with caution")
                                                        : words("take it again"));
        row.set("line", validUtf8(captionOf(point, settings, words)));
        const std::string notes = keptWords(seen.notes, words);
        row.set("notes", notes.empty() ? PageData{false} : PageData{validUtf8(notes)});
        rows.push_back(row);
    }
    return rows;
}

}  // namespace slipglass
