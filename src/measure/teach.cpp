#include "slipglass/teach.h"
#include "slipglass/in_parallel.h"
#include "slipglass/layout/file_names.h"

#include <algorithm>
#include <map>
#include <mutex>
#include <opencv2/core/utility.hpp>
#include <thread>

#include "earlier_views.h"
#include "give_corrections.h"
#include "given_beside.h"
#include "look_at.h"
#include "photo_list.h"
#include "slipglass/corrections/learn.h"
#include "slipglass/roots/root_layer.h"
#include "slipglass/store/write_file.h"
#include "try_photo.h"

namespace slipglass {

namespace {

/// Photos without strokes that are looked at for comparison: enough to see a change, soon done.
constexpr size_t kMostElsewhere = 12;

std::filesystem::path taughtFile(const std::filesystem::path& out)
{
    return out / output::kTaught;
}

bool hasStrokes(const Item& item)
{
    return std::any_of(item.corrections.begin(), item.corrections.end(),
                       [](const auto& c) { return !c.second.strokes.empty(); });
}

std::vector<const Item*> evenSample(const std::vector<const Item*>& items, size_t most)
{
    std::vector<const Item*> sample;
    const size_t count = std::min(most, items.size());
    for (size_t i = 0; i < count; ++i) sample.push_back(items[i * items.size() / count]);
    return sample;
}

/// One run of `teach`: what it reads.
struct Teaching {
    const TeachOptions& options;
    const MeasureEvents& events;
    Settings settings;
    std::optional<Plan> plan;
    SeasonStore store;
    std::vector<Item> items;

    bool stopped() const { return events.stop && *events.stop; }

    Looks lookAt(const Item& item, const EarlierViews& earlier) const
    {
        const auto back = [&](const Look& look, const Picture&) {
            return lookBack(*look.panel, earlier.views(look.seen.tub, item.file.name));
        };
        return looksAt(item, back, {settings, plan});
    }
};

/// Calls work(i, looks) for each of the photos, several at a time, and counts them.
/// @return  what went wrong with which, in their order.
template <class Work>
std::vector<Problem> forEach(const std::vector<const Item*>& photos, const Teaching& teaching, int& done,
                             int of, const Work& work)
{
    std::vector<std::optional<Problem>> problems(photos.size());
    std::mutex counting;
    const EarlierViews earlier(teaching.items, KeptPhotos(teaching.store), teaching.store, std::nullopt,
                               [](const std::string&) { return ""; });
    teaching.events.progress(done, of);
    inParallel(photos.size(), teaching.options.threads, [&](size_t i) {
        if (teaching.stopped()) return;
        problems[i] = tryPhoto(photos[i]->file.name, onlyTub(*photos[i]),
                               [&] { work(i, teaching.lookAt(*photos[i], earlier)); });
        const std::lock_guard lock(counting);
        teaching.events.progress(++done, of);
    });
    std::vector<Problem> told;
    for (const auto& problem : problems)
        if (problem) told.push_back(*problem);
    return told;
}

std::vector<Lesson> lessonsOn(const Item& item, const Looks& looks, std::vector<Problem>& problems)
{
    std::vector<Lesson> lessons;
    for (size_t i = 0; i < looks.looks.size(); ++i) {
        const Look& look = looks.looks[i];
        const auto said = item.corrections.find(item.tubs[i]);
        if (said == item.corrections.end() || said->second.strokes.empty()) continue;
        if (!look.panel || look.seen.state == State::retake) {
            problems.push_back({item.file.name, item.tubs[i], "not measured",
                                "its strokes cannot be learnt from: " +
                                    (look.seen.notes.empty() ? "no tub" : look.seen.notes.back()),
                                look.remedy});
            continue;
        }
        const std::vector<cv::Mat> features = rootFeatures(*look.panel, look.before);
        lessons.push_back(lessonFrom(*look.panel, features, shippedRootLayer(), said->second.strokes));
        lessons.back().photo = item.file.name;
        lessons.back().tub = item.tubs[i];
    }
    return lessons;
}

/// A tub in a photo that nobody has drawn on.
struct Elsewhere {
    std::string photo, tub;
    Panel panel;
    std::optional<EarlierPanel> before;
    Lesson lesson;
};

std::vector<Elsewhere> elsewhereOn(const Item& item, Looks looks)
{
    std::vector<Elsewhere> found;
    for (size_t i = 0; i < looks.looks.size(); ++i) {
        Look& look = looks.looks[i];
        if (!look.panel || look.seen.state == State::retake) continue;
        Lesson lesson =
            lessonFrom(*look.panel, rootFeatures(*look.panel, look.before), shippedRootLayer(), {});
        found.push_back({item.file.name, item.tubs[i], *look.panel, look.before, std::move(lesson)});
    }
    return found;
}

std::optional<CoverageChange> changeOn(const Elsewhere& place, const RootLayer& layer,
                                       const RootSettings& settings)
{
    const auto coverage = [&](const std::optional<RootLayer>& taught) {
        return rootFigures(place.panel, findRoots(place.panel, place.before, settings, taught))
            .coverage_percent;
    };
    const auto before = coverage(std::nullopt), after = coverage(layer);
    if (!before || !after) return std::nullopt;
    return CoverageChange{place.photo, place.tub, *before, *after};
}

Teaching prepared(const TeachOptions& options, const MeasureEvents& events)
{
    if (!std::filesystem::exists(options.out / output::kSeason))
        throw Error(options.out.string(), "holds no season", "Run `slipglass measure` into it first");
    SeasonStore store(options.out / output::kSeason, SeasonStore::Use::read);
    const Given given = givenIn(store).value_or(Given{});
    const auto settings_file = typedOrKept(options.settings, given.settings, options.today);
    const Settings settings = settingsIn(settings_file, options.today);
    if (!settings.roots.learned)
        throw Error(settings_file->name, "roots.learned is false, and rules cannot be taught",
                    "Take it out of the settings");
    const auto plan = planIn(typedOrKept(options.batch, given.plan, options.today), settings, options.today);
    return {options, events, settings, plan, std::move(store), {}};
}

void setLearntFrom(Taught& taught, const std::vector<Lesson>& lessons)
{
    for (const Lesson& lesson : lessons) {
        LearntFrom from{lesson.photo, lesson.tub, 0, 0};
        for (const StrokePixels& stroke : lesson.strokes)
            ++(stroke.root ? from.root_strokes : from.not_root_strokes);
        taught.learnt_from.push_back(from);
    }
}

}  // namespace

TeachResult teach(const TeachOptions& given, const MeasureEvents& events)
{
    TeachOptions options = given;
    cv::setNumThreads(1);  // as `measure` does, for the same sums
    Teaching teaching = prepared(options, events);
    const PhotoListing listing = listPhotos(options.photos);
    MeasureOptions reading;
    reading.threads = options.threads;
    reading.today = options.today;
    teaching.items = readItems(listing.files, teaching.plan, teaching.settings, KeptPhotos(teaching.store),
                               reading, events);
    TeachResult result;
    result.problems =
        giveCorrections(parseCorrections(correctionTexts(options.corrections)), options.corrections,
                        teaching.items, teaching.store, teaching.settings.photos);

    std::vector<const Item*> corrected, others;
    for (const Item& item : teaching.items)
        if (!item.problem && !item.tubs.empty()) (hasStrokes(item) ? corrected : others).push_back(&item);
    if (corrected.empty() && result.problems.empty())
        throw Error(options.corrections.string(), "holds no strokes to learn from",
                    "Draw what is root and what is not on two photos or more");
    result.photos_elsewhere = static_cast<int>(others.size());
    others = evenSample(others, kMostElsewhere);
    const int of = static_cast<int>(corrected.size() + others.size());
    int done = 0;

    std::vector<std::vector<Lesson>> lessons_of(corrected.size());
    std::vector<std::vector<Problem>> problems_of(corrected.size());
    const auto failed = forEach(corrected, teaching, done, of, [&](size_t i, const Looks& looks) {
        lessons_of[i] = lessonsOn(*corrected[i], looks, problems_of[i]);
    });
    result.problems.insert(result.problems.end(), failed.begin(), failed.end());
    std::vector<std::vector<Elsewhere>> elsewhere_of(others.size());
    // Of photos to compare with it is enough to have some.
    forEach(others, teaching, done, of,
            [&](size_t i, Looks looks) { elsewhere_of[i] = elsewhereOn(*others[i], std::move(looks)); });
    result.stopped = teaching.stopped();
    if (result.stopped) return result;

    Lessons lessons;
    std::vector<Elsewhere> elsewhere;
    for (auto& of_photo : lessons_of)
        for (Lesson& lesson : of_photo)
            if (!lesson.strokes.empty()) lessons.corrected.push_back(std::move(lesson));
    for (auto& of_photo : elsewhere_of)
        for (Elsewhere& place : of_photo) {
            lessons.elsewhere.push_back(place.lesson);
            elsewhere.push_back(std::move(place));
        }
    for (const auto& of_photo : problems_of)
        result.problems.insert(result.problems.end(), of_photo.begin(), of_photo.end());

    setLearntFrom(result.taught, lessons.corrected);
    result.taught.model = contentHash(rootMapBytes());
    const Learnt learnt = learn(lessons, shippedRootLayer(), teaching.settings.roots.min_probability);
    result.taught.layer = learnt.layer;
    result.taught.caution = learnt.caution;
    result.taught.held_out_before = learnt.held_out_before;
    result.taught.held_out_after = learnt.held_out_after;
    result.why_not = learnt.why_not;
    if (!result.why_not.empty()) {
        forgetTaught(options.out);
        return result;
    }
    std::vector<std::optional<CoverageChange>> changes(elsewhere.size());
    inParallel(elsewhere.size(), options.threads,
               [&](size_t i) { changes[i] = changeOn(elsewhere[i], learnt.layer, teaching.settings.roots); });
    for (const auto& change : changes)
        if (change) result.taught.elsewhere.push_back(*change);
    writeFile(taughtFile(options.out), taughtText(result.taught));
    result.in_use = true;
    return result;
}

bool forgetTaught(const std::filesystem::path& out)
{
    std::error_code failed;
    const bool gone = std::filesystem::remove(taughtFile(out), failed);
    if (failed)
        throw Error(taughtFile(out).string(), "cannot be deleted: " + failed.message(),
                    "Check that the folder may be written");
    return gone;
}

}  // namespace slipglass
