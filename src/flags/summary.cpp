#include <algorithm>
#include <map>
#include <set>

#include "slipglass/flags/flags.h"
#include "slipglass/season/figures.h"

namespace slipglass {

namespace {

constexpr size_t kColumns = 80;
// Places after all flags.
constexpr size_t kNoPhoto = SIZE_MAX - 1, kFine = SIZE_MAX;

/// Ids come from file names and labels: whatever a terminal would obey is replaced, so that no id can play
/// with it.
std::string printable(std::string text)
{
    for (char& c : text)
        if (static_cast<unsigned char>(c) < 0x20 || c == 0x7f) c = '?';
    return text;
}

/// Characters, by counting the bytes that do not continue one in UTF-8: near enough for lining up columns.
size_t width(const std::string& text)
{
    return static_cast<size_t>(std::count_if(
        text.begin(), text.end(), [](char c) { return (static_cast<unsigned char>(c) & 0xC0U) != 0x80U; }));
}

std::string padded(const std::string& text, size_t to)
{
    const size_t now = width(text);
    return now < to ? text + std::string(to - now, ' ') : text;
}

/// One tub's line, before it is padded.
struct Line {
    std::string tub;
    size_t urgency;  ///< place of its first flag among all flags
    std::string call, flags;
    std::vector<std::string> figures;  ///< most telling first
};

std::vector<std::string> figuresOf(const Series& series)
{
    std::vector<std::string> parts;
    const auto* water = latestKnown(series, &Observation::water_level_mm);
    if (water && water->seen.standing_water.value_or(false))
        parts.push_back("water " + figureText(water->seen.water_level_mm, 0) + " mm");
    if (const auto* coverage = latestKnown(series, &Observation::coverage_percent))
        parts.push_back("roots " + figureText(coverage->seen.coverage_percent, 1) + " %" +
                        (series.part.empty() ? "" : " " + series.part));
    if (const auto* length = latestKnown(series, &Observation::root_length_mm))
        parts.push_back("length " + figureText(length->seen.root_length_mm, 0) + " mm");
    if (series.days_since_stuck) parts.push_back("day " + std::to_string(*series.days_since_stuck));
    return parts;
}

std::string flagText(const Flag& flag)
{
    return flag.name + " since " + isoDate(flag.date);
}

Line quietLine(const Series& series)
{
    Line line{series.cutting.tub, kFine, "fine", "", figuresOf(series)};
    if (series.points.empty()) {
        line.urgency = kNoPhoto;
        line.call = severityText(Severity::note);
        line.flags = "no photo yet";
    } else if (series.ended_on) {
        line.flags = (series.ended_on == series.potted_up_on ? "potted up on " : "given up on ") +
                     isoDate(*series.ended_on);
    } else if (series.ended_on) {
        line.flags = (series.ended_on == series.potted_up_on ? "potted up on " : "given up on ") +
                     isoDate(*series.ended_on);
    } else if (series.struck) {
        line.flags = "struck by " + isoDate(series.struck->by);
    } else {
        line.flags = "nothing to do";
    }
    return line;
}

/// The flags that hold for a tub, each named once, the most urgent with its date.
void addFlag(Line& line, const Flag& flag, size_t urgency)
{
    if (line.urgency >= kNoPhoto) {
        line.urgency = urgency;
        line.call = severityText(flag.severity);
        line.flags = flagText(flag);
    } else if (flag.name != "standing-water" && line.flags.find(flag.name) == std::string::npos) {
        // (a waterlogged tub has standing water: nothing new)
        line.flags += ", " + flag.name;
    }
}

std::vector<Line> linesByUrgency(const std::vector<Series>& series, const std::vector<Flag>& flags)
{
    std::vector<Line> lines;
    std::map<std::string, size_t> line_of_tub;
    std::map<std::string, const Series*> tells;  // of several cuttings the first that is still in the tub
    for (const auto& one : series) {
        const Series*& of_tub = tells[one.cutting.tub];
        if (!of_tub || (of_tub->ended_on && !one.ended_on)) of_tub = &one;
    }
    for (const auto& one : series)
        if (line_of_tub.emplace(one.cutting.tub, lines.size()).second)
            lines.push_back(quietLine(*tells[one.cutting.tub]));
    for (size_t i = 0; i < flags.size(); ++i) {
        const auto line = line_of_tub.find(flags[i].tub);
        if (flags[i].holds && line != line_of_tub.end()) addFlag(lines[line->second], flags[i], i);
    }
    std::stable_sort(lines.begin(), lines.end(),
                     [](const Line& a, const Line& b) { return a.urgency < b.urgency; });
    return lines;
}

}  // namespace

std::vector<std::string> tubSummaryLines(const std::vector<Series>& series, const std::vector<Flag>& flags)
{
    const std::vector<Line> lines = linesByUrgency(series, flags);
    size_t tub_width = 0;
    for (const auto& line : lines) tub_width = std::max(tub_width, width(printable(line.tub)));

    std::vector<std::string> texts;
    for (const auto& line : lines) {
        std::string text =
            padded(printable(line.tub), tub_width) + "  " + padded(line.call, 9) + "  " + line.flags;
        const char* between = "; ";
        for (const auto& figure : line.figures) {
            if (width(text) + 2 + width(figure) > kColumns) break;
            text += between + figure;
            between = ", ";
        }
        texts.push_back(std::move(text));
    }
    return texts;
}

}  // namespace slipglass
