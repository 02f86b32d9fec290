#include "slipglass/corrections/learn.h"

#include <algorithm>
#include <map>
#include <optional>

#include "fit_layer.h"
#include "tally.h"

namespace slipglass {

namespace {

/// Tried, the most cautious first.
constexpr double kCautions[] = {30, 10, 3, 1, 0.5};
constexpr size_t kMostFolds = 8;
/// Share of left-out strokes that must be said better, or chance could have done it. Guess.
constexpr double kHair = 0.02;
/// Least area of root to learn from, panel px: 75 mm of a root of 0.6 mm. Guess.
constexpr double kLeastRoots_px = 2000;

/// Lessons in as many parts as there are photos, but not too many: each is left out once.
std::vector<std::vector<const Lesson*>> foldsOf(const std::vector<Lesson>& lessons)
{
    std::map<std::string, std::vector<const Lesson*>> by_photo;
    for (const Lesson& lesson : lessons)
        if (!lesson.strokes.empty()) by_photo[lesson.photo].push_back(&lesson);
    std::vector<std::vector<const Lesson*>> folds(std::min(by_photo.size(), kMostFolds));
    size_t next = 0;
    for (const auto& [photo, of_photo] : by_photo) {
        auto& fold = folds[next++ % folds.size()];
        fold.insert(fold.end(), of_photo.begin(), of_photo.end());
    }
    return folds;
}

/// @param folds  parts the corrected photos are in; one may be left out.
std::vector<Counted> counted(const std::vector<std::vector<const Lesson*>>& folds,
                             std::optional<size_t> left_out, const std::vector<Lesson>& elsewhere)
{
    std::vector<Counted> all;
    for (size_t i = 0; i < folds.size(); ++i)
        if (i != left_out)
            for (const Lesson* lesson : folds[i]) all.push_back({lesson, 1});
    const double times =
        static_cast<double>(all.size()) / static_cast<double>(std::max<size_t>(1, elsewhere.size()));
    for (const Lesson& lesson : elsewhere) all.push_back({&lesson, times});
    return all;
}

}  // namespace

RootLayer fittedLayer(const Lessons& lessons, const RootLayer& shipped, double caution)
{
    return fitted(counted(foldsOf(lessons.corrected), std::nullopt, lessons.elsewhere), shipped, caution);
}

StrokeAgreement agreementOf(const std::vector<Lesson>& lessons, const RootLayer& layer,
                            const RootLayer& shipped, double min_probability)
{
    Tally tally(shipped, min_probability);
    for (const Lesson& lesson : lessons) tally.add(lesson, layer);
    return tally.agreement();
}

Learnt learn(const Lessons& lessons, const RootLayer& shipped, double min_probability)
{
    const auto folds = foldsOf(lessons.corrected);
    Learnt learnt;
    learnt.layer = shipped;
    learnt.held_out_before = agreementOf(lessons.corrected, shipped, shipped, min_probability);
    learnt.held_out_after = learnt.held_out_before;
    if (folds.size() < 2) {
        learnt.why_not =
            "strokes on two photos or more are needed, since what is learnt on one is tried on another";
        return learnt;
    }
    if (rootArea(lessons, shipped, min_probability) < kLeastRoots_px) {
        learnt.why_not =
            "there is hardly a root on these photos, and from what is no root alone it would learn that "
            "nothing is; add photos with roots";
        return learnt;
    }
    double least = 0;
    for (const auto& fold : folds)
        least += lossOn(counted({fold}, std::nullopt, lessons.elsewhere), shipped, shipped);
    for (const double caution : kCautions) {
        double loss = 0;
        Tally tally(shipped, min_probability);
        for (size_t i = 0; i < folds.size(); ++i) {
            const RootLayer layer = fitted(counted(folds, i, lessons.elsewhere), shipped, caution);
            loss += lossOn(counted({folds[i]}, std::nullopt, lessons.elsewhere), layer, shipped);
            for (const Lesson* lesson : folds[i]) tally.add(*lesson, layer);
        }
        if (loss >= least) continue;
        least = loss;
        learnt.caution = caution;
        learnt.held_out_after = tally.agreement();
    }
    if (learnt.caution > 0) learnt.layer = fittedLayer(lessons, shipped, learnt.caution);
    const auto worse = [](const std::optional<double>& before, const std::optional<double>& after) {
        return before && *after < *before - kHair;
    };
    const StrokeAgreement &before = learnt.held_out_before, &after = learnt.held_out_after;
    if (*after.right <= *before.right + kHair)
        learnt.why_not = "on photos left out, what was learnt does no better than the map as it was";
    else if (worse(before.roots_right, after.roots_right))
        learnt.why_not = "on photos left out, what was learnt misses more roots than the map as it was";
    else if (worse(before.rest_right, after.rest_right))
        learnt.why_not =
            "on photos left out, what was learnt takes more for roots that is none than the map as it was";
    return learnt;
}

}  // namespace slipglass
