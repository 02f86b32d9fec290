#include "measure_photo.h"

#include <algorithm>
#include <opencv2/imgproc.hpp>

#include "draw_photo.h"
#include "look_at.h"
#include "slipglass/panel/panel_file.h"
#include "slipglass/wall/view_facts.h"
#include "try_photo.h"

namespace slipglass {

namespace {

/// What later photos and the reading of the whole wall need of one.
KeptView keptView(const Look& look, const PanelFile& panel, const Picture& picture, const std::string& basis)
{
    const WallViewFile view = encodeWallView(look.view.value());
    const ViewFacts facts{look.place,
                          look.light,
                          look.root_share,
                          picture.bgr.size(),
                          picture.full_size,
                          picture.reduction,
                          look.fog,
                          view.meta,
                          panel.meta,
                          look.panel->in_mm,
                          look.panel->unit_per_px,
                          look.panel->inner.cone.base_radius};
    KeptView kept{look.seen.photo, look.seen.tub, basis,      look.place.side,
                  metaOf(facts),   view.bytes,    panel.bytes};
    kept.drawn = false;
    return kept;
}

Problem problemOf(const Look& look)
{
    std::string why;
    for (const std::string& note : look.seen.notes) why += (why.empty() ? "" : "; ") + note;
    return {look.seen.photo, look.seen.tub, look.seen.state == State::retake ? "retake" : "caution", why,
            look.remedy};
}

/// A photo as later ones are shown it until the season file has it: as that will give it back.
EarlierView viewOf(const Look& look, const OnSide& place, const PanelFile& panel)
{
    return {place,           look.panel->in_mm,
            look.light,      [panel] { return decodePanel(panel); },
            look.root_share, look.panel->inner.cone.base_radius};
}

/// Where another version of the program cannot measure what one before it could, from the same photo and with
/// the same settings, the figures of then stand.
/// @return what to say; empty where the new figures take their place.
std::optional<Problem> keptAsBefore(const Item& item, const Looks& found,
                                    const std::optional<StoredPhoto>& kept)
{
    if (!kept || kept->made.content != item.made.content || kept->made.program == item.made.program ||
        (kept->made.settings != item.made.settings && kept->made.program != kProgramOfOldSeasons))
        return std::nullopt;
    for (size_t i = 0; i < item.tubs.size(); ++i) {
        const bool had =
            std::any_of(kept->observations.begin(), kept->observations.end(),
                        [&](const Observation& seen) { return seen.tub == item.tubs[i] && usable(seen); });
        if (had && !usable(found.looks[i].seen)) return keptInstead(problemOf(found.looks[i]), kept);
    }
    return std::nullopt;
}

/// However a photo is done with, others do not wait for it any more.
struct Leaving {
    EarlierViews& earlier;
    const Item& item;
    ~Leaving() { earlier.leave(item); }
};

/// What a photo that cannot be looked at leaves.
Measured notMeasured(const Item& item, const Problem& problem, EarlierViews& earlier, const Run& run)
{
    const std::string& name = item.file.name;
    const auto kept = keptInstead(problem, run.store.photo(name));
    MadeFrom made = item.made;
    if (isPassing(problem)) {
        made.program.clear();  // so that the next run tries again
        earlier.miss(item);
    }
    for (const std::string& tub : item.tubs)
        kept ? earlier.settleAsKept(tub, name) : earlier.settle(tub, name, {});
    if (!kept) run.store.putPhoto(name, made, {}, {problem});
    return {false, kept};
}

Measured looked(const Item& item, EarlierViews& earlier, const Run& run)
{
    const std::string& name = item.file.name;
    std::map<std::string, PanelFile> panels;
    // A photo that begins a side is shown when its light is known too; the others need not be waited for.
    const auto back = [&](const Look& wall, const Picture& picture) {
        const std::string& tub = wall.seen.tub;
        panels[tub] = encodePanel(*wall.panel);
        TubHistory history = lookBack(*wall.panel, earlier.views(tub, name));
        if (!history.place.side.empty()) earlier.settle(tub, name, viewOf(wall, history.place, panels[tub]));
        // A turned tub is alone too, but shows no other's wall. A label read in the picture is the last word.
        if (!history.why_alone.empty() && !wall.tub->label) {
            WallInPhoto in_photo(picture, *wall.tub, run.settings.panel);
            const auto others = earlier.ofOtherTubs(tub, name);
            history.fits_other_tub =
                knownTub(likenesses(in_photo, wall.seen.taken.date, others)).value_or("");
        }
        return history;
    };
    Looks found = looksAt(item, back, run.looking());
    if (const auto kept = keptAsBefore(item, found, run.store.photo(name))) {
        for (const std::string& tub : item.tubs) earlier.settleAsKept(tub, name);
        return {false, kept};
    }
    std::vector<Observation> seen;
    std::vector<Problem> problems;
    std::vector<KeptView> views;
    for (size_t i = 0; i < item.tubs.size(); ++i) {
        const std::string& tub = item.tubs[i];
        Look& look = found.looks[i];
        if (look.view && look.place.side.empty())
            look.place.side = contentHash(basisOf(tub, run.figures, run.looking()) + shownBy(item.made));
        if (look.view)
            earlier.settle(tub, name, viewOf(look, look.place, panels[tub]));
        else
            earlier.settle(tub, name, {});
        // A mask stays at the size it was made at, even if a later tub made the photo be decoded larger.
        Picture picture = found.picture;
        if (look.root_mask.size() != picture.bgr.size())
            cv::resize(found.picture.bgr, picture.bgr, look.root_mask.size(), 0, 0, cv::INTER_AREA);
        const Files files = filesOf(item, tub, run);
        drawWall(files, picture, look);
        // What a view shows is read, and drawn, with its tub's other photos.
        if (!look.view) drawRoots(files, picture, look);
        seen.push_back(look.seen);
        if (look.seen.state != State::measured) problems.push_back(problemOf(look));
        if (look.view)
            views.push_back(keptView(look, panels[tub], picture, basisOf(tub, run.figures, run.looking())));
    }
    MadeFrom made = item.made;
    if (earlier.missedBefore(item)) made.tubs.clear();  // measured again with what is missing now
    run.store.putPhoto(name, made, seen, problems, views, run.options.today);
    // Panels in memory no longer.
    for (const KeptView& view : views) earlier.settle(view.tub, name, earlierView(view, run.store));
    return {std::any_of(seen.begin(), seen.end(), usable), {}};
}

}  // namespace

std::optional<Problem> keptInstead(const Problem& problem, const std::optional<StoredPhoto>& kept)
{
    if (!kept || std::none_of(kept->observations.begin(), kept->observations.end(), usable))
        return std::nullopt;
    Problem told = problem;
    told.reason += "; its figures are kept";
    if (kept->measured_on) told.reason += " from " + isoDate(*kept->measured_on);
    return told;
}

Measured measurePhoto(const Item& item, EarlierViews& earlier, const Run& run)
{
    const Leaving leaving{earlier, item};
    Measured measured;
    const auto problem =
        tryPhoto(item.file.name, onlyTub(item), [&] { measured = looked(item, earlier, run); });
    return problem ? notMeasured(item, *problem, earlier, run) : measured;
}

}  // namespace slipglass
