#include <CLI/CLI.hpp>
#include <array>
#include <cmath>
#include <cstdio>
#include <iostream>
#include <memory>
#include <nlohmann/json.hpp>
#include <string>

#include "commands.h"
#include "slipglass/error.h"
#include "slipglass/overview/given.h"
#include "slipglass/report/writers.h"
#include "slipglass/store/write_file.h"
#include "slipglass/text.h"
#include "usage.h"

namespace slipglass {
namespace {

struct ReportOptions {
    std::string folder, out, language, units;
    bool json = false;
};

/// "1.2 MB", "340 kB".
std::string sizeWords(std::size_t bytes)
{
    std::array<char, 32> text{};
    if (bytes >= 1000000)
        std::snprintf(text.data(), text.size(), "%.1f MB", static_cast<double>(bytes) / 1e6);
    else
        std::snprintf(text.data(), text.size(), "%.0f kB", std::ceil(static_cast<double>(bytes) / 1e3));
    return text.data();
}

void makeReport(const ReportOptions& options)
{
    if (std::filesystem::path(options.out).extension() != ".html")
        throw Error(options.out, "does not end in .html", "Give --out a name such as season.html");
    SeasonReport season = readSeason(options.folder);
    if (!options.language.empty()) season.pages.language = options.language;
    if (!options.units.empty()) season.pages.units = options.units;
    const std::string page = oneFileHtml(season, options.folder);
    writeFile(options.out, page);
    const std::size_t cuttings = season.series.size();
    if (options.json) {
        const nlohmann::json told = {{"out", options.out}, {"cuttings", cuttings}, {"bytes", page.size()}};
        std::cout << told.dump(-1, ' ', false, nlohmann::json::error_handler_t::replace) << "\n";
        return;
    }
    std::cout << options.out << ": " << counted(static_cast<long long>(cuttings), "cutting", "cuttings")
              << ", " << sizeWords(page.size()) << ", pictures reduced\n";
}

}  // namespace

void addReportCommand(CLI::App& app, int& exit_code)
{
    auto options = std::make_shared<ReportOptions>();
    CLI::App* command =
        app.add_subcommand("report", "The whole season as one page to send, pictures reduced");
    command->add_option("dir", options->folder, "The folder that 'measure --out' wrote")
        ->required()
        ->type_name("DIR");
    command->add_option("-o,--out", options->out, "The page to write: .html")->required()->type_name("FILE");
    command
        ->add_option("--language", options->language,
                     "en, de or es; left out, the language that the season's pages are in")
        ->type_name("NAME")
        ->transform(oneOf({"en", "de", "es"}));
    command->add_option("--units", options->units, "mm or inch; likewise")
        ->type_name("NAME")
        ->transform(oneOf({"mm", "inch"}));
    command->add_flag("--json", options->json, "Say what was made as JSON");
    command->callback([options, &exit_code] {
        makeReport(*options);
        exit_code = kAllMeasured;
    });
}

}  // namespace slipglass
