#include "look_at.h"

#include <algorithm>

#include "settle_tubs.h"
#include "try_photo.h"

namespace slipglass {

namespace {

constexpr const char* kWrongTub = "If it is that tub, rename the photo or move it to that tub's folder";

/// A picture and its labels.
struct OpenPhoto {
    Picture picture;
    std::vector<Label> labels;
};

OpenPhoto openPhoto(const Item& item, int long_side, const Settings& settings)
{
    OpenPhoto open{readPicture(item.file.path, factsOf(item, settings.photos), long_side), {}};
    open.labels = labelsIn(open.picture, settings.label, item.tubs);
    return open;
}

/// The tub's label among those read; empty when it has none that can be read.
std::optional<Label> labelOf(const std::string& tub, const std::vector<Label>& labels)
{
    for (const Label& label : labels)
        if (label.tub == tub) return label;
    return std::nullopt;
}

/// Finds a tub's wall; decodes the photo larger first when the tub turns out small in it.
Look wallIn(OpenPhoto& open, const Item& item, TubInPhoto& which, const Settings& settings)
{
    for (;;) {
        Look look = findWall(open.picture, factsOf(item, settings.photos), item.file.name, *item.taken, which,
                             settings);
        if (!look.panel) return look;
        const double wanted = 0.8 / settings.panel.unit_per_px;
        if (open.picture.reduction > 1 && look.panel->px_per_unit / open.picture.reduction < wanted) {
            open = openPhoto(item, 2 * std::max(open.picture.bgr.cols, open.picture.bgr.rows), settings);
            which.label = labelOf(which.tub, open.labels);
            continue;
        }
        if (!which.label && (which.label = labelOf(which.tub, labelsOn(*look.panel, settings.label))))
            continue;
        return look;
    }
}

TubInPhoto whichTub(const OpenPhoto& open, const Item& item, const std::string& tub, const Looking& looking)
{
    TubInPhoto which{tub, looking.typeOf(tub), labelOf(tub, open.labels)};
    if (const auto said = item.corrections.find(tub); said != item.corrections.end())
        which.correction = said->second;
    return which;
}

Look lookAt(OpenPhoto& open, const Item& item, const std::string& tub, const LookingBack& back,
            const Looking& looking)
{
    TubInPhoto which = whichTub(open, item, tub, looking);
    Look look = wallIn(open, item, which, looking.settings);
    std::string fits_other;
    if (look.seen.state != State::retake) {
        const TubHistory history = back(look, open.picture);
        fits_other = history.fits_other_tub;
        takeFigures(look, open.picture, which, history, looking.settings);
    }
    if (knownByGrains(item)) look.seen.notes.emplace_back("tub known by the grains of its wall");
    if (look.panel && !which.label && !open.labels.empty()) {
        look.seen.state = std::max(look.seen.state, State::caution);
        look.seen.notes.push_back("the label in the photo says " + open.labels.front().tub);
        look.remedy = kWrongTub;
    }
    if (!fits_other.empty()) {
        look.seen.state = std::max(look.seen.state, State::caution);
        look.seen.notes.push_back("by its grains it shows the wall of " + fits_other);
        look.remedy = kWrongTub;
    }
    return look;
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

std::optional<Panel> panelOf(const Item& item, const std::string& tub, const Looking& looking)
{
    std::optional<Panel> panel;
    const auto problem = tryPhoto(item.file.name, tub, [&] {  // said when it is measured
        OpenPhoto open = openPhoto(item, kPictureSide, looking.settings);
        TubInPhoto which = whichTub(open, item, tub, looking);
        const Look look = wallIn(open, item, which, looking.settings);
        if (look.seen.state != State::retake) panel = look.panel;
    });
    return problem ? std::nullopt : panel;
}

Looks looksAt(const Item& item, const LookingBack& back, const Looking& looking)
{
    Looks found;
    OpenPhoto open = openPhoto(item, kPictureSide, looking.settings);
    for (const std::string& tub : item.tubs) found.looks.push_back(lookAt(open, item, tub, back, looking));
    found.picture = open.picture;
    return found;
}

}  // namespace slipglass
