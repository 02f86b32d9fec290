#include "progress_line.h"

#include <signal.h>
#include <unistd.h>

#include <atomic>
#include <cstdio>
#include <iostream>
#include <string>

namespace slipglass {
namespace {

std::atomic<bool> stop_asked{false};

extern "C" void askToStop(int)
{
    stop_asked = true;
}

}  // namespace

MeasureEvents ProgressLine::events()
{
    struct sigaction action = {};
    action.sa_handler = askToStop;
    action.sa_flags =
        static_cast<int>(SA_RESETHAND);  // a second Ctrl-C ends at once; the season file stands that too
    sigaction(SIGINT, &action, nullptr);
    sigaction(SIGTERM, &action, nullptr);

    MeasureEvents events;
    events.progress = [this](int done, int of) { show(done, of); };
    events.warn = [this](const std::string& warning) {
        clear();
        std::cerr << "slipglass: " << warning << "\n";
    };
    events.stop = &stop_asked;
    return events;
}

void ProgressLine::show(int done, int of)
{
    if (!isatty(STDERR_FILENO) || of == 0) return;
    const double seconds = std::chrono::duration<double>(std::chrono::steady_clock::now() - start_).count();
    std::fprintf(stderr, "\r\033[K%d of %d photos", done, of);
    if (done > 0 && seconds > 0)
        std::fprintf(stderr, ", %.1f a second, %.0f s left", done / seconds, (of - done) * seconds / done);
    if (stop_asked) std::fprintf(stderr, ", stopping");
    std::fflush(stderr);
    shown_ = true;
}

void ProgressLine::clear() const
{
    if (shown_) std::fprintf(stderr, "\r\033[K");
}

}  // namespace slipglass
