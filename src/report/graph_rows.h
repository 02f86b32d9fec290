#pragma once
// Private to report: what stands below a graph, a row each.
#include <vector>

#include "graph_paper.h"
#include "slipglass/flags/flags.h"
#include "slipglass/season/series.h"
#include "slipglass/words.h"

namespace slipglass {

/// What is drawn, and in what span of time.
struct Sheet {
    const Series& series;
    const SeasonSettings& settings;
    std::vector<const Flag*> flags;
    Date zero;
    double days;
    const Words& words;
};

/// Px that all its rows take.
double heightOfRows(const Sheet& sheet);
/// When it will likely be ready to pot up, how long each flag held, and what was done.
/// @param top  px from the top of the paper.
void drawRows(GraphPaper& paper, const Sheet& sheet, double top);

}  // namespace slipglass
