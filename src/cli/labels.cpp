#include <iostream>
#include <memory>
#include <nlohmann/json.hpp>
#include <optional>
#include <string>

#include "commands.h"
#include "slipglass/error.h"
#include "slipglass/report/label_sheet.h"
#include "slipglass/season/draw_plan.h"
#include "slipglass/season/plan.h"
#include "slipglass/store/write_file.h"
#include "terminal.h"
#include "usage.h"

namespace slipglass {
namespace {

struct LabelsOptions {
    std::string batch, out;
    std::optional<int> tubs;
    Paper paper = Paper::a4;
    LabelSettings label;
    bool json = false;
};

void tell(const LabelsOptions& options, std::size_t labels, int pages)
{
    if (options.json) {
        const nlohmann::json told = {{"out", options.out},
                                     {"labels", labels},
                                     {"pages", pages},
                                     {"qr_side_mm", options.label.qr_side_mm}};
        std::cout << told.dump(-1, ' ', false, nlohmann::json::error_handler_t::replace) << "\n";
        return;
    }
    std::cout << options.out << ": " << labels << (labels == 1 ? " label" : " labels") << " on " << pages
              << (pages == 1 ? " page" : " pages")
              << ". Print at 100 %, and measure the ruler at the foot of the page: 100 mm.\n";
}

/// The plan that was given; with --tubs one that names so many tubs and nothing else.
Plan planFor(const LabelsOptions& options)
{
    if (options.batch.empty() && !options.tubs)
        throw Error("labels", "neither --batch nor --tubs says which tubs there are",
                    "Give the plan with --batch, or --tubs 8 for T01 to T08");
    if (!options.batch.empty() && options.tubs)
        throw Error("labels", "--batch and --tubs both say which tubs there are", "Leave one of them out");
    if (!options.tubs) return readPlan(options.batch);
    BatchWish wish;
    wish.tubs = *options.tubs;
    return drawPlan(wish).plan;  // so that they are named as by `plan`
}

void makeLabels(const LabelsOptions& options)
{
    if (std::filesystem::path(options.out).extension() != ".pdf")
        throw Error(options.out, "does not end in .pdf", "Give --out a name such as labels.pdf");
    const Plan plan = planFor(options);
    for (const std::string& warning : plan.warnings) complain(warning);
    const std::vector<SheetLabel> labels = labelsOf(plan);
    writeFile(options.out, labelSheetPdf(labels, options.paper, options.label));
    tell(options, labels.size(), labelPages(labels.size(), options.paper, options.label));
}

}  // namespace

void addLabelsCommand(CLI::App& app, int& exit_code)
{
    auto options = std::make_shared<LabelsOptions>();
    CLI::App* command = app.add_subcommand("labels", "Printable tub labels at true size, with a check ruler");
    command->add_option("--batch", options->batch, "The plan: a CSV file with a column 'tub'")
        ->type_name("FILE");
    command->add_option("--tubs", options->tubs, "Without a plan: how many tubs, named T01, T02 and so on")
        ->type_name("N");
    command->add_option("--out", options->out, "The PDF file to write")->required()->type_name("FILE");
    command
        ->add_option_function<std::string>(
            "--paper",
            [options](const std::string& typed) {
                options->paper = typed == "letter" ? Paper::us_letter : Paper::a4;
            },
            "a4 or letter")
        ->transform(oneOf({"a4", "letter"}))
        ->type_name("PAPER")
        ->default_str("a4");
    command
        ->add_option("--qr-side", options->label.qr_side_mm,
                     "Side of the QR code, mm; the label scales with it")
        ->capture_default_str()
        ->type_name("MM")
        ->check(number(5, 120));
    command->add_flag("--json", options->json, "Say what was made as JSON");
    command->callback([options, &exit_code] {
        makeLabels(*options);
        exit_code = kAllMeasured;
    });
}

}  // namespace slipglass
