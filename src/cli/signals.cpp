#include "signals.h"

#include <signal.h>

namespace slipglass {
namespace {

std::atomic<bool> stop_asked{false};

extern "C" void askToStop(int)
{
    stop_asked = true;
}

/// Whoever started it by nohup wants it to outlive the terminal.
bool outlivesTheTerminal()
{
    struct sigaction now = {};
    sigaction(SIGHUP, nullptr, &now);
    return now.sa_handler == SIG_IGN;
}

}  // namespace

const std::atomic<bool>& stopOnSignals()
{
    struct sigaction action = {};
    action.sa_handler = askToStop;
    action.sa_flags = static_cast<int>(SA_RESETHAND);
    sigaction(SIGINT, &action, nullptr);
    sigaction(SIGTERM, &action, nullptr);
    if (!outlivesTheTerminal()) sigaction(SIGHUP, &action, nullptr);
    return stop_asked;
}

}  // namespace slipglass
