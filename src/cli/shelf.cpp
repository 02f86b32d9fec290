#include <spawn.h>
#include <sys/wait.h>
#include <unistd.h>

#include <chrono>
#include <cstdlib>
#include <filesystem>
#include <iostream>
#include <memory>
#include <thread>

#include "commands.h"
#include "out_folder.h"
#include "signals.h"
#include "slipglass/serve/server.h"
#include "slipglass/shelf/qr.h"
#include "slipglass/shelf/shelf.h"
#include "terminal.h"
#include "usage.h"

namespace slipglass {

namespace {

/// Asks the desktop to show the page; where there is none the address is on the terminal anyway.
void openBrowser(const std::string& address)
{
    std::string program = "xdg-open", argument = address;
    char* const arguments[] = {program.data(), argument.data(), nullptr};
    posix_spawn_file_actions_t quiet;
    posix_spawn_file_actions_init(&quiet);
    posix_spawn_file_actions_addopen(&quiet, STDOUT_FILENO, "/dev/null", 1 /* O_WRONLY */, 0);
    posix_spawn_file_actions_addopen(&quiet, STDERR_FILENO, "/dev/null", 1, 0);
    pid_t child = 0;
    if (posix_spawnp(&child, program.c_str(), &quiet, nullptr, arguments, environ) == 0)
        std::thread([child] { waitpid(child, nullptr, 0); }).detach();
    posix_spawn_file_actions_destroy(&quiet);
}

/// For whoever starts it by a double click: always the same folder, and one that is easily found. In a folder
/// where measure was run without --out, its season.
std::filesystem::path usualSeason()
{
    const char* home = std::getenv("HOME");
    if (std::filesystem::exists("slipglass-out") || home == nullptr || *home == '\0') return "slipglass-out";
    return std::filesystem::path(home) / "slipglass-season";
}

/// A second double click: the page that is there is what was wanted.
/// @return  whether one is running that can be shown.
bool showRunning(const std::filesystem::path& season, bool in_browser)
{
    const auto address = runningShelf(season);
    if (!address) return false;
    std::cout << "The season in " << season.string() << " is open already, on " << *address
              << "\nIt goes on as it was started: end that one first to start it with other options.\n"
              << std::flush;
    if (in_browser) openBrowser(*address);
    return true;
}

}  // namespace

void addShelfCommand(CLI::App& app, int& exit_code)
{
    struct Typed {
        ShelfOptions options;
        bool no_browser = false, force = false;
    };
    auto typed = std::make_shared<Typed>();
    CLI::App* command = app.add_subcommand(
        "shelf", "Serve the season's page on this computer: photos, corrections and notes go in there");
    command
        ->add_option(
            "season", typed->options.season,
            "Folder that measure writes into, or a new one. Without: slipglass-out, where it is here, "
            "else slipglass-season in your home folder")
        ->type_name("DIR");
    command
        ->add_option(
            "--photos", typed->options.photos,
            "Photos, or folders of photos, that lie elsewhere than in the season's own folder 'photos'")
        ->type_name("PHOTOS");
    command->add_option("--port", typed->options.port, "0 = any that is free")
        ->type_name("N")
        ->check(wholeNumber(0, 65535))
        ->capture_default_str();
    command->add_flag(
        "--lan", typed->options.lan,
        "Let phones in the local network in, one by one, by a QR code. What is sent there is not "
        "encrypted: in your own network only");
    addForceFlag(*command, typed->force);
    command->add_flag("--no-browser", typed->no_browser, "Do not open the page");
    command->add_option("--threads", typed->options.threads, "Photos measured side by side; 0 = one a core")
        ->type_name("N")
        ->check(wholeNumber(0, 256))
        ->capture_default_str();
    command->callback([typed, &exit_code] {
        if (typed->options.season.empty()) typed->options.season = usualSeason();
        checkOutFolder({typed->options.season,
                        typed->options.photos,
                        {"photos", "batch.csv", "care.csv", "settings.json", "corrections"},
                        typed->force});
        const std::atomic<bool>& stop = stopOnSignals();
        std::unique_ptr<Shelf> shelf;
        try {
            shelf = std::make_unique<Shelf>(typed->options);
        } catch (const InUse&) {
            if (!showRunning(typed->options.season, !typed->no_browser)) throw;
            exit_code = kAllMeasured;
            return;
        }
        std::cout << "The season in " << typed->options.season.string() << " is on " << shelf->address()
                  << "\n";
        if (typed->options.lan) {
            const std::string phone = shelf->invitation();
            std::cout << "For one phone in this network, once, within ten minutes: " << phone << "\n";
            if (isatty(STDOUT_FILENO)) steer(std::cout, qrForTerminal(phone));
            std::cout << "More phones: 'Let a phone in' on the page.\n";
        }
        std::cout << "Ctrl-C ends it; what was given is kept.\n" << std::flush;
        if (!typed->no_browser) openBrowser(shelf->address());
        while (!stop) std::this_thread::sleep_for(std::chrono::milliseconds(200));
        exit_code = kAllMeasured;
    });
}

}  // namespace slipglass
