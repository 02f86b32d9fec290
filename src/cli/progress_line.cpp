#include "progress_line.h"

#include <unistd.h>

#include <chrono>
#include <cmath>
#include <iostream>

#include "signals.h"
#include "slipglass/text.h"
#include "terminal.h"

namespace slipglass {
namespace {

constexpr double kTellEvery = 60;              // seconds, where there is no terminal
constexpr const char* kLineAnew = "\r\033[K";  // to its beginning, and rub out what is there

double steadySeconds()
{
    return std::chrono::duration<double>(std::chrono::steady_clock::now().time_since_epoch()).count();
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
    MeasureEvents events;
    events.stop = stop_ = &stopOnSignals();
    events.progress = [this](int done, int of) { show(done, of); };
    events.warn = [this](const std::string& warning) {
        clear();
        complain(readableLength(warning));
    };
    return events;
}

void ProgressLine::show(int done, int of)
{
    if (of == 0) return;
    const double now = seconds_();
    if (!start_) start_ = told_ = now;
    const std::string text = progressText(done, of, now - *start_) + (stop_ && *stop_ ? ", stopping" : "");
    if (terminal_) {
        steer(to_, kLineAnew);
        to_ << text << std::flush;
        shown_ = true;
    } else if (now - told_ >= kTellEvery) {
        to_ << "slipglass: " << text << std::endl;
        told_ = now;
    }
}

void ProgressLine::clear() const
{
    if (!shown_) return;
    steer(to_, kLineAnew);
    to_ << std::flush;
}

}  // namespace slipglass
