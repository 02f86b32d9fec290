#pragma once
#include <atomic>

namespace slipglass {

/// From now on Ctrl-C, SIGTERM and a terminal that is closed ask the run to end: what it has in hand is
/// finished and kept. The same a second time ends the program at once, which the season file stands too.
/// @return  set once it was asked.
const std::atomic<bool>& stopOnSignals();

}  // namespace slipglass
