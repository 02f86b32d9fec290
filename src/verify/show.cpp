#include "slipglass/verify/show.h"

#include <algorithm>
#include <nlohmann/json.hpp>

#include "figures.h"
#include "slipglass/season/csv.h"
#include "slipglass/season/figures.h"
#include "slipglass/terminal_text.h"

namespace slipglass {

namespace {

using nlohmann::ordered_json;

std::string shown(std::optional<double> value, int decimals)
{
    return value ? figureText(value, decimals) : "-";
}

/// "found of true": how a pair of figures is shown in tables.
std::string pairText(std::optional<double> found, std::optional<double> truth, int decimals)
{
    return shown(found, decimals) + " of " + shown(truth, decimals);
}

std::string yesNo(std::optional<bool> value)
{
    return !value ? "" : *value ? "true" : "false";
}

/// Columns side by side: the first starts at the left, the others end at the right.
std::string table(const std::vector<std::vector<std::string>>& rows)
{
    std::vector<size_t> widths(rows.front().size(), 0);
    for (const auto& row : rows)
        for (size_t c = 0; c < row.size(); ++c) widths[c] = std::max(widths[c], terminalWidth(row[c]));
    std::string text;
    for (const auto& row : rows) {
        text += leftAligned(row[0], widths[0]);
        for (size_t c = 1; c < row.size(); ++c) text += "  " + rightAligned(row[c], widths[c]);
        text += '\n';
    }
    return text;
}

std::string confusionTable(const Confusion& c)
{
    return table({{"Standing water, photos", "drawn", "none drawn"},
                  {"  said", std::to_string(c.tp), std::to_string(c.fp)},
                  {"  none said", std::to_string(c.fn), std::to_string(c.tn)}});
}

template <class T>
ordered_json orNull(const std::optional<T>& value)
{
    return value ? ordered_json(*value) : ordered_json(nullptr);
}

ordered_json jsonOf(const Summary& summary)
{
    ordered_json to = ordered_json::object();
    to["photos"] = summary.photos;
    to["compared"] = summary.compared;
    to["rootless"] = summary.rootless;
    to["water_levels"] = summary.water_levels;
    for (const SummaryFigure& figure : kSummaryFigures)
        to[figure.name] = orNull(finite(summary.*figure.value));
    const Confusion& c = summary.standing;
    to["standing"] = {{"tp", c.tp}, {"fp", c.fp}, {"fn", c.fn}, {"tn", c.tn}};
    return to;
}

ordered_json jsonOf(const PhotoAgreement& photo)
{
    ordered_json to = ordered_json::object();
    to["photo"] = photo.photo;
    to["tub"] = photo.tub;
    to["outcome"] = photo.outcome;
    for (const PhotoFigure& figure : kPhotoFigures) to[figure.name] = orNull(finite(photo.*figure.value));
    to["standing_water"] = orNull(photo.standing_water);
    to["true_standing_water"] = orNull(photo.true_standing_water);
    to["roots_px"] = nullptr;
    if (const auto& roots = photo.roots)
        to["roots_px"] = {{"both", roots->both},
                          {"found", roots->found},
                          {"drawn", roots->drawn},
                          {"found_near_drawn", roots->found_near_drawn},
                          {"drawn_near_found", roots->drawn_near_found}};
    return to;
}

std::vector<std::string> csvFields(const PhotoAgreement& photo)
{
    std::vector<std::string> fields{photo.photo, photo.tub, photo.outcome};
    for (const PhotoFigure& figure : kPhotoFigures)
        fields.push_back(figureText(photo.*figure.value, figure.decimals));
    fields.push_back(yesNo(photo.standing_water));
    fields.push_back(yesNo(photo.true_standing_water));
    return fields;
}

}  // namespace

std::string summaryTable(const Verification& result)
{
    const Summary all = summaryOf(result.photos);
    std::string text = std::to_string(all.compared) + " of " + std::to_string(all.photos) +
                       " photos compared with truth; edges forgiven within " +
                       std::to_string(result.settings.tolerance_px) + " px.\n";
    if (result.photos_without_truth > 0)
        text += std::to_string(result.photos_without_truth) + " more in observations.csv have no truth.\n";
    std::vector<std::vector<std::string>> rows;
    rows.reserve(kSummaryFigures.size());
    for (const SummaryFigure& figure : kSummaryFigures)
        rows.push_back({figure.meaning, shown(all.*figure.value, figure.decimals)});
    return text + '\n' + table(rows) + '\n' + confusionTable(all.standing);
}

std::string tubTable(const Verification& result)
{
    std::vector<std::vector<std::string>> rows{
        {"tub", "photos", "Dice", "edge ok", "wall", "coverage", "length", "water", "F1", "scale"},
        {"", "", "", "", "IoU", "err pp", "ratio", "err mm", "water", "err"}};
    for (const auto& [tub, of_tub] : summaryByTub(result.photos))
        rows.push_back({tub.empty() ? "(unknown)" : printable(tub),
                        std::to_string(of_tub.compared) + "/" + std::to_string(of_tub.photos),
                        shown(of_tub.dice, 2), shown(of_tub.tolerant_dice, 2),
                        shown(of_tub.wall_iou_median, 2), shown(of_tub.mask_coverage_error_median, 2),
                        shown(of_tub.skeleton_length_ratio_median, 2), shown(of_tub.water_error_median_mm, 1),
                        shown(of_tub.standing_f1, 2), shown(of_tub.scale_error_median, 3)});
    return table(rows);
}

std::string photoTable(const Verification& result)
{
    std::vector<std::vector<std::string>> rows{
        {"photo", "Dice", "edge ok", "wall", "coverage %", "length", "water mm", "scale", "outcome"}};
    for (const PhotoAgreement& photo : result.photos)
        rows.push_back({printable(photo.photo), shown(photo.dice, 2), shown(photo.tolerant_dice, 2),
                        shown(photo.wall_iou, 2),
                        pairText(photo.mask_coverage_percent, photo.true_mask_coverage_percent, 2),
                        shown(photo.skeleton_length_ratio, 2),
                        pairText(photo.water_level_mm, photo.true_water_level_mm, 1),
                        shown(photo.scale_ratio, 3), printable(photo.outcome)});
    return table(rows);
}

std::string agreementCsv(const Verification& result)
{
    std::vector<std::string> head{"photo", "tub", "outcome"};
    for (const PhotoFigure& figure : kPhotoFigures) head.emplace_back(figure.name);
    head.insert(head.end(), {"standing_water", "true_standing_water"});
    std::string text = csvRecord(head);
    for (const PhotoAgreement& photo : result.photos) text += csvRecord(csvFields(photo));
    return text;
}

std::string agreementJson(const Verification& result)
{
    ordered_json to = ordered_json::object();
    to["schema_version"] = 1;
    to["tolerance_px"] = result.settings.tolerance_px;
    to["photos_without_truth"] = result.photos_without_truth;
    to["all"] = jsonOf(summaryOf(result.photos));
    to["tubs"] = ordered_json::object();
    for (const auto& [tub, of_tub] : summaryByTub(result.photos)) to["tubs"][tub] = jsonOf(of_tub);
    to["photos"] = ordered_json::array();
    for (const PhotoAgreement& photo : result.photos) to["photos"].push_back(jsonOf(photo));
    to["problems"] = result.problems;
    return to.dump(1, ' ', false, ordered_json::error_handler_t::replace) + '\n';
}

}  // namespace slipglass
