#pragma once
// The tables of docs/measured/forecasts.md.
#include <string>
#include <vector>

namespace slipglass::benchmark {

/// One forecast, and what came.
struct Trial {
    int root_photos = 0;  ///< with roots, that it was made from
    double ahead = 0;     ///< days from the latest photo to the truth; infinite: never
    bool foretold = false, inside = false, inside_on_wall = false;
    double error = 0, width = 0;  ///< days
    double chance = 0;            ///< foretold, percent
};

/// By number of photos with roots: "2", "3", ... "6 or more".
std::string photosText(int root_photos);
/// By days from the latest photo to the truth, numbered in order.
std::string aheadText(double ahead);

void printHeader(const char* by);
/// Days and shares are of forecasts that named a day, for growth that got there.
void printRow(const std::string& name, const std::vector<Trial>& all);
/// Of forecasts that gave this chance, how many got there.
void printChances(const std::vector<Trial>& all);

}  // namespace slipglass::benchmark
