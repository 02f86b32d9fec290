#pragma once
// Private to report: the graph of a cutting, and where its values lie on it.
#include <string>
#include <vector>

#include "slipglass/flags/flags.h"
#include "slipglass/season/series.h"

namespace slipglass {

/// What a photo's day shows on the graph, in the SVG's own px.
struct GraphDay {
    double x = 0;
    std::string heading;                            ///< the day, for people
    std::vector<std::string> lines;                 ///< "Roots cover 3.2 % (2.9 to 3.6)"
    std::vector<std::pair<double, double>> places;  ///< of the dots
};

struct Graph {
    std::string svg;
    std::vector<GraphDay> days;  ///< from left to right
};

/// Coverage with its 90 % interval, root length, water level and wetness over time, under each other, with
/// the time in which it will likely be ready to pot up; below them when which flag held, and what was done.
/// @param flags  of any cutting; this one's are taken.
/// Throws Error when it cannot be drawn.
Graph drawGraph(const Series& series, const std::vector<Flag>& flags, const SeasonSettings& settings);

}  // namespace slipglass
