#include <algorithm>
#include <cmath>

#include "cut_text.h"
#include "graph_paper.h"
#include "season_parts.h"
#include "slipglass/report/writers.h"
#include "slipglass/season/figures.h"

namespace slipglass {

namespace {

constexpr double kTop = 24, kHeight = 80, kFoot = 30;  // px
constexpr double kNames = 74, kName = 13;              // px: room beside the lines; from name to name
constexpr size_t kMany = 24;                           // lines, from which on they are thin
constexpr size_t kLetters = 9;                         // that fit there

/// A cutting's line: the days on which roots were seen, and how much.
struct Course {
    const Series* series;
    std::vector<double> days, percent;
};

std::vector<Course> coursesOf(const SeasonReport& season, Date zero)
{
    std::vector<Course> courses;
    for (const Series& series : season.series) {
        Course course{&series, {}, {}};
        for (const SeriesPoint& point : series.points) {
            if (!usable(point.seen) || !rootsSeen(point.seen, season.settings).value_or(false)) continue;
            course.days.push_back(daysBetween(zero, point.seen.taken.date));
            course.percent.push_back(*point.seen.coverage_percent);
        }
        if (!course.days.empty()) courses.push_back(std::move(course));
    }
    // The fullest first: where names would meet, it keeps its own.
    std::stable_sort(courses.begin(), courses.end(),
                     [](const Course& a, const Course& b) { return a.percent.back() > b.percent.back(); });
    return courses;
}

void drawNames(GraphPaper& paper, const std::vector<Course>& courses)
{
    double lowest = 0;
    for (const Course& course : courses) {
        const double y = std::max(paper.yOf(course.percent.back()), lowest + kName);
        if (y > kTop + kHeight) return;
        paper.smallTextAt(GraphPaper::kWidth - kNames + 8, y,
                          cutInMiddle(course.series->cutting.cutting, kLetters), Ink::ink);
        lowest = y;
    }
}

}  // namespace

std::string drawSeason(const SeasonReport& season, const Words& words)
{
    const Scale scale = scaleOf(season);
    if (!scale.first) return "";
    const auto courses = coursesOf(season, *scale.first);
    if (courses.empty()) return "";
    GraphPaper paper(static_cast<int>(kTop + kHeight + kFoot), *scale.first,
                     1.02 * std::max(7, daysBetween(*scale.first, *scale.last)), words, kNames);
    GraphBox box;
    box.top = kTop;
    box.height = kHeight;
    box.high = 1.06 * scale.top_percent;
    box.title = words("Roots cover, % of the wall");
    paper.openBox(box);
    const bool many = courses.size() > kMany;
    for (const Course& course : courses) {
        if (course.days.size() > 1) paper.line(course.days, course.percent, Ink::root, many ? 0.5 : 2);
        if (!many || course.days.size() == 1) paper.dot(course.days.back(), course.percent.back(), Ink::root);
    }
    drawNames(paper, courses);
    return paper.svg();
}

}  // namespace slipglass
