#include <CLI/CLI.hpp>
#include <iostream>
#include <memory>
#include <nlohmann/json.hpp>
#include <string>

#include "commands.h"
#include "out_folder.h"
#include "progress_line.h"
#include "slipglass/error.h"
#include "slipglass/layout/file_names.h"
#include "slipglass/measure.h"
#include "slipglass/report/rounds_text.h"
#include "slipglass/share.h"
#include "slipglass/terminal_text.h"
#include "terminal.h"
#include "usage.h"

namespace slipglass {
namespace {

/// One line for each file without figures; all of them are in problems.csv.
void complainOf(const std::vector<Problem>& problems)
{
    constexpr int kMost = 20;
    int told = 0, more = 0;
    for (const Problem& problem : problems) {
        if (problem.state == "caution") continue;
        if (told++ < kMost)
            complain(Error(problem.file, problem.reason, problem.remedy).what());
        else
            ++more;
    }
    if (more) complain("and " + std::to_string(more) + " more files, see problems.csv.");
}

nlohmann::json asJson(const MeasureResult& result, const MeasureOptions& options)
{
    nlohmann::json flags = nlohmann::json::array();
    for (const Flag& flag : result.season.flags)
        if (flag.holds)
            flags.push_back({{"tub", flag.tub},
                             {"cutting", flag.cutting},
                             {"flag", flag.name},
                             {"severity", severityText(flag.severity)},
                             {"date", isoDate(flag.date)},
                             {"evidence", english(flag.evidence)},
                             {"advice", english(flag.advice)},
                             {"waits_for", flag.waits_for},
                             {"done_on", flag.done_on ? isoDate(*flag.done_on) : ""}});
    nlohmann::json by_grains = nlohmann::json::array();
    for (const KnownByGrains& one : result.by_grains)
        by_grains.push_back({{"photo", one.photo}, {"tub", one.tub}});
    return {{"out", options.out.string()},   {"measured", result.measured},
            {"kept", result.kept},           {"not_measured", result.not_measured},
            {"stopped", result.stopped},     {"new_season", result.new_season},
            {"by_grains", by_grains},        {"flags", flags},
            {"plan_note", result.plan_note}, {"as_given_before", result.as_given_before}};
}

/// Said once: an --out left out would begin another season unnoticed.
std::string newSeasonLine(const std::filesystem::path& out)
{
    std::string line = "A new season was begun in " + out.string();
    std::error_code failed;
    const std::filesystem::path beside = std::filesystem::absolute(out).lexically_normal().parent_path();
    for (const auto& entry : std::filesystem::directory_iterator(beside, failed)) {
        std::error_code none;
        if (!std::filesystem::exists(entry.path() / output::kSeason, none) ||
            std::filesystem::equivalent(entry.path(), out, none))
            continue;
        const std::string other = entry.path().filename().string();
        return line.append(". Beside it is the season in ")
            .append(other)
            .append(": --out with that folder goes on with it");
    }
    return line;
}

/// @return  the exit code.
int tell(const FoundTubs& found, const std::string& list)
{
    complainOf(found.problems);
    if (found.stopped) {
        complain("stopped. Nothing was written.");
        return kStopped;
    }
    for (const KnownByGrains& one : found.by_grains)
        std::cout << printable(one.photo) << " is " << printable(one.tub) << ", known by its grains\n";
    std::cout << found.by_label << " known by a label, " << found.by_grains.size() << " by grains, "
              << found.kept << " from before, " << found.problems.size()
              << " of no known tub\nGive all parts --tubs " << list << "\n";
    return found.problems.empty() ? kAllMeasured : kSomeNotMeasured;
}

void tell(const MeasureResult& result, const MeasureOptions& options)
{
    if (options.share) {
        std::cout << result.measured << " measured, " << result.kept << " kept from before, "
                  << result.not_measured
                  << " not measured\nWhen all parts are measured: slipglass merge PART... "
                  << "--out SEASON\n";
        return;
    }
    for (const std::string& line : roundsLines(roundsOf(result.season))) std::cout << printable(line) << "\n";
    if (!result.plan_note.empty()) std::cout << printable(result.plan_note) << "\n";
    for (const KnownByGrains& one : result.by_grains)
        std::cout << printable(one.photo) << " is " << printable(one.tub) << ", known by its grains\n";
    for (const std::string& line : result.as_given_before) std::cout << printable(line) << "\n";
    if (result.new_season) std::cout << printable(newSeasonLine(options.out)) << "\n";
    std::cout << result.measured << " measured, " << result.kept << " kept from before";
    if (result.not_measured)
        std::cout << ", " << result.not_measured << " not measured (see "
                  << (options.out / output::kProblems).string() << ")";
    std::cout << "\nOpen " << (options.out / output::kFirstPage).string() << "\n";
}

OutFolder outFolderOf(const MeasureOptions& options, bool force)
{
    OutFolder folder{options.out, options.photos, {}, force};
    for (const auto& file :
         {options.batch, options.care, options.settings, options.corrections, options.tubs})
        if (file) folder.given.push_back(*file);
    return folder;
}

}  // namespace

void addMeasureCommand(CLI::App& app, int& exit_code)
{
    struct Typed {
        MeasureOptions options;
        std::string batch, care, settings, corrections, part, tubs, find_tubs;
        bool json = false, force = false;
    };
    auto typed = std::make_shared<Typed>();
    CLI::App* command =
        app.add_subcommand("measure", "The main job: from photos to figures, flags and a report");
    command->add_option("photos", typed->options.photos, "Photos, or folders of photos")
        ->required()
        ->type_name("PHOTOS");
    command->add_option("--batch", typed->batch, "The plan: a CSV file with a column 'tub'")
        ->type_name("FILE");
    command->add_option("--care", typed->care, "The care log: a CSV file with the columns 'date,tub,what'")
        ->type_name("FILE");
    typed->options.out = "slipglass-out";
    command
        ->add_option("--out", typed->options.out,
                     "Folder for all that is written; give the same one each week")
        ->type_name("DIR")
        ->capture_default_str();
    command->add_option("--settings", typed->settings, "Thresholds and tub types of your own, JSON")
        ->type_name("FILE");
    command
        ->add_option("--corrections", typed->corrections,
                     "Folder of corrections drawn by hand, <photo stem>.json each (docs/files.md)")
        ->type_name("DIR");
    command
        ->add_option("--language", typed->options.language,
                     "Language of the pages from now on: en, de or es; files and this program stay English")
        ->type_name("NAME")
        ->transform(oneOf({"en", "de", "es"}));
    command->add_option("--units", typed->options.units, "Lengths on the pages from now on: mm or inch")
        ->type_name("NAME")
        ->transform(oneOf({"mm", "inch"}));
    command->add_option("--threads", typed->options.threads, "Photos measured side by side; 0 = one a core")
        ->type_name("N")
        ->check(wholeNumber(0, 256))
        ->capture_default_str();
    command
        ->add_option("--without", typed->options.without,
                     "Do without what an earlier run was given: batch, care, settings or corrections")
        ->type_name("NAME")
        ->transform(oneOf({"batch", "care", "settings", "corrections"}));
    command->add_flag("--rescue", typed->options.rescue,
                      "Where season.db is damaged: save what can be read, keep the damaged file beside it");
    command
        ->add_option("--part", typed->part,
                     "Measure a part of the tubs alone, 2/8 = the second of eight, for 'slipglass merge' "
                     "(docs/scale.md)")
        ->type_name("I/N");
    command
        ->add_option("--find-tubs", typed->find_tubs,
                     "Measure nothing: find the tubs of photos that do not name theirs, and write them here "
                     "for all parts")
        ->type_name("LIST");
    command->add_option("--tubs", typed->tubs, "With --part: what --find-tubs wrote")->type_name("LIST");
    addForceFlag(*command, typed->force);
    command->add_flag("--json", typed->json, "Sum up as JSON on stdout");
    command->callback([typed, &exit_code] {
        MeasureOptions& options = typed->options;
        if (!typed->batch.empty()) options.batch = typed->batch;
        if (!typed->care.empty()) options.care = typed->care;
        if (!typed->settings.empty()) options.settings = typed->settings;
        if (!typed->corrections.empty()) options.corrections = typed->corrections;
        if (!typed->part.empty()) options.share = parseTubShare(typed->part);
        if (!typed->tubs.empty()) options.tubs = typed->tubs;
        if (options.tubs && !options.share)
            throw Error("--tubs", "is for --part alone", "Leave it out, or give --part I/N");
        if (options.share && !typed->find_tubs.empty())
            throw Error("--find-tubs", "is run once for all parts", "Leave --part out");
        options.today = today();
        if (typed->find_tubs.empty()) checkOutFolder(outFolderOf(options, typed->force));
        ProgressLine progress;
        const MeasureEvents events = progress.events();
        if (!typed->find_tubs.empty()) {
            const FoundTubs found = findTubs(options, typed->find_tubs, events);
            progress.clear();
            exit_code = tell(found, typed->find_tubs);
            return;
        }
        const MeasureResult result = measure(options, events);
        progress.clear();
        complainOf(result.season.problems);
        if (typed->json)
            std::cout << asJson(result, options).dump(2, ' ', false, nlohmann::json::error_handler_t::replace)
                      << "\n";
        else
            tell(result, options);
        if (result.stopped) {
            complain("stopped. What was measured is kept; the same command goes on from there.");
            exit_code = kStopped;
            return;
        }
        exit_code = result.not_measured ? kSomeNotMeasured : kAllMeasured;
    });
}

}  // namespace slipglass
