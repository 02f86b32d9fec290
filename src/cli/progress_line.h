#pragma once
#include <atomic>
#include <functional>
#include <optional>
#include <ostream>
#include <string>

#include "slipglass/measure.h"

namespace slipglass {

/// "12 of 36 photos, about 3 minutes left". @param seconds  since none was done.
std::string progressText(int done, int of, double seconds);

/// How far a run has got: on a terminal one line, drawn over itself; elsewhere (a file, a pipe, cron) a line
/// a minute, so that a run of less than a minute says nothing.
class ProgressLine {
public:
    /// On stderr, by the clock.
    ProgressLine();
    /// @param seconds  on any clock that does not go back.
    ProgressLine(std::ostream& to, bool terminal, std::function<double()> seconds);

    /// Shows progress on this line, warnings on stderr, and stops as stopOnSignals() says. This object must
    /// outlive the run.
    MeasureEvents events();

    void show(int done, int of);
    void clear() const;

private:
    std::ostream& to_;
    bool terminal_, shown_ = false;
    std::function<double()> seconds_;
    const std::atomic<bool>* stop_ = nullptr;
    std::optional<double> start_;  ///< when it was first shown
    double told_ = 0;              ///< when the last whole line was written
};

}  // namespace slipglass
