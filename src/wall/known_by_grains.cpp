#include "slipglass/wall/known_by_grains.h"

#include <algorithm>
#include <cmath>

#include "slipglass/panel/align.h"
#include "slipglass/panel/panel_file.h"

namespace slipglass {

namespace {

/// Sizes this near each other, as a share, are taken for the same: the drift of an alignment makes it good.
constexpr double kSameSize = 0.02;
/// From here on a wall is that of a tub; from there on it may be. Measured: of 104 renderings of 23 tubs one
/// lay at 0.04 and all others at 0.49 to 0.92 of their own tub, at 0.10 at most of another's
/// (docs/measured/grains.md).
constexpr double kSure = 0.3, kPossible = 0.13;
/// The next tub may be so much like it and no more, as a share.
constexpr double kNext = 0.5;

Tub scaledTub(Tub tub, double factor)
{
    tub.pose = scaled(tub.pose, factor);
    for (double& z : tub.surface_z) z *= factor;
    return tub;
}

}  // namespace

WallInPhoto::WallInPhoto(Picture picture, Tub tub, const PanelSettings& settings)
    : picture_(std::move(picture)), tub_(std::move(tub)), settings_(settings)
{
}

const Panel& WallInPhoto::as(double inner_radius, bool in_mm)
{
    const int step = static_cast<int>(std::lround(std::log(inner_radius) / kSameSize));
    const auto key = std::make_pair(in_mm, step);
    if (const auto found = panels_.find(key); found != panels_.end()) return found->second;
    const double factor = std::exp(step * kSameSize) / innerWall(tub_.pose).cone.base_radius;
    Tub tub = scaledTub(tub_, factor);
    tub.in_mm = in_mm;
    return panels_[key] = unrollWall(picture_.bgr, picture_.reduction, tub, settings_);
}

const Panel& WallInPhoto::plain()
{
    return as(innerWall(tub_.pose).cone.base_radius, tub_.in_mm);
}

EarlierView viewOfPanel(const Panel& panel)
{
    EarlierView view;
    view.in_mm = panel.in_mm;
    view.inner_radius = panel.inner.cone.base_radius;
    view.panel = [file = encodePanel(panel)] { return decodePanel(file); };
    return view;
}

std::vector<Likeness> likenesses(WallInPhoto& wall, Date date, const std::vector<WallOfTub>& known)
{
    std::map<std::string, std::vector<const WallOfTub*>> photos;
    for (const WallOfTub& one : known) photos[one.tub].push_back(&one);
    std::vector<Likeness> found;
    for (auto& [tub, of_tub] : photos) {
        std::stable_sort(of_tub.begin(), of_tub.end(), [&](const WallOfTub* a, const WallOfTub* b) {
            return std::abs(daysBetween(a->date, date)) < std::abs(daysBetween(b->date, date));
        });
        found.push_back({tub, 0});
    }
    // All tubs' nearest photos first: mostly these tell.
    bool sure = false;
    for (size_t i = 0; i < kWallsTried && !sure; ++i)
        for (Likeness& one : found) {
            const auto& of_tub = photos[one.tub];
            if (i >= of_tub.size()) continue;
            const EarlierView& view = of_tub[i]->view;
            const auto panel = view.panel();
            if (!panel || view.inner_radius <= 0) continue;
            const Alignment match = alignTo(wall.as(view.inner_radius, view.in_mm), *panel);
            one.likeness = std::max(one.likeness, match.score * match.agreed);
            sure = sure || one.likeness >= kSure;
        }
    std::stable_sort(found.begin(), found.end(),
                     [](const Likeness& a, const Likeness& b) { return a.likeness > b.likeness; });
    return found;
}

std::optional<std::string> knownTub(const std::vector<Likeness>& likenesses)
{
    if (likenesses.empty() || likenesses[0].likeness < kSure) return std::nullopt;
    if (likenesses.size() > 1 && likenesses[1].likeness > kNext * likenesses[0].likeness) return std::nullopt;
    return likenesses[0].tub;
}

std::vector<std::string> likelyTubs(const std::vector<Likeness>& likenesses)
{
    std::vector<std::string> likely;
    for (const Likeness& one : likenesses)
        if (one.likeness >= kPossible && likely.size() < 3) likely.push_back(one.tub);
    return likely;
}

}  // namespace slipglass
