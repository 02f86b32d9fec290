#include "forecast_table.h"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <iostream>

#include "slipglass/season/forecast.h"

namespace slipglass::benchmark {

namespace {

/// The truth is a day that a forecast could have named.
bool getsThere(const Trial& trial)
{
    return trial.ahead <= kForecastDays;
}

double median(std::vector<double> values)
{
    if (values.empty()) return std::nan("");
    const auto middle = values.begin() + static_cast<long>(values.size() / 2);
    std::nth_element(values.begin(), middle, values.end());
    return *middle;
}

template <class Which>
std::string share(const std::vector<Trial>& trials, const Which& which)
{
    if (trials.empty()) return "-";
    const auto n = std::count_if(trials.begin(), trials.end(), which);
    return std::to_string(static_cast<int>(
               std::lround(100.0 * static_cast<double>(n) / static_cast<double>(trials.size())))) +
           " %";
}

std::string days(double value)
{
    char text[32];
    std::snprintf(text, sizeof text, "%.1f", value);
    return std::isfinite(value) ? text : "-";
}

}  // namespace

void printHeader(const char* by)
{
    std::cout << "\n| " << by
              << " | tried | got there in time | day named | truth inside | inside, on the wall itself "
                 "| median error, days | median width, days |\n|---|---|---|---|---|---|---|---|\n";
}

void printRow(const std::string& name, const std::vector<Trial>& all)
{
    std::vector<Trial> named;
    std::vector<double> errors, widths;
    for (const Trial& trial : all) {
        if (!trial.foretold || !getsThere(trial)) continue;
        named.push_back(trial);
        errors.push_back(trial.error);
        widths.push_back(trial.width);
    }
    std::cout << "| " << name << " | " << all.size() << " | " << share(all, getsThere) << " | "
              << share(all, [](const Trial& t) { return t.foretold; }) << " | "
              << share(named, [](const Trial& t) { return t.inside; }) << " | "
              << share(named, [](const Trial& t) { return t.inside_on_wall; }) << " | "
              << days(median(errors)) << " | " << days(median(widths)) << " |\n";
}

void printChances(const std::vector<Trial>& all)
{
    std::cout << "\n| chance given | times | got there |\n|---|---|---|\n";
    for (int from = 0; from < 100; from += 20) {
        std::vector<Trial> given;
        for (const Trial& trial : all)
            if (trial.chance >= from && (trial.chance < from + 20 || from == 80)) given.push_back(trial);
        std::cout << "| " << from << " to " << from + 20 << " % | " << given.size() << " | "
                  << share(given, getsThere) << " |\n";
    }
}

std::string photosText(int root_photos)
{
    return root_photos >= 6 ? "6 or more" : std::to_string(root_photos);
}

std::string aheadText(double ahead)
{
    if (ahead > kForecastDays) return "5: later or never";
    if (ahead > 28) return "4: more than 28";
    if (ahead > 14) return "3: 15 to 28";
    return ahead > 7 ? "2: 8 to 14" : "1: up to 7";
}

}  // namespace slipglass::benchmark
