// How accuracy falls as photos get worse, and what rootless walls look like at worst: prints the tables of
// docs/measured/quality.md. About 1200 photos are measured: some 15 minutes on two cores.
#include <CLI/CLI.hpp>
#include <fstream>
#include <iostream>
#include <thread>

#include "quality_curves.h"
#include "quality_tables.h"
#include "quality_trials.h"

namespace {

namespace fs = std::filesystem;
using namespace slipglass::benchmark;

void write(const fs::path& path, const std::string& text)
{
    std::ofstream file(path, std::ios::binary);
    file << text;
    if (!file.flush()) throw std::runtime_error(path.string() + " cannot be written");
}

}  // namespace

int main(int argc, char** argv)
try {
    TrialOptions options;
    options.folder = SLIPGLASS_SAMPLES;
    options.textures = fs::path(SLIPGLASS_TEST_DATA) / "negative-controls";
    options.threads = static_cast<int>(std::max(1U, std::thread::hardware_concurrency()));
    fs::path out;
    bool pictures = false;
    CLI::App app("How accuracy falls as photos get worse.");
    app.add_option("folder", options.folder, "Folder with photos/, truth/ and batch.csv")
        ->capture_default_str();
    app.add_option("--textures", options.textures, "Photographs without roots")->capture_default_str();
    app.add_option("--kinds", options.kinds, "Only these kinds of damage; 'filled' is one")->delimiter(',');
    app.add_option("--later", options.later_photos, "Photos of each tub besides its first")
        ->capture_default_str()
        ->check(CLI::Range(1, 100));
    app.add_option("--threads", options.threads, "Photos measured side by side")
        ->capture_default_str()
        ->check(CLI::Range(1, 256));
    app.add_option("--out", out,
                   "Folder for quality.md, quality.svg and trials.csv; else tables go to the screen");
    app.add_flag("--pictures", pictures, "Write filled tubs there too, roots found on them in red");
    CLI11_PARSE(app, argc, argv);
    if (!out.empty()) fs::create_directories(out);
    if (pictures && !out.empty()) {
        options.pictures = out / "filled";
        fs::create_directories(options.pictures);
    }

    const auto trials = runTrials(options, [](size_t done, size_t all) {
        if (done % 10 == 0 || done == all) std::cerr << done << " of " << all << '\n';
    });
    const std::string tables = qualityTables(trials);
    if (out.empty()) {
        std::cout << tables;
        return 0;
    }
    write(out / "quality.md", tables);
    write(out / "trials.csv", trialsCsv(trials));
    drawCurves(trials, out / "quality.svg");
    return 0;
} catch (const std::exception& problem) {
    std::cerr << problem.what() << '\n';
    return 1;
}
