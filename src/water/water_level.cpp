#include "slipglass/water/water_level.h"

#include <algorithm>
#include <cmath>
#include <vector>

#include "level_evidence.h"

namespace slipglass {

namespace {

// What filled pores do to the log of luminance: in the samples 0.3 to 0.8, where the first photo was dry.
constexpr double kWetter = 0.15, kNoChange = 0.08, kAlikeAtMost = 0.25;
// The medium's own edge is a step too, and grains stick out of it: near it only a bright line counts.
constexpr double kBelowSurfaceMm = 6;
// More of it than this is no filling of pores but another medium. Guess: wet soil reflects half of dry.
constexpr double kOtherMedium = 1.0;

/// How a surface was told, least to most certain.
enum class Kind { none, doubtful, line, weak_line, compared_pores, confirmed_line };

/// As dark right at the line as further off, and neither of it by a root that lies along the line.
bool sharp(const Step& step, double share, double for_sure)
{
    const double all = std::max(step.far.mean, step.beyond.mean);
    return step.near.blocks > 0 && step.near.mean >= share * all && step.near.atLeast() >= for_sure * all &&
           step.beyond.mean >= 0.5 * step.far.mean;
}

/// The wall is darker right below than right above, and more so than on the first photo if that shows it.
bool wetterBelow(const LevelEvidence& at)
{
    if (at.compared && at.change.far.atLeast() > kWetter) return true;
    return !at.compared && at.darker.far.atLeast() > kWetter;
}

/// The medium looks alike on both sides, as it does at a ridge of the tub, a strip of glare or a root: not
/// darker below, and with so many grains seen that it would show.
bool alike(const LevelEvidence& at)
{
    return at.darker.far.mean < at.darker.far.error + 0.01 && at.darker.far.atMost() < kAlikeAtMost;
}

/// A line that has come since the first photo, while nothing about the grains below has changed against those
/// above: wherever water stood then, a surface that is new here would show.
bool newLineOnly(const LevelEvidence& at)
{
    return at.compared && std::abs(at.change.far.mean) < kNoChange &&
           at.change.far.atMost() < 2 * kNoChange && at.first_line < 0.5 * at.line;
}

/// A weak or broken line over filled pores. Grains alone make weaker ones here and there, so more is asked
/// for where the first panel does not show what they looked like before.
bool weakLine(const LevelEvidence& at, const WaterSettings& settings)
{
    const double least = at.compared ? 0.35 : 0.7;
    const Step& step = at.compared ? at.change : at.darker;
    return at.line >= least * settings.line_lightness &&
           at.line_share >= (least + 0.2) * settings.line_share && step.far.share >= settings.step_share &&
           sharp(step, 0.4, 0.2) && at.calmer.mean > 0;
}

bool clearLine(const LevelEvidence& at, const WaterSettings& settings, double share_of_limits)
{
    return at.line >= share_of_limits * settings.line_lightness &&
           at.line_share >= share_of_limits * settings.line_share;
}

Kind lineKind(const LevelEvidence& at, const WaterSettings& settings)
{
    if (at.room && wetterBelow(at)) {
        // Grains that have darkened right up to the line leave little to doubt in it.
        if (clearLine(at, settings, at.compared ? 0.75 : 1)) return Kind::confirmed_line;
        return weakLine(at, settings) ? Kind::weak_line : Kind::none;
    }
    if (!clearLine(at, settings, 1)) return Kind::none;
    if (!at.room) return Kind::line;
    return alike(at) || newLineOnly(at) ? Kind::none : Kind::line;
}

/// Without a line. Damp medium ends in a slow change, a layer of another medium in a ragged one, and neither
/// those nor a shadow fills pores, which takes contrast from the grains.
Kind poreKind(const LevelEvidence& at, const WaterSettings& settings)
{
    const Step& step = at.compared ? at.change : at.darker;
    if (!at.room || step.far.share < settings.step_share) return Kind::none;
    if (!sharp(step, settings.step_sharpness, settings.step_sharpness - 0.2)) return Kind::none;
    if (at.calmer.atLeast() < 0.04) return Kind::none;
    if (at.compared) return step.far.atLeast() > 1.3 * kWetter ? Kind::compared_pores : Kind::none;
    const bool same_medium = step.far.mean < kOtherMedium && at.richer.atMost() > 0;
    return step.far.atLeast() > settings.step_alone && same_medium ? Kind::doubtful : Kind::none;
}

struct Surface {
    Kind kind = Kind::none;
    const LevelEvidence* at = nullptr;
};

double strength(const LevelEvidence& at)
{
    return at.line + 10 * std::max(0.0, at.compared ? at.change.far.mean : at.darker.far.mean);
}

Surface surfaceIn(const LevelSearch& search, const Panel& panel, const WaterSettings& settings)
{
    Surface best;
    const double near_top = search.highest_row + kBelowSurfaceMm / panel.mm_per_px;
    for (const LevelEvidence& at : search.candidates) {
        Kind kind = lineKind(at, settings);
        if (at.row < near_top && kind != Kind::confirmed_line) kind = Kind::none;
        if (kind == Kind::none && at.row >= near_top) kind = poreKind(at, settings);
        if (kind == Kind::none || kind < best.kind) continue;
        if (kind == best.kind && strength(at) <= strength(*best.at)) continue;
        best = {kind, &at};
    }
    return best;
}

/// Rows that hide a surface, if the wall above them is not seen to be as wet as below. Right under the
/// medium's ragged surface a few rows are always in doubt, and are left so.
const HiddenBand* whereItMayHide(const LevelSearch& search, const Panel& panel)
{
    for (const HiddenBand& band : search.hidden) {
        if (band.bottom_row < search.highest_row + 2 * kBelowSurfaceMm / panel.mm_per_px) continue;
        const bool told = band.change.blocks > 0
                              ? band.change.atMost() < kWetter
                              : band.across.blocks > 0 && band.across.atMost() < kAlikeAtMost;
        if (!told) return &band;
    }
    return nullptr;
}

std::string whole(double mm)
{
    return std::to_string(std::lround(mm));
}

}  // namespace

WaterReading waterLevel(const Panel& panel, const std::optional<EarlierPanel>& first,
                        const WaterSettings& settings)
{
    const LevelSearch search = searchLevels(panel, first);
    WaterReading reading;
    if (!search.foot_seen) return reading;  // cut off or covered: nothing can be said
    const double lowest = panel.pointAt(0, search.lowest_row).y_mm;
    const Surface surface = surfaceIn(search, panel, settings);
    reading.low_mm = 0.0;
    if (surface.at) {
        const bool by_line = surface.kind == Kind::line || surface.kind == Kind::confirmed_line;
        const double error = settings.level_error_mm * (by_line ? 1 : settings.no_line_widens);
        const double level = panel.pointAt(0, surface.at->row).y_mm;
        reading.high_mm = level + error;
        if (surface.kind == Kind::doubtful) {
            // One set of grains cannot tell a filling of pores from damp or from another medium.
            const std::string what = panel.in_mm ? whole(level) + " mm" : "some height";
            reading.note = "darker below " + what + " without a line: damp, another layer or water; look";
            return reading;
        }
        reading.level_mm = level;
        reading.low_mm = std::max(0.0, level - error);
        reading.tilt = surface.at->tilt;
        if (surface.kind == Kind::compared_pores)
            reading.note = "water told by filled pores, without a clear line: look";
        if (surface.at->row < search.highest_row + kBelowSurfaceMm / panel.mm_per_px)
            reading.note = "water stands at the medium's surface";
        return reading;
    }
    if (const HiddenBand* band = whereItMayHide(search, panel)) {
        const double from = panel.pointAt(0, band->bottom_row).y_mm,
                     to = panel.pointAt(0, band->top_row).y_mm;
        reading.high_mm = to;
        const std::string what = panel.in_mm ? "between " + whole(from) + " and " + whole(to) + " mm " : "";
        reading.note = "water may stand unseen " + what + "behind the label or glare";
        return reading;
    }
    reading.level_mm = 0.0;
    reading.high_mm = lowest;
    return reading;
}

}  // namespace slipglass
