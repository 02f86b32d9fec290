#include <filesystem>
#include <iostream>
#include <memory>
#include <set>
#include <string>
#include <vector>

#include "commands.h"
#include "out_folder.h"
#include "slipglass/error.h"
#include "slipglass/overview/given.h"
#include "slipglass/report/compare_report.h"
#include "slipglass/store/write_file.h"
#include "terminal.h"

namespace slipglass {
namespace {

constexpr const char *kGroups = "groups.csv", *kDifferences = "differences.csv";

struct CompareOptions {
    std::vector<std::string> folders;
    std::string by, within, out;
    bool json = false, force = false;
};

/// Throws Error for a folder given twice, which would count its cuttings twice.
void checkDifferent(const std::vector<std::string>& folders)
{
    std::set<std::filesystem::path> seen;
    for (const std::string& folder : folders)
        if (!seen.insert(std::filesystem::weakly_canonical(folder)).second)
            throw Error(folder, "is given twice", "Give each season once");
}

/// Each season by its folder's own name; by the whole path where two are called the same.
std::vector<std::string> seasonNames(const std::vector<std::string>& folders)
{
    std::vector<std::string> names;
    std::set<std::string> different;
    for (const std::string& folder : folders) {
        const auto path = std::filesystem::absolute(folder).lexically_normal();
        names.push_back(path.has_filename() ? path.filename().string()
                                            : path.parent_path().filename().string());
        different.insert(names.back());
    }
    return different.size() == names.size() ? names : folders;
}

/// Returns the exit code.
int runCompare(const CompareOptions& options)
{
    checkDifferent(options.folders);
    if (!options.out.empty()) checkOutFolder({options.out, {}, {kGroups, kDifferences}, options.force});
    const std::vector<std::string> names = seasonNames(options.folders);
    std::vector<NamedSeason> seasons;
    TableSettings tables;
    for (size_t i = 0; i < options.folders.size(); ++i) {
        SeasonReport season = readSeason(options.folders[i]);
        if (i == 0) tables = season.tables;
        seasons.push_back({names[i], std::move(season.series), std::move(season.own_columns)});
    }
    CompareWish wish{options.by, std::nullopt};
    if (!options.within.empty()) wish.within = options.within;
    const Comparison result = compare(seasons, wish);
    for (const Said& warning : result.warnings) complain(english(warning));
    if (!options.out.empty()) {
        writeFile(std::filesystem::path(options.out) / kGroups, compareGroupsCsv(result, tables));
        writeFile(std::filesystem::path(options.out) / kDifferences, compareDifferencesCsv(result, tables));
    }
    std::cout << (options.json ? compareJson(result) : compareText(result));
    return result.left_out == 0 ? kAllMeasured : kSomeNotMeasured;
}

}  // namespace

void addCompareCommand(CLI::App& app, int& exit_code)
{
    auto options = std::make_shared<CompareOptions>();
    CLI::App* command = app.add_subcommand(
        "compare", "Which medium, variety or treatment struck best, and whether by chance");
    command->add_option("dir", options->folders, "Folders that 'measure --out' wrote, one a season")
        ->required()
        ->type_name("DIR");
    command->add_option("--by", options->by, "Column of the plan to compare by, or 'season'")
        ->required()
        ->type_name("COLUMN");
    command
        ->add_option("--within", options->within,
                     "Column whose values are kept apart: only cuttings that share one are compared")
        ->type_name("COLUMN");
    command->add_option("--out", options->out, "Write groups.csv and differences.csv into this folder")
        ->type_name("DIR");
    addForceFlag(*command, options->force);
    command->add_flag("--json", options->json, "Everything as JSON");
    command->callback([options, &exit_code] { exit_code = runCompare(*options); });
}

}  // namespace slipglass
