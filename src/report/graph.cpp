#include <plplot.h>

#include <unistd.h>
#include <algorithm>
#include <array>
#include <cmath>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <mutex>

#include "slipglass/error.h"
#include "slipglass/report/writers.h"
#include "slipglass/season/figures.h"

namespace slipglass {

namespace {

using FigureMember = std::optional<double> Observation::*;

/// A figure in one place of time, with its interval where there is one.
struct GraphPoint {
    double day;  ///< since the graph's first day
    double value, low, high;
};

/// One of the three graphs above each other.
struct Strip {
    const char* title;
    const char* if_unknown;
    FigureMember value, low, high;
    double least_top;    ///< the axis reaches at least so high, so that noise does not look like growth
    PLINT colour, pale;  ///< of the line and of the interval
};

enum Colour : PLINT { kPaper = 0, kInk, kGrid, kRoot, kRootPale, kLength, kWater, kWaterPale, kLimit };
struct Rgb {
    PLINT r, g, b;
};
constexpr std::array<Rgb, 9> kPalette{{{255, 255, 255},
                                       {51, 51, 46},
                                       {222, 222, 212},
                                       {146, 74, 22},
                                       {243, 221, 200},
                                       {92, 84, 20},
                                       {12, 100, 132},
                                       {204, 228, 238},
                                       {120, 120, 112}}};

constexpr std::array<Strip, 3> kStrips{{
    {"Roots cover, % of the wall", "not measured yet", &Observation::coverage_percent,
     &Observation::coverage_low, &Observation::coverage_high, 1.0, kRoot, kRootPale},
    {"Root length seen, mm", "not known: needs a label or a tub type", &Observation::root_length_mm, nullptr,
     nullptr, 20.0, kLength, kRootPale},
    {"Water standing at the base, mm", "not known: needs a label or a tub type", &Observation::water_level_mm,
     &Observation::water_low_mm, &Observation::water_high_mm, 5.0, kWater, kWaterPale},
}};

constexpr int kWidth = 480, kHeight = 600;  // narrow, so that its letters stay large on a phone
constexpr double kLeft = 0.12, kRight = 0.96, kTop = 0.94, kStripHeight = 0.235, kStripStep = 0.31;
constexpr double kSecondsPerDay = 86400.0;

double dayOf(const TakenAt& taken, Date zero)
{
    return daysBetween(zero, taken.date) + taken.second_of_day.value_or(0) / kSecondsPerDay;
}

std::vector<GraphPoint> pointsOf(const Series& series, const Strip& strip, Date zero)
{
    std::vector<GraphPoint> points;
    for (const auto& point : series.points) {
        const auto& seen = point.seen;
        if (!usable(seen) || !(seen.*strip.value)) continue;
        const double value = *(seen.*strip.value);
        const double low = strip.low ? (seen.*strip.low).value_or(value) : value;
        const double high = strip.high ? (seen.*strip.high).value_or(value) : value;
        points.push_back({dayOf(seen.taken, zero), value, low, high});
    }
    return points;
}

double topOf(const std::vector<GraphPoint>& points, const Strip& strip)
{
    double top = strip.least_top;
    for (const auto& point : points) top = std::max({top, point.value * 1.1, point.high * 1.05});
    return top;
}

/// "12 Jan", whatever the locale. @param data  the Date of day 0.
void dateLabel(PLINT /*axis*/, PLFLT day, char* label, PLINT length, PLPointer data)
{
    constexpr std::array<const char*, 12> kMonths{"Jan", "Feb", "Mar", "Apr", "May", "Jun",
                                                  "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"};
    const Date date{std::chrono::sys_days{*static_cast<const Date*>(data)} +
                    std::chrono::days{static_cast<int>(std::lround(day))}};
    std::snprintf(label, static_cast<size_t>(length), "%u %s", static_cast<unsigned>(date.day()),
                  kMonths[static_cast<unsigned>(date.month()) - 1]);
}

/// Whole weeks between ticks, so that about four labels fit.
double tickDays(double days)
{
    return 7.0 * std::max(1.0, std::ceil(days / 7.0 / 4.5));
}

void drawBand(const std::vector<GraphPoint>& points, PLINT colour)
{
    std::vector<PLFLT> x, y;
    for (const auto& point : points) {
        x.push_back(point.day);
        y.push_back(point.high);
    }
    for (auto point = points.rbegin(); point != points.rend(); ++point) {
        x.push_back(point->day);
        y.push_back(point->low);
    }
    plcol0(colour);
    if (points.size() > 1) plfill(static_cast<PLINT>(x.size()), x.data(), y.data());
}

void drawValues(const std::vector<GraphPoint>& points, const Strip& strip)
{
    plcol0(strip.colour);
    std::vector<PLFLT> x, y;
    for (const auto& point : points) {
        x.push_back(point.day);
        y.push_back(point.value);
        plwidth(1);
        if (strip.low) pljoin(point.day, point.low, point.day, point.high);
    }
    plwidth(2);
    plline(static_cast<PLINT>(x.size()), x.data(), y.data());
    plpoin(static_cast<PLINT>(x.size()), x.data(), y.data(), 17);
    plwidth(1);
}

void drawLimit(double days, double limit)
{
    plcol0(kLimit);
    pllsty(2);
    pljoin(0, limit, days, limit);
    pllsty(1);
}

void drawStrip(const Series& series, const Strip& strip, size_t place, double days, Date zero,
               const SeasonSettings& settings)
{
    const double top = kTop - static_cast<double>(place) * kStripStep;
    const auto points = pointsOf(series, strip, zero);
    const double highest = topOf(points, strip);
    plvpor(kLeft, kRight, top - kStripHeight, top);
    // A little room, so that the first point and a point on zero are whole.
    plwind(-0.02 * days, 1.02 * days, -0.04 * highest, highest);

    if (strip.low) drawBand(points, strip.pale);
    plcol0(kGrid);
    plbox("g", tickDays(days), 0, "g", 0, 0);
    plcol0(kInk);
    plbox("bnost", tickDays(days), static_cast<PLINT>(tickDays(days) / 7), "bntv", 0, 0);
    plmtex("t", 0.6, 0, 0, strip.title);
    if (points.empty()) {
        plptex(days / 2, highest / 2, 1, 0, 0.5, strip.if_unknown);
        return;
    }
    if (strip.value == &Observation::coverage_percent) drawLimit(days, settings.detection_limit_percent);
    drawValues(points, strip);
}

std::string readWhole(const std::filesystem::path& path)
{
    std::ifstream file(path, std::ios::binary);
    return {std::istreambuf_iterator<char>(file), std::istreambuf_iterator<char>()};
}

/// PLplot draws to a named file only; this one is gone at the end.
class ScratchFile {
public:
    ScratchFile()
    {
        path_ = (std::filesystem::temp_directory_path() / "slipglass-graph-XXXXXX").string();
        const int file = mkstemp(path_.data());
        if (file < 0)
            throw Error(path_, "cannot be made", "Check that the folder for temporary files has room");
        close(file);
    }
    ~ScratchFile()
    {
        std::error_code ignored;
        std::filesystem::remove(path_, ignored);
    }
    ScratchFile(const ScratchFile&) = delete;
    ScratchFile& operator=(const ScratchFile&) = delete;
    const std::string& path() const { return path_; }

private:
    std::string path_;
};

void startPage(const std::string& file)
{
    for (size_t i = 0; i < kPalette.size(); ++i)
        plscol0(static_cast<PLINT>(i), kPalette[i].r, kPalette[i].g, kPalette[i].b);
    plsdev("svg");
    plsfnam(file.c_str());
    plspage(90, 90, kWidth, kHeight, 0, 0);
    plinit();
    plfont(1);
    pladv(0);
    plschr(0, 1.0);
    plssym(0, 1.4);
}

}  // namespace

std::string graphSvg(const Series& series, const SeasonSettings& settings)
{
    static std::mutex one_at_a_time;
    const std::scoped_lock lock(one_at_a_time);

    Date zero =
        series.first_photo.value_or(series.cutting.stuck_on.value_or(Date{std::chrono::year{2000} / 1 / 1}));
    if (series.cutting.stuck_on) zero = std::min(zero, *series.cutting.stuck_on);
    const double days = std::max(7, series.latest_photo ? daysBetween(zero, *series.latest_photo) + 1 : 0);

    const ScratchFile scratch;
    startPage(scratch.path());
    plslabelfunc(dateLabel, &zero);
    for (size_t i = 0; i < kStrips.size(); ++i) drawStrip(series, kStrips[i], i, days, zero, settings);
    plslabelfunc(nullptr, nullptr);
    plend();

    std::string svg = readWhole(scratch.path());
    if (svg.find("</svg>") == std::string::npos)
        throw Error(
            series.cutting.cutting, "its graph could not be drawn",
            "Check that the folder for temporary files has room, and that PLplot's svg driver is installed");
    return svg;
}

}  // namespace slipglass
