#include <CLI/CLI.hpp>
#include <iostream>
#include <memory>

#include "commands.h"
#include "slipglass/observe.h"

namespace slipglass {

void addSettingsCommand(CLI::App& app, int& exit_code)
{
    auto markdown = std::make_shared<bool>(false);
    CLI::App* command = app.add_subcommand(
        "settings", "Every setting of settings.json: its default, what is allowed, and what it means");
    command->add_flag("--markdown", *markdown, "As docs/settings.md");
    command->callback([markdown, &exit_code] {
        std::cout << settingsPage(*markdown);
        exit_code = kAllMeasured;
    });
}

}  // namespace slipglass
