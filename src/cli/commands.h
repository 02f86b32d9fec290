#pragma once
#include <CLI/CLI.hpp>

namespace slipglass {

/// Exit codes: README.md, "All commands".
constexpr int kAllMeasured = 0, kCouldNotRun = 1, kSomeNotMeasured = 2,
              kStopped = 130;  // as shells say 'ended by Ctrl-C'

// Each adds one command to `app`. Its callback does the work, prints results on stdout, and sets `exit_code`;
// what it throws, main turns into one line on stderr and kCouldNotRun.

void addMeasureCommand(CLI::App& app, int& exit_code);
void addMergeCommand(CLI::App& app, int& exit_code);
void addLabelsCommand(CLI::App& app, int& exit_code);
void addVerifyCommand(CLI::App& app, int& exit_code);
void addTeachCommand(CLI::App& app, int& exit_code);
void addCompareCommand(CLI::App& app, int& exit_code);
void addPlanCommand(CLI::App& app, int& exit_code);
void addRoundsCommand(CLI::App& app, int& exit_code);
void addShelfCommand(CLI::App& app, int& exit_code);
void addReportCommand(CLI::App& app, int& exit_code);
void addSettingsCommand(CLI::App& app, int& exit_code);
void addTimelapseCommand(CLI::App& app, int& exit_code);

}  // namespace slipglass
