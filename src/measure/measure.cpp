#include "slipglass/measure.h"

#include <algorithm>
#include <mutex>
#include <opencv2/core/utility.hpp>
#include <set>

#include "begin.h"
#include "draw_photo.h"
#include "earlier_views.h"
#include "give_corrections.h"
#include "given_beside.h"
#include "measure_photo.h"
#include "page_pictures.h"
#include "photo_list.h"
#include "run.h"
#include "settle_tubs.h"
#include "shares.h"
#include "slipglass/in_parallel.h"
#include "slipglass/report/write_report.h"
#include "slipglass/wall/read_wall.h"
#include "to_do.h"
#include "walls_elsewhere.h"

namespace slipglass {

namespace {

/// Puts what can be read of a damaged season file in its place, and says what was lost.
void rescue(const std::filesystem::path& season_db, const MeasureEvents& events)
{
    try {
        const SeasonStore store(season_db, SeasonStore::Use::read);
        events.warn(season_db.string() + ": is sound, so there is nothing to rescue.");
        return;
    } catch (const Error&) {
        // What the matter is shows when it is read row by row.
    }
    const Rescued rescued = rescueSeason(season_db);
    std::string said = season_db.string() + ": the figures of " + std::to_string(rescued.photos) +
                       " photo(s) were saved; the damaged file is kept as " + rescued.damaged.string() + ".";
    if (!rescued.lost.empty()) {
        said += " Measured again where they are in the folder:";
        for (const std::string& photo : rescued.lost) said += " " + photo;
    }
    events.warn(said);
}

/// Reads all photos of a tub's wall together, and draws what that changes on each.
/// @param items  this run's photos, by name; the overlays of others are left for a run that has them.
/// @param known  what walls that are as their views are rest on, by tub.
void readWall(const std::string& tub, const std::map<std::string, const Item*>& items,
              const std::map<std::string, std::string>& known, const Run& run)
{
    const auto overlay = std::find_if(run.overlays.begin(), run.overlays.end(),
                                      [&](const auto& one) { return one.first.second == tub; });
    if (overlay == run.overlays.end()) return;  // no photo of it is left
    const std::string file = tubIn(overlay->second);
    WallTask task;
    task.tub = tub;
    task.basis = basisOf(tub, run.figures, run.looking());
    if (run.plan) task.parts = partsOfTub(*run.plan, tub);
    task.roots = run.settings.roots;
    task.part_settings = run.settings.parts;
    task.listed = [&](const std::string& photo) { return items.count(photo) > 0; };
    task.draw = [&](const ReadPhoto& read) {
        const Item& item = *items.at(read.seen.photo);
        Look look;
        look.seen = read.seen;
        look.panel = read.view.panel;
        look.root_mask =
            photoMask(*look.panel, read.reading.roots.mask, read.facts.size, read.facts.reduction);
        return redrawRoots(filesOf(item, tub, run), item, look, read.facts, read.was_drawn, run);
    };
    task.draw_ages = [&](const RootAges& ages) {
        writeGrowthMap(run.options.out, tub, file, ages, run.store, run.settings.season);
    };
    task.stopped = [&] { return run.stopped(); };
    const auto up_to_date = known.find(tub);
    const bool read = (up_to_date == known.end() || up_to_date->second != restsOn(task)) &&
                      slipglass::readWall(task, run.store);
    if (read || growthMapThere(run.options.out, file)) return;
    const auto kept = run.store.wall(tub);
    if (const auto ages = kept ? agesIn(*kept) : std::nullopt) task.draw_ages(*ages);
}

std::map<std::string, FileStamp> changedIn(const std::map<std::string, FileStamp>& now,
                                           const std::map<std::string, FileStamp>& before)
{
    std::map<std::string, FileStamp> changed;
    for (const auto& [photo, stamp] : now)
        if (const auto was = before.find(photo); was == before.end() || was->second != stamp)
            changed[photo] = stamp;
    return changed;
}

/// Measures what is new or depends on something that changed.
/// @param elsewhere  photos of other shares.
/// @param problems   gets what is to be said of photos that keep their figures.
void measureNew(std::vector<Item>& items, const std::vector<Item>& elsewhere, KeptPhotos& kept, Run run,
                MeasureResult& result, std::vector<Problem>& problems)
{
    SeasonStore& store = run.store;
    for (Item& item : items) {
        item.made.program = run.figures.program;
        item.made.settings = run.figures.settings;
        item.made.moved = movedBy(item);
    }
    forgetGone(items, elsewhere, kept, store);
    tellProblems(items, kept, store, problems);
    const auto basis = [&](const std::string& tub) { return basisOf(tub, run.figures, run.looking()); };
    EarlierViews earlier(items, kept, store, run.figures, basis);
    WallsElsewhere walls_elsewhere(elsewhere, run.looking(), run.options.today);
    if (!elsewhere.empty()) earlier.askElsewhere(walls_elsewhere);
    for (Item& item : items) {
        if (item.problem) continue;
        std::string tubs;
        for (const std::string& tub : item.tubs)
            tubs += basis(tub) + ' ' + earlier.before(tub, item.file.name) + ' ';
        item.made.tubs = contentHash(tubs);
    }
    run.overlays = plannedOverlays(items, kept);
    const std::vector<size_t> work = toDo(items, kept, run, problems);
    for (const size_t i : work) earlier.expect(items[i]);
    std::mutex counting;
    int done = 0;
    run.events.progress(done, static_cast<int>(work.size()));
    inParallel(work.size(), run.options.threads, [&](size_t i) {
        const Item& item = items[work[i]];
        if (run.stopped()) return earlier.leave(item);
        try {
            const Measured measured = measurePhoto(item, earlier, run);
            const std::lock_guard lock(counting);
            result.measured += measured.figures;
            if (measured.kept_instead) problems.push_back(*measured.kept_instead);
            run.events.progress(++done, static_cast<int>(work.size()));
        } catch (const EarlierViews::Abandoned&) {
            return;  // the run is ending; a later one measures it
        }
    });
    std::map<std::string, const Item*> by_name;
    for (const Item& item : items)
        if (!item.problem) by_name[item.file.name] = &item;
    const std::vector<std::string> known = store.tubs();
    const auto up_to_date =
        store.wallsUpToDate([&](const std::string& photo) { return by_name.count(photo) > 0; });
    inParallel(known.size(), run.options.threads, [&](size_t i) {
        if (!run.stopped()) readWall(known[i], by_name, up_to_date, run);
    });
    const std::set<size_t> worked(work.begin(), work.end());
    for (size_t i = 0; i < items.size(); ++i) {
        if (items[i].problem || worked.count(i)) continue;
        const StoredPhoto* before = kept.find(items[i].file.name);
        result.kept +=
            before && std::any_of(before->observations.begin(), before->observations.end(), usable);
    }
    std::map<std::string, FileStamp> files;
    for (const Item& item : items)
        if (item.stamp) files[item.file.name] = *item.stamp;
    if (!run.stopped() && files != kept.files) store.putFiles(changedIn(files, kept.files));
}

}  // namespace

MeasureResult measure(const MeasureOptions& given, const MeasureEvents& events)
{
    MeasureOptions options = given;
    cv::setNumThreads(1);  // photos are measured side by side instead; sums come out the same on any machine

    const std::filesystem::path file = options.out / output::kSeason;
    MeasureResult result;
    result.new_season = !std::filesystem::exists(file);
    if (options.rescue && !result.new_season) rescue(file, events);
    Beginning begun = beginOn(options, SeasonStore::Use::write);
    std::optional<SeasonStore>& store = begun.store;
    Given& beside = begun.beside;
    Settings& settings = begun.settings;
    const std::optional<Plan>& plan = begun.plan;
    result.as_given_before = begun.as_given_before;
    checkShare(options.out, result.new_season, shareRecordOf(begun.share), options.share);
    const TubList tubs = options.tubs ? readTubList(*options.tubs) : TubList{};
    if (plan && options.batch) result.plan_note = stuckOnNote(*plan, beside.plan->name);
    const PhotoListing listing = listPhotos(options.photos);
    const bool as_it_is = options.photos.empty() && store;
    if (listing.files.empty() && !as_it_is)
        throw Error(options.photos.empty() ? "measure" : options.photos.front().string(),
                    "there is no photo in it", "Name a folder with JPEG, PNG, TIFF, WebP or HEIC photos");
    Shared photos = ownPhotos(listing.files, plan, options.share, tubs);
    if (!store) store.emplace(file);
    settings.taught = taughtLayer(options.out, settings, events);
    const Run run{options, events, settings, plan, *store, figuresKey(settings)};

    ShareRecord share;
    if (options.share) {
        share = {*options.share, run.figures.program, run.figures.settings,
                 hashOfPhotos(listing.files, tubs)};
        putShare(*store, textOf(share));  // not done
    }
    KeptPhotos kept(*store);
    std::vector<Item> items = readItems(photos.own, plan, settings, kept, options, events, tubs);
    setAside(items, kept, *store);
    if (!run.stopped() && !options.share) settleTubs(items, run, result);
    const CorrectionListing corrections =
        beside.corrections ? correctionsIn(*beside.corrections) : CorrectionListing{};
    std::vector<Problem> bad_corrections;
    if (beside.corrections) {
        // Those of other shares have their place there.
        const auto own = static_cast<std::ptrdiff_t>(items.size());
        items.insert(items.end(), photos.elsewhere.begin(), photos.elsewhere.end());
        bad_corrections =
            giveCorrections(corrections, beside.corrections->name, items, *store, settings.photos);
        photos.elsewhere.assign(items.begin() + own, items.end());
        items.erase(items.begin() + own, items.end());
    }
    beside.problems = listing.problems;
    if (!run.stopped()) measureNew(items, photos.elsewhere, kept, run, result, beside.problems);
    result.stopped = run.stopped();
    // Threads come to their end in any order.
    std::stable_sort(beside.problems.begin(), beside.problems.end(),
                     [](const Problem& a, const Problem& b) { return a.file < b.file; });
    beside.problems.insert(beside.problems.end(), bad_corrections.begin(), bad_corrections.end());
    share.done = !result.stopped;
    if (options.share) beside.share = textOf(share);
    putGiven(*store, beside);
    result.season = seasonIn(*store);
    keepWorkedOut(*store);
    result.season.drawn = drawnOn(corrections, result.season.observations);
    std::set<std::string> without;
    for (const Problem& problem : result.season.problems)
        if (problem.state != "caution") without.insert(problem.file);
    result.not_measured = static_cast<int>(without.size());
    if (!options.share) writeReport(result.season, options.out, options.threads);
    for (const std::string& warning : result.season.warnings) events.warn(warning);
    result.given = std::move(beside);
    return result;
}

}  // namespace slipglass
