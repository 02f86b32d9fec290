#include "slipglass/season/forecast.h"

#include <algorithm>
#include <cmath>

#include "slipglass/season/worked_out.h"

namespace slipglass {

namespace {

// The courses that are weighed. All ranges are guesses of what cuttings do, wide on purpose; the threshold is
// the natural unit. What was tried was tried on invented growth (tests/benchmark/forecast.cpp), never on the
// samples.
constexpr double kLeastUpper = 1 / 20.0, kMostUpper = 6.0;  // where growth ends, in thresholds
constexpr int kUppers = 100;
constexpr double kFastestDoubling = 2.0, kSlowestDoubling = 25.0;  // days
constexpr int kRates = 20;
constexpr double kStepDays = 1.5;  // of the day of fastest growth, or the first of a line
constexpr double kDaysBefore = 20.0, kDaysAhead = 60.0;     // that this day may lie outside the photos
constexpr double kFastestLine = 3.0, kSlowestLine = 300.0;  // days a straight line takes to the threshold

/// How likely a straight line is beside a logistic or a Gompertz curve before any photo is seen. Growth
/// behind a wall comes to an end, which a line does not know; with 1 the chances given were far too hopeful.
constexpr double kLineLikely = 0.25;

// How far the standard errors of the photos are believed: as if their size was known from so many photos.
// Photos of one tub err alike, and growth keeps to no curve exactly, so each photo counts for less than one;
// with 1 intervals were too narrow.
constexpr double kErrorPhotos = 4.0, kPhotoCounts = 0.7;

constexpr double kNegligible = 10.0;  // a course less likely by exp of this is left out

/// A course of growth that was weighed.
struct Course {
    double log_weight = 0, crosses = 0;  ///< infinite: never
};

/// Steps from `low` to `high` in equal ratios.
std::vector<double> ratios(double low, double high, int steps)
{
    std::vector<double> values;
    values.reserve(static_cast<size_t>(steps));
    for (int i = 0; i < steps; ++i) values.push_back(low * std::pow(high / low, i / (steps - 1.0)));
    return values;
}

/// Weighs courses against photos and keeps those that matter.
class Scales {
public:
    Scales(const std::vector<GrowthPoint>& points, int roots_seen, double threshold)
        : points_(points), threshold_(threshold), power_((kPhotoCounts * roots_seen + kErrorPhotos) / 2)
    {
    }

    /// All sizes of one shape of course. `shape` gives its height at a day for size 1, `crosses` the day of
    /// crossing for a size.
    template <class Shape, class Crosses>
    void weigh(const std::vector<double>& sizes, double log_prior, const Shape& shape, const Crosses& crosses)
    {
        double yy = 0, yg = 0, gg = 0;  // sums of squares, from which any size's misfit follows
        for (const auto& point : points_) {
            const double y = point.value / point.sd, g = shape(point.day) / point.sd;
            yy += y * y;
            yg += y * g;
            gg += g * g;
        }
        // Most shapes fit at no size: their least misfit says so at once.
        const double most_misfit = kErrorPhotos * std::expm1((log_prior - best_ + kNegligible) / power_);
        if (gg <= 0 || yy - yg * yg / gg > most_misfit) return;
        for (const double size : sizes) {
            const double misfit = std::max(0.0, yy - 2 * size * yg + size * size * gg);
            if (misfit > most_misfit) continue;
            const double log_weight = log_prior - power_ * std::log1p(misfit / kErrorPhotos);
            if (log_weight < best_ - kNegligible) continue;
            best_ = std::max(best_, log_weight);
            courses_.push_back({log_weight, crosses(size)});
        }
    }

    /// Of the courses that cross before `horizon`.
    Crossing crossing(double horizon)
    {
        const auto weight = [&](const Course& course) { return std::exp(course.log_weight - best_); };
        double all = 0;
        for (const auto& course : courses_) all += weight(course);
        std::erase_if(courses_, [&](const Course& course) { return course.crosses > horizon; });
        std::sort(courses_.begin(), courses_.end(),
                  [](const Course& a, const Course& b) { return a.crosses < b.crosses; });
        double crossing = 0;
        for (const auto& course : courses_) crossing += weight(course);
        Crossing days;
        days.chance = crossing / all;
        double so_far = 0;
        for (const auto& course : courses_) {
            if (so_far < 0.1 * crossing) days.earliest = course.crosses;
            if (so_far < 0.5 * crossing) days.likely = course.crosses;
            if (so_far < 0.9 * crossing) days.latest = course.crosses;
            so_far += weight(course);
        }
        return days;
    }

    double threshold() const { return threshold_; }

private:
    const std::vector<GrowthPoint>& points_;
    double threshold_, power_;
    double best_ = -HUGE_VAL;
    std::vector<Course> courses_;
};

std::vector<double> startDays(const std::vector<GrowthPoint>& points, double ahead)
{
    const double first = points.front().day - kDaysBefore;
    const int steps = static_cast<int>((points.back().day + ahead - first) / kStepDays);
    std::vector<double> days;
    days.reserve(static_cast<size_t>(steps) + 1);
    for (int i = 0; i <= steps; ++i) days.push_back(first + i * kStepDays);
    return days;
}

void weighSigmoids(Scales& scales, const std::vector<double>& middles)
{
    const double threshold = scales.threshold();
    const auto uppers = ratios(kLeastUpper * threshold, kMostUpper * threshold, kUppers);
    const auto rates = ratios(std::log(2.0) / kSlowestDoubling, std::log(2.0) / kFastestDoubling, kRates);
    const double log_prior = -std::log(static_cast<double>(middles.size() * rates.size() * uppers.size()));
    const auto never = [&](double upper) { return upper <= threshold; };
    for (const double middle : middles) {
        for (const double rate : rates) {
            scales.weigh(
                uppers, log_prior, [&](double day) { return 1 / (1 + std::exp(-rate * (day - middle))); },
                [&](double upper) {
                    return never(upper) ? HUGE_VAL : middle - std::log(upper / threshold - 1) / rate;
                });
            scales.weigh(
                uppers, log_prior, [&](double day) { return std::exp(-std::exp(-rate * (day - middle))); },
                [&](double upper) {
                    return never(upper) ? HUGE_VAL : middle - std::log(std::log(upper / threshold)) / rate;
                });
        }
    }
}

void weighLines(Scales& scales, const std::vector<double>& starts)
{
    const double threshold = scales.threshold();
    const auto slopes = ratios(threshold / kSlowestLine, threshold / kFastestLine, kUppers);
    const double log_prior = std::log(kLineLikely / static_cast<double>(starts.size() * slopes.size()));
    for (const double start : starts)
        scales.weigh(
            slopes, log_prior, [&](double day) { return std::max(0.0, day - start); },
            [&](double slope) { return start + threshold / slope; });
}

Crossing weighed(const std::vector<GrowthPoint>& points, int roots_seen, double threshold)
{
    Scales scales(points, roots_seen, threshold);
    weighSigmoids(scales, startDays(points, kDaysAhead));
    weighLines(scales, startDays(points, 0));
    return scales.crossing(points.back().day + kForecastDays);
}

/// Raise it by one when the code, or a number above, gives other days from the same photos.
constexpr double kReckoning = 1001;

}  // namespace

Crossing whenCrossed(const std::vector<GrowthPoint>& points, int roots_seen, double threshold)
{
    WorkedOut::Numbers from{kReckoning, static_cast<double>(roots_seen), threshold};
    for (const GrowthPoint& point : points) from.insert(from.end(), {point.day, point.value, point.sd});
    const auto reckon = [&] {
        const Crossing crossing = weighed(points, roots_seen, threshold);
        return WorkedOut::Numbers{crossing.earliest, crossing.likely, crossing.latest, crossing.chance};
    };
    WorkedOut::Numbers days = workedOut().of(from, reckon);
    // What a season file has kept may come from anyone.
    constexpr double kNoDay = 1e5;
    const auto may_be = [](double day) { return std::abs(day) < kNoDay; };
    if (days.size() != 4 || !std::all_of(days.begin(), days.end(), may_be)) days = reckon();
    return {days[0], days[1], days[2], days[3]};
}

}  // namespace slipglass
