#include <algorithm>

#include "each_flag.h"
#include "run.h"
#include "slipglass/season/figures.h"

namespace slipglass {

namespace {

/// Where a cutting's roots meet those of a neighbour.
struct Meeting {
    std::string neighbour;
    const char* place = "";  ///< of it
    double mm = 0;           ///< on either side of their border
};

/// A part's place as a word to be translated.
const char* sideWord(const std::string& place)
{
    for (const char* word : {translated("left"), translated("middle"), translated("right")})
        if (place == word) return word;
    return "";
}

/// The neighbour met most; empty when the photo does not tell.
std::optional<Meeting> mostMet(const Series& series, const Observation& seen)
{
    const auto& parts = series.tub_parts.parts;
    if (!usable(seen) || !partOf(seen, series.tub_parts, series.part)) return std::nullopt;
    std::optional<Meeting> most;
    const auto take = [&](size_t neighbour, size_t border) {
        const auto mm = seen.parts[border].meets_next_mm;
        const auto& [place, across, cutting, ended_on] = parts[neighbour];
        const bool gone = ended_on && *ended_on < seen.taken.date;
        if (!mm && !gone) return;
        const double met = gone ? 0 : *mm;
        if (!most || met > most->mm) most = Meeting{cutting, sideWord(place), met};
    };
    for (size_t i = 0; i < parts.size(); ++i) {
        if (parts[i].place != series.part) continue;
        if (i > 0) take(i - 1, i - 1);
        if (i + 1 < parts.size()) take(i + 1, i);
    }
    return most;
}

constexpr const char* kSeparate = translated(
    "Look through the wall and, where roots are tangled, pot the cuttings up soon, each in its own pot: the "
    "longer they grow together, the more is torn. Part them in water, with the fingers.");

std::optional<Flag> partsMeet(const Series& series, const FlagSettings& settings)
{
    const auto run = latestRun(series, [&](const SeriesPoint& point) -> std::optional<bool> {
        const auto most = mostMet(series, point.seen);
        if (!most) return std::nullopt;
        return most->mm >= settings.crowding_root_mm;
    });
    if (!run) return std::nullopt;
    Flag flag = flagFor(series, "crowding", Severity::look_soon, *run);
    const SeriesPoint& last = *run->points.back();
    const Meeting most = *mostMet(series, last.seen);
    flag.evidence = {
        said("its roots and those of {neighbour} ({side}) are at one place, {length} or more on either "
             "side of the border between them, on {date}",
             {{"neighbour", most.neighbour},
              {"side", Text{said(most.place)}},
              {"length", Mm{most.mm}},
              {"date", dateOf(&last)}})};
    addSinceThenUnseen(flag.evidence, series, *run);
    flag.advice = {said(kSeparate)};
    return flag;
}

/// Whose roots are whose is not known: no more than a note, from a coverage at which roots lie so close that
/// those of neighbours have hardly missed each other.
std::optional<Flag> tubIsFull(const Series& series, const FlagSettings& settings)
{
    const auto run = latestRun(series, [&](const SeriesPoint& point) -> std::optional<bool> {
        if (!usable(point.seen) || !point.seen.coverage_percent) return std::nullopt;
        return point.seen.coverage_low.value_or(*point.seen.coverage_percent) >=
               settings.crowding_coverage_percent;
    });
    if (!run) return std::nullopt;
    Flag flag = flagFor(series, "crowding", Severity::note, *run);
    const SeriesPoint& last = *run->points.back();
    flag.evidence = {
        said("roots cover {percent} % of the wall that {cuttings} cuttings share, so they probably "
             "meet, on {date}",
             {{"percent", Number{*last.seen.coverage_percent}},
              {"cuttings", Number{static_cast<double>(series.cuttings_in_tub)}},
              {"date", dateOf(&last)}})};
    addSinceThenUnseen(flag.evidence, series, *run);
    flag.evidence.push_back(
        said("whose they are is not known: {why}", {{"why", Kept{series.tub_parts.shared}}}));
    flag.advice = {
        said("{advice} To have them told apart, give each cutting of the tub its position in the plan: "
             "left, middle or right.",
             {{"advice", Text{said(kSeparate)}}})};
    return flag;
}

}  // namespace

std::optional<Flag> crowding(const Series& series, const FlagSettings& settings)
{
    if (series.cuttings_in_tub < 2) return std::nullopt;
    return series.part.empty() ? tubIsFull(series, settings) : partsMeet(series, settings);
}

}  // namespace slipglass
