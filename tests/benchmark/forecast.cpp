// How good forecasts of the potting day are: later photos are held back. Prints the tables of
// docs/measured/forecasts.md. Same seed, same table.
#include <CLI/CLI.hpp>
#include <algorithm>
#include <cmath>
#include <iostream>
#include <map>

#include "forecast_table.h"
#include "invented_growth.h"
#include "slipglass/flags/flags.h"
#include "slipglass/overview/given.h"
#include "slipglass/season/series.h"

namespace {

using namespace slipglass;
using namespace slipglass::benchmark;

Series seriesOf(const PlannedCutting& cutting, const std::vector<Observation>& photos,
                const SeasonSettings& settings)
{
    Plan plan;
    plan.cuttings = {cutting};
    return buildSeries(photos, plan, settings).at(0);
}

bool isInside(const Potting& potting, Date from, std::optional<double> truth)
{
    return truth && daysBetween(from, *potting.earliest) <= *truth &&
           *truth <= daysBetween(from, *potting.latest);
}

int rootPhotos(const Series& series, const SeasonSettings& settings)
{
    return static_cast<int>(std::count_if(
        series.points.begin(), series.points.end(),
        [&](const SeriesPoint& point) { return rootsSeen(point.seen, settings).value_or(false); }));
}

/// A forecast from the photos so far; empty when the series asks for none (not struck, reached already).
std::optional<Trial> tried(const Series& series, std::optional<double> truth,
                           std::optional<double> truth_on_wall, const SeasonSettings& settings)
{
    if (series.state != StrikeState::struck || series.potting.reached_on) return std::nullopt;
    const Potting& potting = series.potting;
    Trial trial;
    trial.root_photos = rootPhotos(series, settings);
    if (trial.root_photos < 2) return std::nullopt;
    const Date from = *series.grows_from;
    trial.ahead = truth ? *truth - daysBetween(from, *series.latest_photo) : HUGE_VAL;
    trial.foretold = potting.likely.has_value();
    trial.chance = potting.chance_percent.value_or(0);
    if (!trial.foretold) return trial;
    trial.inside = isInside(potting, from, truth);
    trial.inside_on_wall = isInside(potting, from, truth_on_wall);
    if (truth) trial.error = std::abs(daysBetween(from, *potting.likely) - *truth);
    trial.width = daysBetween(*potting.earliest, *potting.latest);
    return trial;
}

void invented(int cuttings, unsigned seed, const SeasonSettings& settings)
{
    boost::random::mt19937_64 lots(seed);
    std::map<std::string, std::vector<Trial>> by_photos, by_course, by_ahead;
    std::vector<Trial> all;
    for (const Course course : kCourses) {
        for (int i = 0; i < cuttings; ++i) {
            const InventedCutting cutting =
                invent(course, lots, settings.potting_coverage_percent, settings.potting_length_mm);
            for (size_t photos = 3; photos <= cutting.photos.size(); ++photos) {
                const std::vector<Observation> so_far(cutting.photos.begin(),
                                                      cutting.photos.begin() + static_cast<long>(photos));
                const auto trial = tried(seriesOf(cutting.plan, so_far, settings), cutting.crosses,
                                         cutting.crosses_on_wall, settings);
                if (!trial) continue;
                all.push_back(*trial);
                by_photos[photosText(trial->root_photos)].push_back(*trial);
                by_course[courseText(course)].push_back(*trial);
                by_ahead[aheadText(trial->ahead)].push_back(*trial);
            }
        }
    }
    std::cout << "\n## Invented growth: " << cuttings << " cuttings of each course, seed " << seed << "\n";
    printHeader("photos with roots");
    for (const auto& [name, trials] : by_photos) printRow(name, trials);
    printRow("all", all);
    printHeader("course of growth");
    for (const Course course : kCourses) printRow(courseText(course), by_course[courseText(course)]);
    printHeader("days ahead");
    for (const auto& [name, trials] : by_ahead) printRow(name, trials);
    printChances(all);
}

/// Coverage 14 days or more before the nth photo, as longBefore of the flag has it; 0 where there is none.
double shownBefore(const InventedCutting& cutting, size_t nth, const Series& series)
{
    double before = 0;
    for (size_t i = 0; i < nth; ++i) {
        const Date date = cutting.photos[i].taken.date;
        if (date >= series.struck->by &&
            daysBetween(date, cutting.photos[nth].taken.date) >= FlagSettings{}.stalled_days)
            before = cutting.shown[i];
    }
    return before;
}

/// Classes of a rise of coverage, each up to its limit.
constexpr std::array<std::pair<double, const char*>, 5> kRises{{{0.02, "less than 2 %"},
                                                                {0.1, "2 to 10 %"},
                                                                {0.25, "10 to 25 %"},
                                                                {0.5, "25 to 50 %"},
                                                                {HUGE_VAL, "more than 50 %"}}};

size_t riseClass(double rise)
{
    size_t nth = 0;
    while (rise >= kRises[nth].first) ++nth;
    return nth;
}

/// How often `stalled` is raised, by how much coverage truly rose in the time that the flag looks at.
void stalls(int cuttings, unsigned seed, const SeasonSettings& settings)
{
    boost::random::mt19937_64 lots(seed);
    std::array<std::pair<int, int>, kRises.size()> raised{};  // of how many
    for (const Course course : kCourses) {
        for (int i = 0; i < cuttings; ++i) {
            const InventedCutting cutting =
                invent(course, lots, settings.potting_coverage_percent, settings.potting_length_mm);
            for (size_t nth = 1; nth < cutting.photos.size(); ++nth) {
                const std::vector<Observation> so_far(cutting.photos.begin(),
                                                      cutting.photos.begin() + static_cast<long>(nth) + 1);
                const Series series = seriesOf(cutting.plan, so_far, settings);
                if (!series.struck || series.potting.reached_on) continue;
                const double before = shownBefore(cutting, nth, series);
                if (before <= 0) continue;
                auto& [flagged, of] = raised[riseClass(cutting.shown[nth] / before - 1)];
                ++of;
                for (const Flag& flag : findFlags({series}, FlagSettings{}))
                    if (flag.name == "stalled" && flag.holds) ++flagged;
            }
        }
    }
    std::cout << "\n## `stalled`\n\n| coverage truly rose in the 14 days and more by | photos | raised "
                 "|\n|---|---|---|\n";
    for (size_t i = 0; i < raised.size(); ++i) {
        const auto& [flagged, of] = raised[i];
        std::cout << "| " << kRises[i].second << " | " << of << " | "
                  << (of > 0 ? std::to_string(100 * flagged / of) + " %" : "-") << " |\n";
    }
}

/// The day on which measured coverage passes, between two photos in proportion.
std::optional<double> measuredCrossing(const Series& series, double threshold)
{
    std::optional<std::pair<double, double>> before;
    for (const auto& point : series.points) {
        if (!usable(point.seen) || !point.seen.coverage_percent) continue;
        const double day = daysBetween(*series.grows_from, point.seen.taken.date);
        const double percent = *point.seen.coverage_percent;
        if (percent >= threshold)
            return before ? before->first + (day - before->first) * (threshold - before->second) /
                                                (percent - before->second)
                          : day;
        before = {day, percent};
    }
    return std::nullopt;
}

void ofSeason(const std::string& folder, SeasonSettings settings)
{
    const SeasonReport season = readSeason(folder);
    std::map<std::string, std::vector<Trial>> by_photos;
    std::vector<Trial> all;
    settings.potting_length_mm = 1;  // coverage alone, or too few tubs ever get there
    for (const double threshold : {1.0, 2.0, 3.0, 4.0}) {
        settings.potting_coverage_percent = threshold;
        for (const Series& series : season.series) {
            const auto truth = series.points.empty() ? std::nullopt : measuredCrossing(series, threshold);
            if (!truth) continue;
            for (size_t photos = 3; photos < series.points.size(); ++photos) {
                std::vector<Observation> so_far;
                for (size_t i = 0; i < photos; ++i) so_far.push_back(series.points[i].seen);
                const auto trial = tried(seriesOf(series.cutting, so_far, settings), truth, truth, settings);
                if (!trial || trial->ahead <= 0) continue;
                by_photos[photosText(trial->root_photos)].push_back(*trial);
                all.push_back(*trial);
            }
        }
    }
    std::cout << "\n## " << folder << ": coverage of 1, 2, 3 and 4 %, later photos held back\n";
    printHeader("photos with roots");
    for (const auto& [name, trials] : by_photos) printRow(name, trials);
    printRow("all", all);
}

}  // namespace

int main(int argc, char** argv)
try {
    int cuttings = 60;
    unsigned seed = 20261125;
    std::string folder;
    CLI::App app("How good forecasts of the potting day are.");
    app.add_option("--cuttings", cuttings, "Invented cuttings of each course of growth")
        ->capture_default_str();
    app.add_option("--seed", seed, "Of the lots drawn")->capture_default_str();
    app.add_option("--season", folder, "A season measured by slipglass, to try it on as well");
    CLI11_PARSE(app, argc, argv);
    invented(cuttings, seed, SeasonSettings{});
    stalls(cuttings, seed, SeasonSettings{});
    if (!folder.empty()) ofSeason(folder, SeasonSettings{});
    return 0;
} catch (const std::exception& problem) {
    std::cerr << problem.what() << "\n";
    return 1;
}
