#include "slipglass/observe.h"

#include <algorithm>
#include <cmath>
#include <opencv2/core.hpp>

#include "slipglass/corrections/on_panel.h"
#include "slipglass/wall/set_figures.h"
#include "slipglass/water/condition.h"

namespace slipglass {

namespace {

/// Lowers the state and says why; the first remedy given is the one shown.
void doubt(Look& look, State state, const std::string& why, const std::string& remedy)
{
    look.seen.state = std::max(look.seen.state, state);
    look.seen.notes.push_back(why);
    if (look.remedy.empty()) look.remedy = remedy;
}

std::vector<PhotoPoint> outlineOf(const Panel& panel, const Tub& tub)
{
    const View view(tub.pose);
    const double g = view.grazingAngle();
    const double rim = tub.pose.cone.height > 0 ? tub.pose.cone.height : panel.top;
    return {view.photoFromWall({-g, rim}), view.photoFromWall({g, rim}), view.photoFromWall({g, 0}),
            view.photoFromWall({-g, 0})};
}

std::vector<PhotoPoint> waterLine(const Panel& panel, double level, const Tilt& tilt)
{
    const View view(panel.inner);
    const double widest = 0.95 * view.grazingAngle();
    std::vector<PhotoPoint> line;
    for (int i = -12; i <= 12; ++i) {
        const double angle = i / 12.0 * widest;
        line.push_back(
            view.photoFromWall({angle, level + tilt.riseAt(angle, panel.inner.cone.radiusAt(level))}));
    }
    return line;
}

/// What was read of water. A surface that may be out of sight leaves an interval without a level.
void setWater(Observation& seen, const WaterReading& water, const Panel& panel, double medium_height)
{
    if (!water.note.empty()) seen.notes.push_back(water.note);
    seen.water = {water.level, water.low, water.high};
    if (water.level) {
        seen.water_level_percent = 100 * *water.level / medium_height;
        if (*water.level > 0) seen.water_line = waterLine(panel, *water.level, water.tilt);
    }
    seen.water_level_mm = panel.mm(water.level);
    seen.water_low_mm = panel.mm(water.low);
    seen.water_high_mm = panel.mm(water.high);
}

/// What a person has painted holds.
void applyStrokes(RootMap& roots, const Panel& panel, const std::vector<Stroke>& strokes)
{
    const PaintedPanel painted = paintedOnPanel(panel, strokes);
    roots.mask |= painted.root;
    roots.mask &= ~painted.not_root;
    roots.browned &= roots.mask;
    roots.log_odds.setTo(kSaidLogOdds, painted.root);
    roots.log_odds.setTo(-kSaidLogOdds, painted.not_root);
}

/// Where the line drawn by hand lies on the wall; the program's own reading when there is none, or when it
/// lies beside the tub.
WaterReading waterOf(const Panel& panel, const WaterEvidence& evidence, double confidence,
                     const std::optional<Correction>& correction, const WaterSettings& settings,
                     std::vector<std::string>& notes)
{
    const auto told = [&] { return waterLevel(panel, evidence, confidence, settings); };
    if (!correction || !correction->water_line) return told();
    const auto level = levelOnPanel(panel, *correction->water_line);
    if (!level) {
        notes.emplace_back("the water line set by hand lies beside the tub and was left out");
        return told();
    }
    if (*level > 0 && !panel.base_known) {
        notes.emplace_back("the water line set by hand was left out: its height above the base is not known");
        return told();
    }
    notes.emplace_back("water line set by hand");
    if (*level == 0) return {0.0, 0.0, 0.0};
    return {level, std::max(0.0, *level - settings.level_error_mm), *level + settings.level_error_mm};
}

/// The tub's place. Where its label and its type in the plan disagree about the size, one of them is left
/// out.
TubFinding tubOf(Look& look, const Picture& picture, const PhotoFacts& facts, const TubInPhoto& which,
                 const Settings& settings)
{
    TubQuery query{picture.bgr, picture.full_size, facts.focal_35mm, which.type, which.label};
    if (which.correction) query.outline = which.correction->outline;
    if (query.outline) look.seen.notes.emplace_back("outline set by hand");
    TubFinding finding = findTub(query, settings.tub);
    if (which.type && which.label &&
        (!finding.tub ||
         std::abs(finding.tub->label_over_type.value_or(1) - 1) > settings.quality.label_mismatch)) {
        query.type.reset();
        const TubFinding by_label = findTub(query, settings.tub);
        if (by_label.tub && by_label.tub->in_mm) {
            // Another tub has another shape; a label printed in another size leaves the shape as it is.
            const bool type_fits =
                finding.tub && finding.tub->misfit - by_label.tub->misfit < kContradictingMisfit;
            const std::string both = "label and tub type disagree about the tub's size; ";
            if (type_fits) {
                doubt(look, State::caution, both + "the type was believed, since its shape fits the picture",
                      "Check that the labels were printed at 100 %, or correct tub_type in the plan");
            } else {
                finding = by_label;
                doubt(look, State::caution,
                      both + "the label was believed, since the type's shape does not fit the picture",
                      "Correct tub_type in the plan, or check that the labels were printed at 100 %");
            }
        }
    }
    return finding;
}

/// Roots on the panel, in the light of what was there before. What a person has painted holds.
/// @return  what the network sees of water.
WaterEvidence takeRoots(Look& look, const TubInPhoto& which, const TubHistory& history,
                        const Settings& settings)
{
    Observation& seen = look.seen;
    const Panel& panel = *look.panel;
    const std::optional<EarlierPanel>& before = look.before;
    // Roots that were there from the start, in the past too, look like straw.
    constexpr double kLateStart =
        0.02;  // share of the wall; straw alone is called less. Tried: docs/measured/roots.md, "Late starts"
    const bool late = before && history.first_root_share > kLateStart && settings.roots.learned;
    PanelReading reading =
        readPanel(panel, late ? withRootsHidden(*before, panel, settings.roots, settings.taught) : before,
                  settings.roots, settings.taught);
    RootMap& roots = reading.roots;
    look.root_share = cv::countNonZero(roots.mask & panel.visible) /
                      std::max(1.0, static_cast<double>(cv::countNonZero(panel.visible)));
    if (which.correction && !which.correction->strokes.empty()) {
        applyStrokes(roots, panel, which.correction->strokes);
        seen.notes.emplace_back("roots corrected by hand");
    }
    setRoots(seen, panel, roots, before ? 2 : 1);
    look.view = WallView{panel, roots, look.place.to_reference};
    if (const auto px_mm = panel.mm(panel.unit_per_px)) {
        const double area = cv::countNonZero(panel.frontal) * *px_mm * *px_mm;
        seen.wall_area_mm2 = area * std::sqrt(1 + std::pow(panel.inner.cone.slope, 2));
    }
    return reading.water;
}

/// Free water and the medium's height above the base.
/// @return  the water's level.
std::optional<double> takeWater(Look& look, const WaterEvidence& evidence, const TubInPhoto& which,
                                const Settings& settings)
{
    Observation& seen = look.seen;
    const Panel& panel = *look.panel;
    const Tub& tub = *look.tub;
    const WaterReading water =
        waterOf(panel, evidence, tub.confidence, which.correction, settings.water, seen.notes);
    const double medium_height = tub.surfaceMean() - tub.pose.cone.wall;
    setWater(seen, water, panel, medium_height);
    if (panel.base_known) seen.medium_height_mm = panel.mm(medium_height);
    if (!panel.base_known)
        seen.notes.emplace_back(
            "heights above the base not known: they need the tub's foot in the picture, or its type in the "
            "plan");
    if (!panel.in_mm) seen.notes.emplace_back("no scale: lengths need a label or a tub type in the plan");
    return water.level;
}

/// Lightness of the medium, fog and green.
void takeCondition(Look& look, const Picture& picture, const TubHistory& history,
                   const std::optional<double>& water_level)
{
    Observation& seen = look.seen;
    const Panel& panel = *look.panel;
    const std::optional<EarlierPanel>& before = look.before;
    std::optional<EarlierPanel> reference;
    if (before && !history.of_reference.empty()) reference = EarlierPanel{before->bgr, history.of_reference};
    const Condition condition =
        conditionOf(panel, *look.tub, picture.bgr, picture.reduction, water_level, reference);
    // A series of lightness is of one kind, that of the tub's first photo: a label that could not be read
    // this time leaves a gap, and so does one that the first photo, which gave no lightness, did not show.
    const bool comparable =
        history.against_label.value_or(condition.against_label) == condition.against_label;
    std::optional<double> lightness;
    if (comparable) {
        lightness =
            lightnessByGrains(condition, history.first_light.wall_lightness, history.first_light.white);
        if (!lightness) lightness = condition.wall_lightness;
    }
    // What stands beside a tub changes from photo to photo more than drying changes the medium: that tells
    // fog, but not wetness.
    if (condition.against_label) seen.wall_lightness = lightness;
    look.light = {lightness, condition.white, condition.against_label};
    seen.condensation_percent = condition.condensation_percent;
    seen.green_percent = condition.green_percent;
    look.fog = fogOnReference(condition.lightness, panel, condition.veil, look.view->roots.mask, water_level,
                              comparable ? condition.white : std::nullopt, look.place.to_reference,
                              look.place.reference_size);
}

/// @param photoAt  where a place of the picture that they were found in lies in the photo.
template <class PhotoAt>
std::vector<Label> inPhoto(const std::vector<FoundLabel>& found, const PhotoAt& photoAt)
{
    std::vector<Label> labels;
    for (const FoundLabel& one : found) {
        Label& label = labels.emplace_back(Label{one.tub, one.qr_side_mm, {}});
        std::transform(one.corners.begin(), one.corners.end(), label.corners.begin(), photoAt);
    }
    return labels;
}

}  // namespace

Look findWall(const Picture& picture, const PhotoFacts& facts, const std::string& photo, const TakenAt& taken,
              const TubInPhoto& which, const Settings& settings)
{
    Look look;
    Observation& seen = look.seen;
    seen.photo = photo;
    seen.tub = which.tub;
    seen.taken = taken;
    seen.state = State::measured;
    look.root_mask = cv::Mat::zeros(picture.bgr.size(), CV_8U);
    look.wall_mask = look.root_mask.clone();

    const TubFinding finding = tubOf(look, picture, facts, which, settings);
    if (!finding.tub) {
        doubt(look, State::retake, finding.reason, finding.remedy);
        return look;
    }
    look.tub = finding.tub;
    const Tub& tub = *look.tub;
    seen.confidence = tub.confidence;
    look.panel = unrollWall(picture.bgr, picture.reduction, tub, settings.panel);
    const Panel& panel = *look.panel;

    look.quality = qualityOf(panel, tub, picture.bgr, picture.reduction);
    const Quality& quality = *look.quality;
    seen.sharpness = quality.sharpness;
    seen.glare_percent = quality.glare_percent;
    seen.tilt_deg = quality.tilt_deg;
    seen.outline = outlineOf(panel, tub);
    if (panel.in_mm) seen.px_per_mm = panel.px_per_unit;
    look.wall_mask = photoMask(panel, panel.wall, picture.bgr.size(), picture.reduction);
    for (const Doubt& d : doubtsOf(quality, settings.quality)) doubt(look, d.state, d.why, d.remedy);
    return look;
}

void takeFigures(Look& look, const Picture& picture, const TubInPhoto& which, const TubHistory& history,
                 const Settings& settings)
{
    if (look.seen.state == State::retake) return;
    look.before = history.past;
    look.place = history.place;
    if (!history.why_alone.empty()) look.seen.notes.push_back(history.why_alone);
    const WaterEvidence evidence = takeRoots(look, which, history, settings);
    const std::optional<double> level = takeWater(look, evidence, which, settings);
    takeCondition(look, picture, history, level);
}

Look observe(const Picture& picture, const PhotoFacts& facts, const std::string& photo, const TakenAt& taken,
             const TubInPhoto& which, const std::vector<EarlierView>& earlier, const Settings& settings)
{
    Look look = findWall(picture, facts, photo, taken, which, settings);
    if (look.seen.state == State::retake) return look;
    takeFigures(look, picture, which, lookBack(*look.panel, earlier), settings);
    look.root_mask = photoMask(*look.panel, look.view->roots.mask, picture.bgr.size(), picture.reduction);
    return look;
}

std::vector<Label> labelsIn(const Picture& picture, const LabelSettings& settings,
                            const std::vector<std::string>& tubs)
{
    return inPhoto(findLabels(picture.bgr, settings, true, tubs), [&](cv::Point2d p) {
        return photoFromPicture({p.x, p.y}, picture.reduction);
    });
}

std::vector<Label> labelsOn(const Panel& panel, const LabelSettings& settings)
{
    return inPhoto(findLabels(panel.bgr, settings, false),
                   [&](cv::Point2d p) { return photoFromPanel(panel, panel.pointAt(p.x, p.y)); });
}

std::vector<Label> labelsOnWallOf(const Picture& picture, const PhotoFacts& facts, const Settings& settings)
{
    const TubQuery query{picture.bgr, picture.full_size, facts.focal_35mm, std::nullopt, std::nullopt};
    const TubFinding finding = findTub(query, settings.tub);
    if (!finding.tub) return {};
    return labelsOn(unrollWall(picture.bgr, picture.reduction, *finding.tub, settings.panel), settings.label);
}

}  // namespace slipglass
