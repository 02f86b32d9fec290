#include <algorithm>
#include <iostream>
#include <memory>
#include <nlohmann/json.hpp>
#include <string>

#include "commands.h"
#include "slipglass/error.h"
#include "slipglass/observe.h"
#include "slipglass/report/plan_csv.h"
#include "slipglass/season/csv.h"
#include "slipglass/season/draw_plan.h"
#include "slipglass/statistics/power.h"
#include "slipglass/store/write_file.h"
#include "slipglass/terminal_text.h"
#include "slipglass/text.h"
#include "slipglass/typed_date.h"
#include "usage.h"

namespace slipglass {
namespace {

using nlohmann::json;

struct PlanOptions {
    BatchWish wish;
    std::string variety, medium, treatment, stuck_on, settings, out;
    bool force = false, json = false;
};

/// What a batch can show of one factor, from the two of its levels with the fewest cuttings.
struct CanShow {
    std::string column;
    int a = 0, b = 0;  ///< cuttings, at most kMostCounted
    struct Row {
        int percent;
        NoticedFrom other;
    };
    std::vector<Row> rows;   ///< empty when not even none against all would be noticed
    int side_for_30_points;  ///< cuttings
    int tubs_for_30_points;  ///< in all, for all levels
};

// A difference of 30 points is hardest to see about the middle.
constexpr int kThirtyFrom = 35, kThirtyTo = 65;
// A larger side is taken for this many: it can show no less, and would take long to count.
constexpr int kMostCounted = 200;

std::vector<std::string> valuesOf(const std::string& text, const std::string& option)
{
    std::vector<std::string> values;
    for (const CsvRecord& record : parseCsv(text, option))
        for (std::string value : record.fields) {
            const auto blank = [](unsigned char c) { return c == ' ' || c == '\t'; };
            value.erase(value.begin(), std::find_if_not(value.begin(), value.end(), blank));
            value.erase(std::find_if_not(value.rbegin(), value.rend(), blank).base(), value.end());
            values.push_back(std::move(value));
        }
    return values;
}

BatchWish wishOf(const PlanOptions& options)
{
    BatchWish wish = options.wish;
    const auto add = [&](const char* column, const std::string& typed) {
        if (!typed.empty()) wish.factors.push_back({column, valuesOf(typed, std::string("--") + column)});
    };
    add("variety", options.variety);
    add("medium", options.medium);
    add("treatment", options.treatment);
    if (!options.stuck_on.empty()) {
        const TypedDate typed = typedDate(options.stuck_on);
        if (!typed.date) throw Error("--stuck-on", typed.problem, typed.remedy);
        wish.stuck_on = typed.date;
    }
    if (!wish.tub_type.empty()) {
        std::vector<TubType> own;
        if (!options.settings.empty()) own = readSettingsFile(options.settings).tub_types;
        (void)tubType(wish.tub_type, own);  // throws when there is none of that name
    }
    return wish;
}

CanShow whatItCanShow(const DrawnPlan& drawn, const BatchWish& wish, size_t factor)
{
    std::vector<int> tubs = tubsByLevel(drawn, wish.factors, factor);
    std::sort(tubs.begin(), tubs.end());
    CanShow can;
    can.column = wish.factors[factor].column;
    can.a = std::min(kMostCounted, tubs[0] * wish.cuttings_per_tub);
    can.b = std::min(kMostCounted, tubs[1] * wish.cuttings_per_tub);
    const FisherPower power(can.a, can.b);
    if (power.chance(0, 1) >= kWantedPower)
        for (const int percent : {10, 30, 50, 70, 90})
            can.rows.push_back({percent, noticedFrom(power, percent)});
    can.side_for_30_points = groupSizeFor(kThirtyFrom / 100.0, kThirtyTo / 100.0).value();
    const int tubs_a_side = (can.side_for_30_points + wish.cuttings_per_tub - 1) / wish.cuttings_per_tub;
    can.tubs_for_30_points = tubs_a_side * static_cast<int>(tubs.size());
    return can;
}

std::vector<CanShow> whatItCanShow(const DrawnPlan& drawn, const BatchWish& wish)
{
    std::vector<CanShow> all;
    for (size_t f = 0; f < wish.factors.size(); ++f)
        if (wish.factors[f].levels.size() > 1) all.push_back(whatItCanShow(drawn, wish, f));
    return all;
}

std::string otherText(const NoticedFrom& other)
{
    std::string text;
    if (other.at_most)
        text = *other.at_most == 0 ? "not at all" : std::to_string(*other.at_most) + " % or less";
    if (!other.at_least) return text.empty() ? "(neither none nor all would be noticed)" : text;
    if (!text.empty()) text += ", or ";
    return text + (*other.at_least == 100 ? "all of them" : std::to_string(*other.at_least) + " % or more");
}

void tellShares(const DrawnPlan& drawn, const PlanOptions& options, const BatchWish& wish)
{
    const auto [least, most] = std::minmax_element(drawn.block_sizes.begin(), drawn.block_sizes.end());
    std::cout << options.out << ": " << counted(wish.tubs, "tub", "tubs");
    if (wish.cuttings_per_tub > 1)
        std::cout << ", " << counted(wish.cuttings_per_tub, "cutting", "cuttings") << " in each";
    std::cout << ", in " << counted(drawn.block_sizes.size(), "block", "blocks") << " of " << *least;
    if (*least != *most) std::cout << (*most == *least + 1 ? " or " : " to ") << *most;
    std::cout << "; lots drawn with seed " << wish.seed << "\n";
    if (wish.factors.empty()) return;
    for (const TubsAlike& alike : drawn.shares)
        std::cout << "  " << counted(alike.tubs, "tub", "tubs") << "  "
                  << printable(joined(alike.levels, ", ")) << "\n";
    const auto fewer = [](const TubsAlike& a, const TubsAlike& b) { return a.tubs < b.tubs; };
    const auto [few, many] = std::minmax_element(drawn.shares.begin(), drawn.shares.end(), fewer);
    if (few->tubs != many->tubs)
        std::cout << counted(wish.tubs, "tub", "tubs") << " cannot be shared out evenly among "
                  << drawn.shares.size() << ": lots decided which get one more.\n";
}

void tellWhatItCanShow(const CanShow& can)
{
    std::cout << "\nWhat " << counted(can.a, "cutting", "cuttings") << " against " << can.b << " can show ("
              << can.column << "):\n";
    if (can.rows.empty())
        std::cout << "nothing. Even if all of one side struck and none of the other, it would pass for "
                     "chance.\n";
    else {
        std::cout << "for a difference to be noticed 8 times in 10,\n"
                     "  where one strikes  the other must strike\n";
        for (const CanShow::Row& row : can.rows)
            std::cout << "               " << row.percent << " %  " << otherText(row.other) << "\n";
    }
    std::cout << "To see a difference of 30 points (" << kThirtyFrom << " % against " << kThirtyTo
              << " %, where it is hardest)\ntakes " << can.side_for_30_points << " cuttings a side, "
              << can.tubs_for_30_points << " tubs in all.\n";
}

void tell(const DrawnPlan& drawn, const PlanOptions& options, const BatchWish& wish)
{
    tellShares(drawn, options, wish);
    const std::string note = stuckOnNote(drawn.plan, options.out);
    if (!note.empty()) std::cout << note << "\n";
    const std::vector<CanShow> all = whatItCanShow(drawn, wish);
    for (const CanShow& can : all) tellWhatItCanShow(can);
    if (all.empty()) return;
    std::cout << "\nExact, for Fisher's test at the 5 % level, if each cutting strikes or fails by itself.\n";
    if (wish.cuttings_per_tub > 1)
        std::cout << "Cuttings in one tub often strike or fail together: then it can show less than this.\n";
    if (std::any_of(wish.factors.begin(), wish.factors.end(),
                    [](const auto& f) { return f.levels.size() > 2; }))
        std::cout << "Looking at several pairs at once needs a larger difference than this.\n";
}

json asJson(const DrawnPlan& drawn, const PlanOptions& options, const BatchWish& wish)
{
    const auto orNull = [](std::optional<int> value) { return value ? json(*value) : json(); };
    json shares = json::array(), shows = json::array();
    for (const TubsAlike& alike : drawn.shares) {
        json share = {{"tubs", alike.tubs}};
        for (size_t f = 0; f < wish.factors.size(); ++f) share[wish.factors[f].column] = alike.levels[f];
        shares.push_back(std::move(share));
    }
    for (const CanShow& can : whatItCanShow(drawn, wish)) {
        json rows = json::array();
        for (const CanShow::Row& row : can.rows)
            rows.push_back({{"one_strikes_percent", row.percent},
                            {"other_at_least_percent", orNull(row.other.at_least)},
                            {"other_at_most_percent", orNull(row.other.at_most)}});
        shows.push_back({{"column", can.column},
                         {"cuttings", {can.a, can.b}},
                         {"noticed_8_times_in_10", rows},
                         {"cuttings_a_side_for_30_points", can.side_for_30_points},
                         {"tubs_for_30_points", can.tubs_for_30_points}});
    }
    return {{"out", options.out},
            {"tubs", wish.tubs},
            {"seed", wish.seed},
            {"cuttings", drawn.plan.cuttings.size()},
            {"stuck_on", wish.stuck_on ? json(isoDate(*wish.stuck_on)) : json()},
            {"shares", shares},
            {"block_sizes", drawn.block_sizes},
            {"can_show", shows}};
}

void makePlan(const PlanOptions& options)
{
    const BatchWish wish = wishOf(options);
    const DrawnPlan drawn = drawPlan(wish);
    std::error_code ignored;
    if (!options.force && std::filesystem::exists(options.out, ignored))
        throw Error(options.out, "is there already", "Give another name, or --force to write over it");
    writeFile(options.out, planCsv(drawn.plan));
    if (options.json)
        std::cout << asJson(drawn, options, wish).dump(2, ' ', false, json::error_handler_t::replace) << "\n";
    else
        tell(drawn, options, wish);
}

}  // namespace

void addPlanCommand(CLI::App& app, int& exit_code)
{
    auto options = std::make_shared<PlanOptions>();
    BatchWish& wish = options->wish;
    CLI::App* command = app.add_subcommand(
        "plan", "A batch plan by lot: which tub gets what, fairly, and what such a batch can show");
    command->add_option("--tubs", wish.tubs, "How many tubs")->required()->type_name("N");
    command->add_option("--medium", options->medium, "Media to compare, with commas between them")
        ->type_name("A,B,...");
    command
        ->add_option("--treatment", options->treatment,
                     "Treatments to compare; with --medium, each with each")
        ->type_name("A,B,...");
    command->add_option("--variety", options->variety, "Varieties to share out likewise")
        ->type_name("A,B,...");
    command->add_option("--blocks", wish.blocks, "Stretches of the sill, each alike in light and warmth")
        ->type_name("N");
    command
        ->add_option("--per-block", wish.per_block,
                     "Or: tubs in each; if neither is given, each combination once")
        ->type_name("N");
    command->add_option("--cuttings-per-tub", wish.cuttings_per_tub, "1 to 3")
        ->type_name("N")
        ->capture_default_str();
    command
        ->add_option(
            "--stuck-on", options->stuck_on,
            "The day they are stuck, as 2026-01-12. Not known yet: fill in the column stuck_on later; until "
            "then days since sticking and days to strike stay empty")
        ->type_name("DATE");
    command->add_option("--tub-type", wish.tub_type, "quart, gallon, or your own from --settings")
        ->type_name("TYPE");
    command->add_option("--settings", options->settings, "The file with tub types of your own")
        ->type_name("FILE");
    command->add_option("--seed", wish.seed, "Another number draws other lots")
        ->type_name("N")
        ->check(wholeNumber(0, 999'999'999))
        ->capture_default_str();
    command->add_option("--out", options->out, "The plan to write, such as batch.csv")
        ->required()
        ->type_name("FILE");
    command->add_flag("--force", options->force, "Write over a file that is there");
    command->add_flag("--json", options->json, "Say what was made, and what it can show, as JSON");
    command->callback([options, &exit_code] {
        makePlan(*options);
        exit_code = kAllMeasured;
    });
}

}  // namespace slipglass
