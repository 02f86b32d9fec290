#include "slipglass/report/rounds_text.h"

#include <CLI/CLI.hpp>
#include <iostream>
#include <memory>

#include "commands.h"
#include "slipglass/overview/given.h"
#include "slipglass/terminal_text.h"
#include "usage.h"

namespace slipglass {
namespace {

struct RoundsOptions {
    std::string folder;
    int photo_due_days = kPhotoDueDays;
    bool json = false;
};

/// What is told is as old as the newest photo; said when that is not of these days.
void tellAge(const Rounds& rounds, int photo_due_days)
{
    if (!rounds.newest_photo) return;
    const int days = daysBetween(*rounds.newest_photo, today());
    if (days > photo_due_days)
        std::cout << "As of " << isoDate(*rounds.newest_photo) << ", the newest photo, " << days
                  << " days ago:\n";
}

void tell(const RoundsOptions& options)
{
    const Rounds rounds = roundsOf(readSeason(options.folder), options.photo_due_days);
    if (options.json) {
        std::cout << roundsJson(rounds);
        return;
    }
    tellAge(rounds, options.photo_due_days);
    for (const std::string& line : roundsLines(rounds)) std::cout << printable(line) << "\n";
}

}  // namespace

void addRoundsCommand(CLI::App& app, int& exit_code)
{
    auto options = std::make_shared<RoundsOptions>();
    CLI::App* command = app.add_subcommand("rounds", "What needs doing, tub by tub, most urgent first");
    command->add_option("dir", options->folder, "The folder that 'measure --out' wrote")
        ->required()
        ->type_name("DIR");
    command
        ->add_option("--photo-due", options->photo_due_days,
                     "Days a tub may be behind the newest photo before it wants one")
        ->type_name("DAYS")
        ->check(wholeNumber(1, 1000))
        ->capture_default_str();
    command->add_flag("--json", options->json, "As JSON, with evidence and advice");
    command->callback([options, &exit_code] {
        tell(*options);
        exit_code = kAllMeasured;
    });
}

}  // namespace slipglass
