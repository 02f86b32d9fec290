#include <malloc.h>

#include <CLI/CLI.hpp>
#include <cstdio>
#include <cstdlib>
#include <exception>
#include <iostream>

#include "commands.h"
#include "slipglass/error.h"
#include "slipglass/no_memory.h"
#include "terminal.h"
#include "usage.h"

#ifndef SLIPGLASS_VERSION
#define SLIPGLASS_VERSION "unversioned"
#endif

namespace {

/// Pictures of megabytes come and go all the time: given back to the system and asked for anew each time,
/// their pages cost a fifth of the whole time.
void keepFreedMemory()
{
    constexpr int kMost = 1 << 30;
    mallopt(M_MMAP_THRESHOLD, kMost);
    mallopt(M_TRIM_THRESHOLD, kMost);
    // What one thread has done with serves the next: of an arena each, two threads took 0.17 GB more. None
    // waits for another, since what is asked for is large and seldom.
    mallopt(M_ARENA_MAX, 1);
}

constexpr const char* kNoMemory =
    "there is too little memory. Close other programs, then run again; what was done is kept.";
constexpr const char* kBug = "something went wrong that is not your doing: ";
constexpr const char* kReport = "Please report it, with the command you typed.";

/// Libraries end a program by an exception where they promise none: where they give memory back and take some
/// for it, or list a folder. That is for want of memory.
[[noreturn]] void sayWhyItEnds()
{
    const auto sayBugAndStop = [](const char* what) {
        std::fprintf(stderr, "slipglass: %s%s\n%s\n", kBug, what, kReport);
        std::abort();
    };
    try {
        if (const auto thrown = std::current_exception()) std::rethrow_exception(thrown);
        // One that was thrown, and of which no more is known.
        if (std::uncaught_exceptions() == 0) sayBugAndStop("it ended in the middle");
    } catch (const std::exception& thrown) {
        if (!slipglass::saysNoMemory(thrown)) sayBugAndStop(thrown.what());
    } catch (...) {
        sayBugAndStop("it ended in the middle");
    }
    std::fprintf(stderr, "slipglass: %s\n", kNoMemory);
    std::_Exit(slipglass::kCouldNotRun);  // what is half done is not looked at again
}

int run(int argc, char** argv)
{
    using namespace slipglass;
    Terminal terminal;
    CLI::App app{"Follows rooting cuttings through the wall of a clear tub, from a folder of photos",
                 "slipglass"};
    app.set_version_flag("--version", SLIPGLASS_VERSION);
    app.require_subcommand(1);
    int exit_code = kAllMeasured;
    try {
        addMeasureCommand(app, exit_code);
        addShelfCommand(app, exit_code);
        addMergeCommand(app, exit_code);
        addLabelsCommand(app, exit_code);
        addVerifyCommand(app, exit_code);
        addTeachCommand(app, exit_code);
        addCompareCommand(app, exit_code);
        addPlanCommand(app, exit_code);
        addRoundsCommand(app, exit_code);
        addReportCommand(app, exit_code);
        addTimelapseCommand(app, exit_code);
        addSettingsCommand(app, exit_code);
        refuseWhatIsNoValue(app);
        refuseNothingBehindEquals(argc, argv);
        app.parse(argc, argv);
        if (terminal.saidAll()) return exit_code;
        complain("what it had to say could not be written. Make room on the disk, then run again.");
    } catch (const CLI::Success& help_or_version) {
        return app.exit(help_or_version);
    } catch (const CLI::ParseError& error) {
        complain(usageLine(app, error));
    } catch (const Error& error) {
        complain(errorLine(app, error));
    } catch (const std::exception& bug) {
        if (saysNoMemory(bug)) {
            complain(kNoMemory);
            return kCouldNotRun;
        }
        complain(std::string(kBug) + bug.what());
        std::cerr << kReport << '\n';
    }
    return kCouldNotRun;
}

}  // namespace

int main(int argc, char** argv)
{
    keepFreedMemory();
    std::set_terminate(sayWhyItEnds);
    try {
        return run(argc, argv);
    } catch (...) {
        // Before anything was begun, or while it was said what is wrong: memory alone is missing there.
        std::fprintf(stderr, "slipglass: %s\n", kNoMemory);
        return slipglass::kCouldNotRun;
    }
}
