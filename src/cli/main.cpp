#include <malloc.h>

#include <CLI/CLI.hpp>
#include <exception>
#include <iostream>

#include "commands.h"
#include "slipglass/error.h"
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

}  // namespace

int main(int argc, char** argv)
{
    using namespace slipglass;
    keepFreedMemory();
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
        refuseOptionsAsValues(app);
        app.parse(argc, argv);
        return exit_code;
    } catch (const CLI::Success& help_or_version) {
        return app.exit(help_or_version);
    } catch (const CLI::ParseError& error) {
        std::cerr << "slipglass: " << usageLine(app, error) << "\n";
    } catch (const Error& error) {
        std::cerr << "slipglass: " << errorLine(app, error) << "\n";
    } catch (const std::exception& bug) {
        std::cerr << "slipglass: something went wrong that is not your doing: " << bug.what()
                  << "\nPlease report it, with the command you typed.\n";
    }
    return kCouldNotRun;
}
