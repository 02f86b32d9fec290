#include "look_at.h"

#include <algorithm>
#include <nlohmann/json.hpp>
#include <opencv2/core.hpp>

#include "wall.h"

namespace slipglass {

namespace {

/// A picture and its labels.
struct OpenPhoto {
    Picture picture;
    std::vector<Label> labels;
};

OpenPhoto openPhoto(const Item& item, int long_side, const Settings& settings)
{
    OpenPhoto open{readPicture(item.file.path, *item.facts, long_side), {}};
    open.labels = labelsIn(open.picture, settings.label);
    return open;
}

/// The tub's label among those read; empty when it has none that can be read.
std::optional<Label> labelOf(const std::string& tub, const std::vector<Label>& labels)
{
    for (const Label& label : labels)
        if (label.tub == tub) return label;
    return std::nullopt;
}

/// Looks at one tub; decodes the photo larger first when the tub turns out small in it.
Look lookAt(OpenPhoto& open, const Item& item, const std::string& tub, const TubHistory& history,
            const Looking& looking)
{
    TubInPhoto which{tub, looking.typeOf(tub), labelOf(tub, open.labels)};
    if (const auto said = item.corrections.find(tub); said != item.corrections.end())
        which.correction = said->second;
    for (;;) {
        Look look =
            observe(open.picture, *item.facts, item.file.name, *item.taken, which, history, looking.settings);
        if (!look.panel) return look;
        const double wanted = 0.8 / looking.settings.panel.mm_per_px;
        if (open.picture.reduction > 1 && look.panel->px_per_mm / open.picture.reduction < wanted) {
            open =
                openPhoto(item, 2 * std::max(open.picture.bgr.cols, open.picture.bgr.rows), looking.settings);
            which.label = labelOf(tub, open.labels);
            continue;
        }
        if (!which.label && (which.label = labelOf(tub, labelsOn(*look.panel, looking.settings.label))))
            continue;
        if (!which.label && !open.labels.empty()) {
            look.seen.state = std::max(look.seen.state, State::caution);
            look.seen.notes.push_back("the label in the photo says " + open.labels.front().tub);
            look.remedy = "If it is that tub, rename the photo or move it to that tub's folder";
        }
        return look;
    }
}

}  // namespace

std::optional<TubType> Looking::typeOf(const std::string& tub) const
{
    if (plan)
        for (const PlannedCutting& cutting : plan->cuttings)
            if (cutting.tub == tub && !cutting.tub_type.empty())
                return tubType(cutting.tub_type, settings.tub_types);
    return std::nullopt;
}

Looks looksAt(const Item& item, const std::vector<std::string>& tubs,
              const std::vector<TubHistory>& histories, const Looking& looking)
{
    Looks found;
    try {
        OpenPhoto open = openPhoto(item, kPictureSide, looking.settings);
        for (size_t i = 0; i < tubs.size(); ++i)
            found.looks.push_back(lookAt(open, item, tubs[i], histories[i], looking));
        found.picture = open.picture;
    } catch (const Error& error) {
        found.problem = problemOf(item.file.name, error);
    } catch (const cv::Exception& bug) {
        // One odd picture must not cost a season of readings.
        found.problem =
            Problem{item.file.name, "", "not measured", "slipglass failed on this picture: " + bug.err,
                    "Take the photo again, and please report this one"};
    }
    return found;
}

TubHistory historyFor(const std::string& tub, const Item& item, const SeasonStore& store)
{
    TubHistory history;
    const auto reference = store.referencePanel(tub);
    if (!reference) return history;
    const nlohmann::json meta = nlohmann::json::parse(reference->meta, nullptr, false);
    if (!meta.is_object()) return history;
    if (meta.contains("wall_lightness") && meta["wall_lightness"].is_number())
        history.first_wall_lightness = meta["wall_lightness"];
    if (meta.contains("white") && meta["white"].is_number()) history.first_white = meta["white"];
    history.against_label = meta.value("against_label", false);
    history.is_first = reference->photo == item.file.name;
    if (!history.is_first) history.first = panelOf(reference);
    return history;
}

}  // namespace slipglass
