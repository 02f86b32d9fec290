#include <CLI/CLI.hpp>
#include <iostream>
#include <memory>
#include <nlohmann/json.hpp>
#include <string>

#include "commands.h"
#include "slipglass/film/film.h"
#include "terminal.h"
#include "usage.h"

namespace slipglass {
namespace {

struct TimelapseOptions {
    std::string folder, out;
    FilmWish wish;
    double seconds = 1;
    bool json = false;
};

void tell(const TimelapseOptions& options, const Film& film)
{
    for (const LeftOut& left : film.left_out) complain(left.photo + ": left out, " + left.why + ".");
    const std::string first = isoDate(film.dates.front()), last = isoDate(film.dates.back());
    if (options.json) {
        nlohmann::json left_out = nlohmann::json::array();
        for (const LeftOut& left : film.left_out)
            left_out.push_back({{"photo", left.photo}, {"why", left.why}});
        const nlohmann::json told = {
            {"out", options.out}, {"tub", options.wish.tub}, {"photos", film.frames.size()}, {"first", first},
            {"last", last},       {"left_out", left_out}};
        std::cout << told.dump(2, ' ', false, nlohmann::json::error_handler_t::replace) << "\n";
        return;
    }
    std::cout << options.out << ": " << film.frames.size()
              << (film.frames.size() == 1 ? " photo of " : " photos of ") << options.wish.tub << ", " << first
              << " to " << last << "\n";
}

}  // namespace

void addTimelapseCommand(CLI::App& app, int& exit_code)
{
    auto options = std::make_shared<TimelapseOptions>();
    CLI::App* command = app.add_subcommand("timelapse", "A film of one tub, its photos laid on each other");
    command->add_option("dir", options->folder, "The folder that 'measure --out' wrote")
        ->required()
        ->type_name("DIR");
    command->add_option("--tub", options->wish.tub, "Its id")->required()->type_name("ID");
    command->add_option("-o,--out", options->out, "The film to write: .webp, or with ffmpeg .mp4 or .webm")
        ->required()
        ->type_name("FILE");
    command->add_flag_callback(
        "--wall", [options] { options->wish.of = FilmOf::wall; }, "The wall unrolled instead of the photos");
    command->add_option("--seconds-per-photo", options->seconds, "How long each is shown")
        ->type_name("S")
        ->check(number(0.04, 60))
        ->capture_default_str();
    command
        ->add_option_function<std::string>(
            "--tint", [options](const std::string&) { options->wish.tint_by_age = true; },
            "age: roots in the colour of the day they were first seen; with --wall")
        ->transform(oneOf({"age"}))
        ->type_name("age");
    command->add_flag("--json", options->json, "Say what was made as JSON");
    command->callback([options, &exit_code] {
        checkFilmName(options->out);
        const Film film = filmOf(options->folder, options->wish);
        writeFilm(film.frames, options->seconds, options->out);
        tell(*options, film);
        exit_code = kAllMeasured;
    });
}

}  // namespace slipglass
