#pragma once
// Cuttings that were never stuck: courses of growth, and the figures that photos of them would give.
#include <boost/random/mersenne_twister.hpp>
#include <optional>
#include <string>
#include <vector>

#include "slipglass/observation.h"
#include "slipglass/season/plan.h"

namespace slipglass::benchmark {

enum class Course { logistic, gompertz, richards, pausing, stopping };
constexpr Course kCourses[] = {Course::logistic, Course::gompertz, Course::richards, Course::pausing,
                               Course::stopping};
const char* courseText(Course course);

/// One invented cutting.
struct InventedCutting {
    Course course{};
    PlannedCutting plan;
    std::vector<Observation> photos;  ///< by day, with the errors of photos
    std::vector<double> shown;        ///< coverage of each photo without its own error
    /// Days since it was stuck on which coverage and length pass their thresholds as photos show them,
    /// without the error of the single photo; and on the wall itself. Empty: never, within a year.
    std::optional<double> crosses, crosses_on_wall;
};

/// @param coverage, length  the thresholds, percent and mm.
InventedCutting invent(Course course, boost::random::mt19937_64& lots, double coverage, double length);

}  // namespace slipglass::benchmark
