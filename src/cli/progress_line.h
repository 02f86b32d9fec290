#pragma once
#include <chrono>

#include "slipglass/measure.h"

namespace slipglass {

/// How far a run has got: one line on a terminal, drawn over itself; nothing where stderr is a file.
class ProgressLine {
public:
    /// Shows progress on this line, warnings on stderr, and stops at Ctrl-C: the first asks the run to end, a
    /// second ends the program at once. This object must outlive the run.
    MeasureEvents events();

    void show(int done, int of);
    void clear() const;

private:
    std::chrono::steady_clock::time_point start_ = std::chrono::steady_clock::now();
    bool shown_ = false;
};

}  // namespace slipglass
