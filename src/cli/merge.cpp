#include <CLI/CLI.hpp>
#include <iostream>
#include <memory>
#include <string>
#include <vector>

#include "commands.h"
#include "out_folder.h"
#include "slipglass/layout/file_names.h"
#include "slipglass/share.h"
#include "terminal.h"

namespace slipglass {

void addMergeCommand(CLI::App& app, int& exit_code)
{
    struct Typed {
        std::vector<std::filesystem::path> parts;
        std::filesystem::path out;
        bool force = false;
    };
    auto typed = std::make_shared<Typed>();
    CLI::App* command =
        app.add_subcommand("merge", "Join the parts of a season that 'measure --part' wrote (docs/scale.md)");
    command->add_option("parts", typed->parts, "The folders of all parts, in any order")
        ->required()
        ->type_name("PART");
    command->add_option("--out", typed->out, "Folder for the season; what was merged before is replaced")
        ->required()
        ->type_name("SEASON");
    addForceFlag(*command, typed->force);
    command->callback([typed, &exit_code] {
        checkOutFolder({typed->out, typed->parts, {}, typed->force});
        const Merged merged = mergeShares(typed->parts, typed->out);
        for (const std::string& warning : merged.season.warnings) complain(warning);
        std::cout << merged.photos << " photos of " << merged.season.series.size() << " cuttings\nOpen "
                  << (typed->out / output::kFirstPage).string() << "\n";
        exit_code = kAllMeasured;
    });
}

}  // namespace slipglass
