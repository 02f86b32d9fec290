#include "invented_growth.h"

#include <algorithm>
#include <boost/random/normal_distribution.hpp>
#include <boost/random/uniform_real_distribution.hpp>
#include <cmath>

#include "slipglass/coverage_interval.h"

namespace slipglass::benchmark {

namespace {

using Lots = boost::random::mt19937_64;

double even(Lots& lots, double low, double high)
{
    return boost::random::uniform_real_distribution<double>(low, high)(lots);
}

double evenRatio(Lots& lots, double low, double high)
{
    return std::exp(even(lots, std::log(low), std::log(high)));
}

double normal(Lots& lots, double sd)
{
    return boost::random::normal_distribution<double>(0, sd)(lots);
}

constexpr double kFirstSeen = 0.2;  // coverage on the day roots reach the wall, percent
constexpr int kYear = 365;

/// Coverage of the wall day by day. Nobody knows how real cuttings grow behind a wall; the ranges are wide
/// guesses.
struct Growing {
    Course course;
    double start, upper, doubling, bend;
    double pause_from, pause_days;

    /// Growth days since the start that a course of one shape takes to its coverage.
    double at(double days) const
    {
        const double early = std::log(2.0) / doubling;  // relative growth rate at the start
        if (course == Course::gompertz) {
            const double depth = std::log(upper / kFirstSeen);
            return upper * std::exp(-depth * std::exp(-early / depth * days));
        }
        const double power = course == Course::richards ? bend : 1;
        const double q = std::pow(upper / kFirstSeen, power) - 1;
        return upper / std::pow(1 + q * std::exp(-early * power * days), 1 / power);
    }
};

Growing drawGrowing(Course course, Lots& lots)
{
    Growing growing{};
    growing.course = course;
    growing.start = even(lots, 12, 35);
    growing.upper = evenRatio(lots, 1.5, 20);
    growing.doubling = evenRatio(lots, 2.0, 8);
    growing.bend = evenRatio(lots, 0.3, 3);
    growing.pause_from = growing.start + even(lots, 5, 30);
    growing.pause_days = course == Course::pausing    ? even(lots, 10, 21)
                         : course == Course::stopping ? kYear
                                                      : 0;
    return growing;
}

/// No root grows evenly: warmer and colder weeks speed growth up and slow it down by about a quarter.
std::vector<double> wallCoverage(const Growing& growing, Lots& lots)
{
    std::vector<double> coverage;
    double grown = 0, speed = 1;
    for (int day = 0; day <= kYear; ++day) {
        if (day % 7 == 0) speed = std::exp(normal(lots, 0.25));
        const bool pauses = day >= growing.pause_from && day < growing.pause_from + growing.pause_days;
        if (day >= growing.start && !pauses) grown += speed;
        coverage.push_back(day < growing.start ? 0 : growing.at(grown));
    }
    return coverage;
}

std::optional<double> firstPast(const std::vector<double>& coverage, double threshold)
{
    for (size_t day = 1; day < coverage.size(); ++day) {
        if (coverage[day] < threshold) continue;
        const double rise = coverage[day] - coverage[day - 1];
        return static_cast<double>(day) - (coverage[day] - threshold) / rise;
    }
    return std::nullopt;
}

std::optional<double> later(std::optional<double> a, std::optional<double> b)
{
    return a && b ? std::optional<double>(std::max(*a, *b)) : std::nullopt;
}

/// What photos make of the wall. Measured on the sample renderings (docs/measured/forecasts.md): a tub's
/// coverage is shown too high or low by some 15 % on all its photos alike, and from photo to photo by some 4
/// % more (here 5). The 90 % interval is that of three photos and more read together.
struct Camera {
    double coverage_gain, length_per_percent;

    Observation photo(int day, double coverage, Lots& lots) const
    {
        Observation seen;
        seen.tub = "T";
        seen.photo = std::to_string(day);
        seen.taken.date =
            Date{std::chrono::sys_days{std::chrono::year{2026} / 1 / 1} + std::chrono::days{day}};
        seen.state = State::measured;
        const double shown = coverage_gain * coverage;
        const double percent = std::max(0.0, shown + normal(lots, 0.03 + 0.05 * shown));
        seen.coverage_percent = percent;
        const CoverageInterval interval = coverageInterval(percent, 3, State::measured);
        seen.coverage_low = interval.low;
        seen.coverage_high = interval.high;
        const double length = length_per_percent * coverage;
        seen.root_length_mm = std::max(0.0, length + normal(lots, 3 + 0.05 * length));
        seen.deepest_root_mm = 3;
        return seen;
    }
};

}  // namespace

const char* courseText(Course course)
{
    switch (course) {
        case Course::logistic:
            return "logistic";
        case Course::gompertz:
            return "Gompertz";
        case Course::richards:
            return "Richards";
        case Course::pausing:
            return "pauses 10 to 21 days";
        case Course::stopping:
            break;
    }
    return "stops for good";
}

InventedCutting invent(Course course, Lots& lots, double coverage, double length)
{
    InventedCutting cutting;
    cutting.course = course;
    cutting.plan.tub = std::string("T");
    cutting.plan.cutting = cutting.plan.tub;
    cutting.plan.stuck_on = Date{std::chrono::year{2026} / 1 / 1};
    const std::vector<double> wall = wallCoverage(drawGrowing(course, lots), lots);
    const double true_length = evenRatio(lots, 70, 140);  // mm for a percent of a quart tub's wall
    const Camera camera{std::max(0.4, 1 + normal(lots, 0.15)),
                        true_length * std::max(0.4, 0.85 + normal(lots, 0.12))};
    for (double day = even(lots, 0, 3); day <= 98; day += even(lots, 6, 8.5))
        if (even(lots, 0, 1) < 0.92) {  // a week is missed now and then
            const double coverage_now = wall[static_cast<size_t>(day)];
            cutting.photos.push_back(camera.photo(static_cast<int>(day), coverage_now, lots));
            cutting.shown.push_back(camera.coverage_gain * coverage_now);
        }
    cutting.crosses = later(firstPast(wall, coverage / camera.coverage_gain),
                            firstPast(wall, length / camera.length_per_percent));
    cutting.crosses_on_wall = later(firstPast(wall, coverage), firstPast(wall, length / true_length));
    return cutting;
}

}  // namespace slipglass::benchmark
