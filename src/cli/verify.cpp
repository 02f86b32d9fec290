#include <iostream>
#include <memory>
#include <string>
#include <vector>

#include "commands.h"
#include "slipglass/error.h"
#include "slipglass/store/write_file.h"
#include "slipglass/verify/show.h"
#include "terminal.h"
#include "usage.h"

namespace slipglass {
namespace {

struct VerifyOptions {
    std::string measured, truth, csv;
    std::vector<std::string> tubs;
    VerifySettings settings;
    bool json = false, per_photo = false;
};

void tell(const VerifyOptions& options, const Verification& result)
{
    if (options.json) {
        std::cout << agreementJson(result);
        return;
    }
    std::cout << summaryTable(result) << '\n' << tubTable(result);
    if (options.per_photo) std::cout << '\n' << photoTable(result);
}

/// Returns the exit code.
int runVerify(const VerifyOptions& options)
{
    const Verification result = verify(options.measured, options.truth, options.settings, options.tubs);
    for (const std::string& problem : result.problems) complain(problem);
    if (!options.csv.empty()) writeFile(options.csv, agreementCsv(result));
    if (summaryOf(result.photos).compared == 0)
        throw Error(
            options.measured, "no photo could be compared with " + options.truth,
            options.tubs.empty() ? "Name the truth of these photos" : "Check the tubs named with --tubs");
    tell(options, result);
    return result.problems.empty() ? kAllMeasured : kSomeNotMeasured;
}

}  // namespace

void addVerifyCommand(CLI::App& app, int& exit_code)
{
    auto options = std::make_shared<VerifyOptions>();
    CLI::App* command = app.add_subcommand("verify", "Agreement with masks and levels drawn by hand");
    command->add_option("dir", options->measured, "The folder that 'measure --out' wrote")
        ->required()
        ->type_name("DIR");
    command->add_option("--truth", options->truth, "Folder of the truth, as docs/verify.md describes it")
        ->required()
        ->type_name("DIR");
    command
        ->add_option("--tolerance-px", options->settings.tolerance_px,
                     "Edges forgiven within, px of the full photo")
        ->capture_default_str()
        ->type_name("PX")
        ->check(wholeNumber(0, 50));
    command->add_option("--tubs", options->tubs, "Only these tubs, separated by commas")
        ->delimiter(',')
        ->type_name("ID,ID");
    command->add_flag("--per-photo", options->per_photo, "A line for each photo too");
    command->add_option("--csv", options->csv, "Write every figure of every photo to this CSV file")
        ->type_name("FILE");
    command->add_flag("--json", options->json, "Everything as JSON");
    command->callback([options, &exit_code] { exit_code = runVerify(*options); });
}

}  // namespace slipglass
