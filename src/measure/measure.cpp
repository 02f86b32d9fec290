#include "slipglass/measure.h"

#include <algorithm>
#include <fstream>
#include <mutex>
#include <nlohmann/json.hpp>
#include <opencv2/core/utility.hpp>
#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>
#include <set>
#include <thread>

#include "earlier_views.h"
#include "give_corrections.h"
#include "look_at.h"
#include "overlay.h"
#include "page_pictures.h"
#include "photo_list.h"
#include "slipglass/corrections/taught.h"
#include "slipglass/layout/file_names.h"
#include "slipglass/overview/given.h"
#include "slipglass/panel/panel_file.h"
#include "slipglass/report/write_report.h"
#include "slipglass/roots/root_layer.h"
#include "slipglass/season/csv.h"
#include "slipglass/store/write_file.h"
#include "slipglass/wall/read_wall.h"

namespace slipglass {

namespace {

/// What does not change during a run.
struct Run {
    const MeasureOptions& options;
    const MeasureEvents& events;
    Settings settings;
    std::optional<Plan> plan;
    SeasonStore& store;
    FiguresKey figures;
    std::map<PhotoAndTub, std::string> overlays;

    bool stopped() const { return events.stop && *events.stop; }
    Looking looking() const { return {settings, plan}; }
    std::optional<TubType> typeOf(const std::string& tub) const { return looking().typeOf(tub); }
};

/// What all of a tub's views depend on.
std::string basisOf(const std::string& tub, const Run& run)
{
    std::string type = "no type";
    if (const auto t = run.typeOf(tub)) {
        type.clear();
        for (const double size : {t->rim_diameter_mm, t->base_diameter_mm, t->height_mm, t->wall_mm})
            type += nlohmann::json(size).dump() + ' ';
    }
    return contentHash(run.figures.program + run.figures.settings + tub + '\n' + type);
}

struct Files {
    std::filesystem::path roots, wall, overlay;
    PagePicture page;
};

Files filesOf(const Item& item, const std::string& tub, const Run& run)
{
    const std::string stem = maskStem(item, tub);
    const std::string masks = (run.options.out / output::kMasks / stem).string();
    const std::string& overlay = run.overlays.at({item.file.name, tub});
    return {masks + ".roots.png",
            masks + ".wall.png",
            run.options.out / overlay,
            {run.options.out, overlay, stem}};
}

/// A mask as a file, the size of its photo.
std::string maskBytes(const cv::Mat& mask, cv::Size full_size)
{
    cv::Mat full;
    cv::resize(mask, full, full_size, 0, 0, cv::INTER_NEAREST);
    // OpenCV's own choice for speed: four times faster than a set level, and a mask stays below 50 kB.
    return encoded(".png", full, {});
}

void writePictures(const Files& files, const Picture& picture, const Look& look)
{
    const cv::Mat drawn = drawOverlay(picture, look);
    writeFile(files.overlay, encoded(".jpg", drawn, {cv::IMWRITE_JPEG_QUALITY, 85}));
    writePagePictures(files.page, picture, look, drawn);
}

/// What later photos and the reading of the whole wall need of one.
KeptView keptView(const Look& look, const PanelFile& panel, const Picture& picture, const std::string& basis)
{
    const WallViewFile view = encodeWallView(look.view.value());
    const ViewFacts facts{
        look.place, look.light, look.root_share, picture.bgr.size(), picture.full_size,    picture.reduction,
        look.fog,   view.meta,  panel.meta,      look.panel->in_mm,  look.panel->mm_per_px};
    return {look.seen.photo, look.seen.tub, basis, look.place.side, metaOf(facts), view.bytes, panel.bytes};
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
    return {place, look.panel->in_mm, look.light, [panel] { return decodePanel(panel); }, look.root_share};
}

/// A file that cannot be read today takes nothing from the figures it once gave.
/// @param kept  what the season file has of it.
/// @return what to say; empty where it never gave any.
std::optional<Problem> keptInstead(const Problem& problem, const std::optional<StoredPhoto>& kept)
{
    if (!kept || std::none_of(kept->observations.begin(), kept->observations.end(), usable))
        return std::nullopt;
    Problem told = problem;
    told.reason += "; its figures are kept";
    if (kept->measured_on) told.reason += " from " + isoDate(*kept->measured_on);
    return told;
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

struct Measured {
    bool figures = false;  ///< any could be taken
    std::optional<Problem> kept_instead;
};

/// Measures one photo and keeps what comes of it.
Measured measureItem(const Item& item, EarlierViews& earlier, const Run& run)
{
    const std::string& name = item.file.name;
    std::map<std::string, PanelFile> panels;
    // A photo that begins a side is shown when its light is known too; the others need not be waited for.
    const auto back = [&](const Look& wall) {
        const std::string& tub = wall.seen.tub;
        panels[tub] = encodePanel(*wall.panel);
        TubHistory history = lookBack(*wall.panel, earlier.views(tub, name));
        if (!history.place.side.empty()) earlier.settle(tub, name, viewOf(wall, history.place, panels[tub]));
        return history;
    };
    Looks found = looksAt(item, back, run.looking());
    if (found.problem) {
        const auto kept = keptInstead(*found.problem, run.store.photo(name));
        for (const std::string& tub : item.tubs)
            kept ? earlier.settleAsKept(tub, name) : earlier.settle(tub, name, {});
        if (!kept) run.store.putPhoto(name, item.made, {}, {*found.problem});
        return {false, kept};
    }
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
            look.place.side = contentHash(basisOf(tub, run) + shownBy(item.made));
        if (look.view)
            earlier.settle(tub, name, viewOf(look, look.place, panels[tub]));
        else
            earlier.settle(tub, name, {});
        // A mask stays at the size it was made at, even if a later tub made the photo be decoded larger.
        Picture picture = found.picture;
        if (look.root_mask.size() != picture.bgr.size())
            cv::resize(found.picture.bgr, picture.bgr, look.root_mask.size(), 0, 0, cv::INTER_AREA);
        const Files files = filesOf(item, tub, run);
        writeFile(files.wall, maskBytes(look.wall_mask, picture.full_size));
        writeFile(files.roots, maskBytes(look.root_mask, picture.full_size));
        writePictures(files, picture, look);
        writeWallPicture(files.page, look);
        seen.push_back(look.seen);
        if (look.seen.state != State::measured) problems.push_back(problemOf(look));
        if (look.view) views.push_back(keptView(look, panels[tub], picture, basisOf(tub, run)));
    }
    run.store.putPhoto(name, item.made, seen, problems, views, run.options.today);
    // Panels in memory no longer.
    for (const KeptView& view : views) earlier.settle(view.tub, name, earlierView(view, run.store));
    return {std::any_of(seen.begin(), seen.end(), usable), {}};
}

/// However a photo is done with, others do not wait for it any more.
struct Leaving {
    EarlierViews& earlier;
    const Item& item;
    ~Leaving() { earlier.leave(item); }
};

/// Draws a photo's pictures anew. False when it cannot be opened any more.
bool redraw(const Item& item, const Look& look, const ViewFacts& facts, const Files& files)
{
    try {
        const int long_side = std::max(facts.size.width, facts.size.height);
        writePictures(files, readPicture(item.file.path, *item.facts, long_side), look);
        return true;
    } catch (const Error&) {
        return false;  // its problem is told when it is measured
    } catch (const cv::Exception&) {
        return false;
    }
}

/// Reads all photos of a tub's wall together, and draws what that changes on each.
/// @param items  this run's photos, by name; the overlays of others are left for a run that has them.
void readWall(const std::string& tub, const std::map<std::string, const Item*>& items, const Run& run)
{
    WallTask task;
    task.tub = tub;
    task.basis = basisOf(tub, run);
    if (run.plan) task.parts = partsOfTub(*run.plan, tub);
    task.roots = run.settings.roots;
    task.part_settings = run.settings.parts;
    task.listed = [&](const std::string& photo) { return items.count(photo) > 0; };
    task.draw = [&](const ReadPhoto& read) {
        const Item& item = *items.at(read.seen.photo);
        const Files files = filesOf(item, tub, run);
        Look look;
        look.seen = read.seen;
        look.panel = read.view.panel;
        look.root_mask =
            photoMask(*look.panel, read.reading.roots.mask, read.facts.size, read.facts.reduction);
        const std::string mask = maskBytes(look.root_mask, read.facts.full_size);
        if (read.was_drawn && fileHolds(files.roots, mask)) return true;
        const bool drawn = redraw(item, look, read.facts, files);
        writeFile(files.roots, mask);  // last: it tells that the overlay is drawn
        return drawn;
    };
    task.draw_ages = [&](const RootAges& ages) { writeGrowthMap(run.options.out, tub, ages, run.store); };
    task.stopped = [&] { return run.stopped(); };
    if (readWall(task, run.store) || std::filesystem::exists(run.options.out / growthMapName(tub))) return;
    const auto kept = run.store.wall(tub);
    if (const auto ages = kept ? agesIn(*kept) : std::nullopt) task.draw_ages(*ages);
}

bool filesThere(const Item& item, const Run& run)
{
    return std::all_of(item.tubs.begin(), item.tubs.end(), [&](const std::string& tub) {
        const Files files = filesOf(item, tub, run);
        return std::filesystem::exists(files.roots) && std::filesystem::exists(files.wall) &&
               std::filesystem::exists(files.overlay) && pagePicturesThere(files.page);
    });
}

/// What, besides the photo, its tub and the tub's earlier photos, the figures depend on.
FiguresKey figuresKey(Settings settings)
{
    std::string taught;
    if (settings.taught)
        taught = " taught " + nlohmann::json(settings.taught->weights).dump() +
                 nlohmann::json(settings.taught->bias).dump();
    // Raise the number when the code gives other figures from the same input.
    return {"figures 11 " + contentHash(contentHash(tubMapBytes()) + contentHash(rootMapBytes())),
            contentHash(settingsText(settings.measuringFields()) + taught)};
}

/// The last layer that `teach` left in the output folder, if it suits this network.
std::optional<RootLayer> taughtLayer(const std::filesystem::path& out, const Settings& settings,
                                     const MeasureEvents& events)
{
    if (!settings.roots.learned) return std::nullopt;
    const std::filesystem::path file = out / output::kTaught;
    try {
        const std::optional<Taught> taught = readTaught(file);
        if (!taught) return std::nullopt;
        const bool same_network = taught->model == contentHash(rootMapBytes()) &&
                                  taught->layer.weights.size() == shippedRootLayer().weights.size();
        if (same_network) return taught->layer;
        events.warn(file.string() +
                    ": was taught to another root map than this slipglass has, and is not used. "
                    "Run `slipglass teach` again, or take it away with `slipglass teach DIR --undo`.");
    } catch (const Error& error) {
        events.warn(std::string(error.what()) + " It is not used.");
    }
    return std::nullopt;
}

/// Names of this run's overlays, given what the season will hold.
std::map<PhotoAndTub, std::string> plannedOverlays(const std::vector<Item>& items, const SeasonStore& store)
{
    std::vector<Observation> all;
    std::set<std::string> listed;
    for (const Item& item : items) {
        if (item.problem) continue;  // what is kept of it is in the season
        listed.insert(item.file.name);
        for (const std::string& tub : item.tubs) {
            Observation seen;
            seen.photo = item.file.name;
            seen.tub = tub;
            seen.taken = *item.taken;
            all.push_back(seen);
        }
    }
    for (const Observation& seen : store.observations())
        if (!listed.count(seen.photo)) all.push_back(seen);
    return overlayNames(all);
}

/// A photo that is gone stays in the season, with two exceptions: rows about files that never gave a figure,
/// and photos that are here under another name.
void forgetGone(const std::vector<Item>& items, SeasonStore& store)
{
    std::set<std::string> listed, contents;
    for (const Item& item : items) {
        listed.insert(item.file.name);
        contents.insert(item.made.content);
    }
    for (const std::string& name : store.photos()) {
        if (listed.count(name)) continue;
        const auto kept = store.photo(name);
        if (kept->observations.empty() || contents.count(kept->made.content)) store.forget(name);
    }
}

/// @param problems  gets what is to be said of photos that keep their figures.
void tellProblems(const std::vector<Item>& items, const Run& run, std::vector<Problem>& problems)
{
    for (const Item& item : items) {
        if (!item.problem) continue;
        const auto kept = run.store.photo(item.file.name);
        // Read as before, but of another tub or none by the plan or labels of today: the figures were wrong.
        const bool readable = item.taken && kept && kept->made.content == item.made.content;
        const auto instead = readable ? std::nullopt : keptInstead(*item.problem, kept);
        if (instead)
            problems.push_back(*instead);
        else
            run.store.putPhoto(item.file.name, item.made, {}, {*item.problem});
    }
}

/// Photos and measurements that differ only in their place in a day change overlay names: an overlay drawn
/// under the old name is drawn anew.
std::vector<size_t> toDo(const std::vector<Item>& items,
                         const std::map<PhotoAndTub, std::string>& overlays_before, const Run& run)
{
    std::vector<size_t> work;
    for (size_t i = 0; i < items.size(); ++i) {
        const Item& item = items[i];
        if (item.problem) continue;
        const auto kept = run.store.photo(item.file.name);
        const bool same_names = std::all_of(item.tubs.begin(), item.tubs.end(), [&](const std::string& tub) {
            const auto before = overlays_before.find({item.file.name, tub});
            return before == overlays_before.end() ||
                   before->second == run.overlays.at({item.file.name, tub});
        });
        const bool measured = kept && kept->made == item.made && same_names &&
                              (kept->observations.empty() || filesThere(item, run));
        if (!measured) work.push_back(i);
    }
    return work;
}

/// In order of date: each photo waits for those of its tubs before it.
void sortByDate(std::vector<size_t>& work, const std::vector<Item>& items)
{
    std::sort(work.begin(), work.end(), [&](size_t a, size_t b) {
        return std::tie(*items[a].taken, items[a].file.name) < std::tie(*items[b].taken, items[b].file.name);
    });
}

/// Photos of which the season file keeps a damaged picture are measured again, so that later ones of their
/// tub can be compared with them. Looked for where there is something to measure.
/// @param problems  gets those that are not here any more.
void addDamaged(const std::vector<Item>& items, const Run& run, std::vector<size_t>& work,
                std::vector<Problem>& problems)
{
    std::map<std::string, size_t> listed;
    for (size_t i = 0; i < items.size(); ++i)
        if (!items[i].problem) listed[items[i].file.name] = i;
    std::set<size_t> wanted(work.begin(), work.end());
    std::set<std::string> looked_at;
    for (size_t n = 0; n < work.size(); ++n)  // a damaged photo may be one of another tub too
        for (const std::string& tub : items[work[n]].tubs) {
            if (!looked_at.insert(tub).second) continue;
            for (const std::string& photo : run.store.damagedViews(tub)) {
                const auto here = listed.find(photo);
                if (here == listed.end())
                    problems.push_back({photo, tub, "caution",
                                        "what the season file keeps of its wall is damaged; its figures are "
                                        "kept, but later photos are not compared with it",
                                        "Put the photo back into the folder, and it is measured again"});
                else if (wanted.insert(here->second).second)
                    work.push_back(here->second);
            }
        }
    sortByDate(work, items);
}

/// Throws on an unknown tub type, naming the plan and the tub.
void checkPlan(const Plan& plan, const std::string& name, const Settings& settings)
{
    for (const PlannedCutting& cutting : plan.cuttings) try {
            if (!cutting.tub_type.empty()) tubType(cutting.tub_type, settings.tub_types);
        } catch (const Error& error) {
            throw Error(name, "tub " + cutting.tub + ": " + error.input() + " " + error.problem(),
                        error.remedy());
        }
}

/// All corrections of a folder in one text, and back.
std::string correctionsText(const std::vector<CorrectionText>& texts)
{
    nlohmann::json list = nlohmann::json::array();
    for (const CorrectionText& one : texts) list.push_back({one.name, one.text, one.saved});
    return list.dump(-1, ' ', false, nlohmann::json::error_handler_t::replace);
}
std::vector<CorrectionText> correctionTextsIn(const std::string& text)
{
    std::vector<CorrectionText> texts;
    for (const auto& row : nlohmann::json::parse(text)) texts.push_back({row.at(0), row.at(1), row.at(2)});
    return texts;
}

/// What the user gave beside the photos, now or to an earlier run, read before the first photo is opened.
/// @param before  what the season file has.
/// @param as_before  gets a line for each that was not given now.
Given givenBeside(const MeasureOptions& options, const Given& before, std::vector<std::string>& as_before)
{
    Given given;
    given.today = options.today;
    const auto choose = [&](const char* option, const std::optional<std::filesystem::path>& typed,
                            std::optional<Given::File> Given::*file, const std::string& what,
                            const auto& read) {
        const std::string name = option;
        const bool without = options.without.count(name) > 0;
        const auto& kept = before.*file;
        if (typed && without)
            throw Error("--without " + name, "says the opposite of --" + name, "Leave one of the two out");
        if (typed) {
            const std::string text = read(*typed);
            const Date since = kept && kept->text == text ? kept->since : options.today;
            given.*file = {text, typed->string(), since};
        } else if (kept && !without) {
            given.*file = kept;
            as_before.push_back(what + " " + kept->name + " as given on " + isoDate(kept->since) + " (--" +
                                name + " again when changed, --without " + name + " to do without)");
        }
    };
    choose("batch", options.batch, &Given::plan, "Plan", readTextFile);
    choose("care", options.care, &Given::care, "Care log", readTextFile);
    choose("settings", options.settings, &Given::settings, "Settings", readTextFile);
    choose("corrections", options.corrections, &Given::corrections, "Corrections",
           [](const std::filesystem::path& folder) { return correctionsText(correctionTexts(folder)); });
    if (given.care)
        parseCare(given.care->text, given.care->name, options.today);  // said now if it cannot be read
    return given;
}

/// A clock set back would put photos of this season after today.
void checkClock(const SeasonStore& store, Date today)
{
    for (const Observation& seen : store.observations()) {
        // A day's grace, for those who travel.
        if (std::chrono::sys_days(seen.taken.date) <= std::chrono::sys_days(today) + std::chrono::days{1})
            continue;
        throw Error(seen.photo,
                    "was taken on " + isoDate(seen.taken.date) + ", but today is " + isoDate(today) +
                        " by this computer's clock; nothing was changed",
                    "Set the clock right and run again");
    }
}

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

/// What the season file has of earlier runs; nothing is made where there is none.
Given givenBefore(const MeasureOptions& options)
{
    const std::filesystem::path file = options.out / output::kSeason;
    if (!std::filesystem::exists(file)) return {};
    const SeasonStore store(file);  // also one that an end at its very beginning left empty
    checkClock(store, options.today);
    return givenIn(store).value_or(Given{});
}

/// Measures what is new or depends on something that changed.
/// @param problems  gets what is to be said of photos that keep their figures.
void measureNew(std::vector<Item>& items, Run& run, MeasureResult& result, std::vector<Problem>& problems)
{
    SeasonStore& store = run.store;
    for (Item& item : items) {
        item.made.program = run.figures.program;
        item.made.settings = run.figures.settings;
        item.made.moved = movedBy(item);
    }
    forgetGone(items, store);
    tellProblems(items, run, problems);
    EarlierViews earlier(items, store, run.figures,
                         [&](const std::string& tub) { return basisOf(tub, run); });
    for (Item& item : items) {
        if (item.problem) continue;
        std::string tubs;
        for (const std::string& tub : item.tubs)
            tubs += basisOf(tub, run) + ' ' + earlier.before(tub, item.file.name) + ' ';
        item.made.tubs = contentHash(tubs);
    }
    const auto overlays_before = overlayNames(store.observations());
    run.overlays = plannedOverlays(items, store);
    std::vector<size_t> work = toDo(items, overlays_before, run);
    addDamaged(items, run, work, problems);
    for (const size_t i : work) earlier.expect(items[i]);
    std::mutex counting;
    int done = 0;
    inParallel(work.size(), run.options.threads, [&](size_t i) {
        const Item& item = items[work[i]];
        const Leaving leaving{earlier, item};
        if (run.stopped()) return;
        try {
            const Measured measured = measureItem(item, earlier, run);
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
    inParallel(known.size(), run.options.threads, [&](size_t i) {
        if (!run.stopped()) readWall(known[i], by_name, run);
    });
    const std::set<size_t> worked(work.begin(), work.end());
    for (size_t i = 0; i < items.size(); ++i) {
        if (items[i].problem || worked.count(i)) continue;
        const auto kept = store.photo(items[i].file.name);
        result.kept += kept && std::any_of(kept->observations.begin(), kept->observations.end(), usable);
    }
}

}  // namespace

MeasureResult measure(const MeasureOptions& given, const MeasureEvents& events)
{
    MeasureOptions options = given;
    cv::setNumThreads(1);  // photos are measured side by side instead; sums come out the same on any machine

    // What the user has typed is checked before the first photo is opened.
    MeasureResult result;
    result.new_season = !std::filesystem::exists(options.out / output::kSeason);
    if (options.rescue && !result.new_season) rescue(options.out / output::kSeason, events);
    Given beside = givenBeside(options, givenBefore(options), result.as_given_before);
    Settings settings;
    if (const auto& kept = beside.settings) try {
            settings = settingsFrom(kept->text, kept->name);
        } catch (const Error& error) {
            if (options.settings) throw;
            throw Error(kept->name + " as given on " + isoDate(kept->since), error.problem(),
                        error.remedy() + ". Then give it again with --settings, or do --without settings");
        }
    beside.standing = settings.standing;
    beside.season = settings.season;
    beside.flags = settings.flags;
    std::optional<Plan> plan;
    if (beside.plan) {
        plan = parsePlan(beside.plan->text, beside.plan->name, options.today);
        checkPlan(*plan, beside.plan->name, settings);
    }
    const PhotoListing listing = listPhotos(options.photos);
    if (listing.files.empty())
        throw Error(options.photos.empty() ? "measure" : options.photos.front().string(),
                    "there is no photo in it", "Name a folder with JPEG, PNG, TIFF, WebP or HEIC photos");
    SeasonStore store(options.out / output::kSeason);
    settings.taught = taughtLayer(options.out, settings, events);
    Run run{options, events, settings, plan, store, figuresKey(settings), {}};

    std::vector<Item> items = readItems(listing.files, plan, settings, store, options, events);
    std::vector<Problem> bad_corrections;
    if (const auto& kept = beside.corrections)
        bad_corrections =
            giveCorrections(parseCorrections(correctionTextsIn(kept->text)), kept->name, items, store);
    beside.problems = listing.problems;
    if (!run.stopped()) measureNew(items, run, result, beside.problems);
    result.stopped = run.stopped();
    // Threads come to their end in any order.
    std::stable_sort(beside.problems.begin(), beside.problems.end(),
                     [](const Problem& a, const Problem& b) { return a.file < b.file; });
    beside.problems.insert(beside.problems.end(), bad_corrections.begin(), bad_corrections.end());
    putGiven(store, beside);
    result.season = seasonIn(store);
    std::set<std::string> without;
    for (const Problem& problem : result.season.problems)
        if (problem.state != "caution") without.insert(problem.file);
    result.not_measured = static_cast<int>(without.size());
    writeReport(result.season, options.out);
    for (const std::string& warning : result.season.warnings) events.warn(warning);
    return result;
}

}  // namespace slipglass
