#include <cstdio>
#include <iostream>
#include <memory>
#include <nlohmann/json.hpp>
#include <string>

#include "commands.h"
#include "progress_line.h"
#include "slipglass/error.h"
#include "slipglass/layout/file_names.h"
#include "slipglass/teach.h"
#include "slipglass/terminal_text.h"
#include "terminal.h"
#include "usage.h"

namespace slipglass {
namespace {

struct Typed {
    TeachOptions options;
    std::string batch, settings;
    bool json = false, undo = false;
};

std::string percent(const std::optional<double>& share)
{
    if (!share) return "-";
    char text[16];
    std::snprintf(text, sizeof text, "%.1f", 100 * *share);
    return text;
}

std::string line(const std::string& what, const std::optional<double>& before,
                 const std::optional<double>& after)
{
    char text[120];
    std::snprintf(text, sizeof text, "  %-40s %6s -> %6s %%\n", what.c_str(), percent(before).c_str(),
                  percent(after).c_str());
    return text;
}

/// Coverage of photos that nobody has drawn on: a jump there is a warning.
std::string elsewhereLines(const TeachResult& result)
{
    double before = 0, after = 0;
    const CoverageChange* most = nullptr;
    for (const CoverageChange& photo : result.taught.elsewhere) {
        before += photo.before_percent;
        after += photo.after_percent;
        const auto change = [](const CoverageChange& c) {
            return std::abs(c.after_percent - c.before_percent);
        };
        if (!most || change(photo) > change(*most)) most = &photo;
    }
    if (!most) return "";
    const auto count = static_cast<double>(result.taught.elsewhere.size());
    char text[200];
    std::snprintf(text, sizeof text,
                  "Coverage of %zu of the %d photos that were not drawn on: mean %.2f -> %.2f %%, most "
                  "changed %.2f -> %.2f %%",
                  result.taught.elsewhere.size(), result.photos_elsewhere, before / count, after / count,
                  most->before_percent, most->after_percent);
    return std::string(text) + " (" + printable(most->photo) + ").\n";
}

void tell(const TeachResult& result, const TeachOptions& options)
{
    const Taught& taught = result.taught;
    int strokes = 0;
    for (const LearntFrom& from : taught.learnt_from) strokes += from.root_strokes + from.not_root_strokes;
    std::cout << strokes << " strokes on " << taught.learnt_from.size() << " photos\n";
    if (taught.held_out_before.right) {
        std::cout << "Said right under strokes, on photos left out of the lesson:\n"
                  << line("strokes 'root'", taught.held_out_before.roots_right,
                          taught.held_out_after.roots_right)
                  << line("strokes 'not root'", taught.held_out_before.rest_right,
                          taught.held_out_after.rest_right)
                  << line("both", taught.held_out_before.right, taught.held_out_after.right)
                  << line("said otherwise where nothing was drawn", taught.held_out_before.otherwise,
                          taught.held_out_after.otherwise);
    }
    std::cout << elsewhereLines(result);
    if (result.in_use)
        std::cout << "Kept in " << (options.out / output::kTaught).string()
                  << ". Run `slipglass measure` again to use it; `slipglass teach " << options.out.string()
                  << " --undo` takes it away.\n";
    else
        std::cout << "The root map stays as it was: " << result.why_not << ".\n";
}

nlohmann::json asJson(const TeachResult& result)
{
    nlohmann::json problems = nlohmann::json::array();
    for (const Problem& p : result.problems)
        problems.push_back({{"file", p.file}, {"reason", p.reason}, {"remedy", p.remedy}});
    return {{"in_use", result.in_use},
            {"why_not", result.why_not},
            {"photos_elsewhere", result.photos_elsewhere},
            {"taught", nlohmann::json::parse(taughtText(result.taught))},
            {"problems", problems}};
}

int undo(const Typed& typed)
{
    if (!std::filesystem::is_directory(typed.options.out))
        throw Error(typed.options.out.string(), "is no folder", "Name the folder that `measure` wrote");
    const bool gone = forgetTaught(typed.options.out);
    if (typed.json)
        std::cout << nlohmann::json({{"undone", gone}}).dump(2) << "\n";
    else
        std::cout << (gone ? "Taken away. Run `slipglass measure` again for the figures of before.\n"
                           : "Nothing had been taught.\n");
    return kAllMeasured;
}

int runTeach(const Typed& typed)
{
    if (typed.undo) return undo(typed);
    if (typed.options.corrections.empty())
        throw Error("teach", "there are no corrections to learn from",
                    "Name their folder with --corrections, or use --undo");
    if (typed.options.photos.empty())
        throw Error("teach", "the season's file keeps no pictures, and none are given",
                    "Name the folder of the photos with --photos");
    ProgressLine progress;
    const TeachResult result = teach(typed.options, progress.events());
    progress.clear();
    if (result.stopped) {
        complain("stopped. Nothing was taught.");
        return kStopped;
    }
    for (const Problem& p : result.problems) complain(Error(p.file, p.reason, p.remedy).what());
    if (typed.json)
        std::cout << asJson(result).dump(2, ' ', false, nlohmann::json::error_handler_t::replace) << "\n";
    else
        tell(result, typed.options);
    return result.problems.empty() ? kAllMeasured : kSomeNotMeasured;
}

}  // namespace

void addTeachCommand(CLI::App& app, int& exit_code)
{
    auto typed = std::make_shared<Typed>();
    CLI::App* command = app.add_subcommand("teach", "Learn from photos corrected by hand");
    command->add_option("dir", typed->options.out, "The folder that 'measure --out' wrote")
        ->required()
        ->type_name("DIR");
    command
        ->add_option("--corrections", typed->options.corrections,
                     "Folder of corrections drawn by hand, <photo stem>.json each (docs/files.md)")
        ->type_name("DIR");
    command->add_option("--photos", typed->options.photos, "The photos, as given to `measure`")
        ->type_name("PHOTOS");
    command->add_option("--batch", typed->batch, "The plan, as given to `measure`")->type_name("FILE");
    command->add_option("--settings", typed->settings, "The settings, as given to `measure`")
        ->type_name("FILE");
    command->add_option("--threads", typed->options.threads, "Photos looked at side by side; 0 = one a core")
        ->type_name("N")
        ->check(wholeNumber(0, 256))
        ->capture_default_str();
    command->add_flag("--undo", typed->undo, "Take away what was taught");
    command->add_flag("--json", typed->json, "Everything as JSON");
    command->callback([typed, &exit_code] {
        if (!typed->batch.empty()) typed->options.batch = typed->batch;
        if (!typed->settings.empty()) typed->options.settings = typed->settings;
        typed->options.today = today();
        exit_code = runTeach(*typed);
    });
}

}  // namespace slipglass
