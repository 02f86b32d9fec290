#include "progress_line.h"

#include <signal.h>
#include <unistd.h>

#include <atomic>
#include <chrono>
#include <cmath>
#include <iostream>

#include "slipglass/text.h"

namespace slipglass {
namespace {

std::atomic<bool> stop_asked{false};

constexpr double kTellEvery = 60;              // seconds, where there is no terminal
constexpr const char* kLineAnew = "\r\033[K";  // to its beginning, and rub out what is there

double steadySeconds()
{
    return std::chrono::duration<double>(std::chrono::steady_clock::now().time_since_epoch()).count();
}

extern "C" void askToStop(int)
{
    stop_asked = true;
}

}  // namespace

std::string progressText(int done, int of, double seconds)
{
    std::string line = std::to_string(done) + " of " + counted(of, "photo", "photos");
    if (done == of) return line + ", now all of them together";
    if (done == 0 || seconds <= 0) return line;
    constexpr double kMinute = 60, kHour = 60 * kMinute;
    const double left = (of - done) * seconds / done;
    if (left < kMinute) return line + ", less than a minute left";
    const bool hours = left >= 1.5 * kHour;
    return line + ", about " +
           (hours ? counted(std::lround(left / kHour), "hour", "hours")
                  : counted(std::lround(left / kMinute), "minute", "minutes")) +
           " left";
}

ProgressLine::ProgressLine() : ProgressLine(std::cerr, isatty(STDERR_FILENO) != 0, steadySeconds) {}

ProgressLine::ProgressLine(std::ostream& to, bool terminal, std::function<double()> seconds)
    : to_(to), terminal_(terminal), seconds_(std::move(seconds))
{
}

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
        std::cerr << "slipglass: " << readableLength(warning) << "\n";
    };
    events.stop = &stop_asked;
    return events;
}

void ProgressLine::show(int done, int of)
{
    if (of == 0) return;
    const double now = seconds_();
    if (!start_) start_ = told_ = now;
    const std::string text = progressText(done, of, now - *start_) + (stop_asked ? ", stopping" : "");
    if (terminal_) {
        to_ << kLineAnew << text << std::flush;
        shown_ = true;
    } else if (now - told_ >= kTellEvery) {
        to_ << "slipglass: " << text << std::endl;
        told_ = now;
    }
}

void ProgressLine::clear() const
{
    if (shown_) to_ << kLineAnew << std::flush;
}

}  // namespace slipglass
