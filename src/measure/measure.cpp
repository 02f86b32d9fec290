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
#include "slipglass/panel/panel_file.h"
#include "slipglass/report/file_names.h"
#include "slipglass/roots/root_layer.h"
#include "slipglass/season/csv.h"
#include "slipglass/store/write_file.h"
#include "wall.h"

namespace slipglass {

namespace {

/// What does not change during a run.
struct Run {
    const MeasureOptions& options;
    const MeasureEvents& events;
    Settings settings;
    std::optional<Plan> plan;
    SeasonStore& store;
    std::string figures_key;
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
    return contentHash(run.figures_key + tub + '\n' + type);
}

struct Files {
    std::filesystem::path roots, wall, overlay;
    PagePicture page;
};

Files filesOf(const Item& item, const std::string& tub, const Run& run)
{
    const std::string stem = maskStem(item, tub);
    const std::string masks = (run.options.out / "masks" / stem).string();
    const std::string& overlay = run.overlays.at({item.file.name, tub});
    return {masks + ".roots.png",
            masks + ".wall.png",
            run.options.out / overlay,
            {run.options.out, overlay, stem}};
}

/// True when the file held something else before, or was not there.
bool writeMask(const std::filesystem::path& path, const cv::Mat& mask, cv::Size full_size)
{
    cv::Mat full;
    cv::resize(mask, full, full_size, 0, 0, cv::INTER_NEAREST);
    // OpenCV's own choice for speed: four times faster than a set level, and a mask stays below 50 kB.
    return writeFile(path, encoded(".png", full, {}));
}

void writePictures(const Files& files, const Picture& picture, const Look& look)
{
    const cv::Mat drawn = drawOverlay(picture, look);
    writeFile(files.overlay, encoded(".jpg", drawn, {cv::IMWRITE_JPEG_QUALITY, 85}));
    writePagePictures(files.page, picture, look, drawn);
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
        if (!kept) run.store.putPhoto(name, item.key, {}, {*found.problem});
        return {false, kept};
    }
    std::vector<Observation> seen;
    std::vector<Problem> problems;
    std::vector<KeptView> views;
    for (size_t i = 0; i < item.tubs.size(); ++i) {
        const std::string& tub = item.tubs[i];
        Look& look = found.looks[i];
        if (look.view && look.place.side.empty())
            look.place.side = contentHash(basisOf(tub, run) + madeOf(item, run.figures_key));
        if (look.view)
            earlier.settle(tub, name, viewOf(look, look.place, panels[tub]));
        else
            earlier.settle(tub, name, {});
        // A mask stays at the size it was made at, even if a later tub made the photo be decoded larger.
        Picture picture = found.picture;
        if (look.root_mask.size() != picture.bgr.size())
            cv::resize(found.picture.bgr, picture.bgr, look.root_mask.size(), 0, 0, cv::INTER_AREA);
        const Files files = filesOf(item, tub, run);
        writeMask(files.wall, look.wall_mask, picture.full_size);
        writeMask(files.roots, look.root_mask, picture.full_size);
        writePictures(files, picture, look);
        writeWallPicture(files.page, look);
        seen.push_back(look.seen);
        if (look.seen.state != State::measured) problems.push_back(problemOf(look));
        if (look.view) views.push_back(keptView(look, panels[tub], picture, basisOf(tub, run)));
    }
    run.store.putPhoto(name, item.key, seen, problems, views, run.options.today);
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
bool redraw(const Item& item, const Look& look, const WallPhoto& photo, const Files& files)
{
    try {
        const int long_side = std::max(photo.size.width, photo.size.height);
        writePictures(files, readPicture(item.file.path, *item.facts, long_side), look);
        return true;
    } catch (const Error&) {
        return false;  // its problem is told when it is measured
    } catch (const cv::Exception&) {
        return false;
    }
}

/// What the parts of a wall depend on: another place for a cutting has its wall read again, no photo opened.
std::string partsKey(const TubParts& parts, PartSettings settings)
{
    if (parts.parts.empty()) return {};
    std::vector<SettingField> fields;
    appendFields("parts", settings, fields);
    return "\nparts " + partsText(parts) + '\n' + settingsText(fields);
}

/// Reads all photos of a tub's wall together, and puts right what that changes on each of them.
/// @param items  this run's photos, by name; the overlays of others are left for a run that has them.
void readWall(const std::string& tub, const std::map<std::string, const Item*>& items, const Run& run)
{
    const std::vector<KeptView> views = run.store.views(tub);
    const TubParts parts = run.plan ? partsOfTub(*run.plan, tub) : TubParts{};
    const std::string basis = basisOf(tub, run);
    const std::string key = wallKey(views, basis + partsKey(parts, run.settings.parts));
    const auto kept = run.store.history(tub);
    std::set<std::string> undrawn = kept ? undrawnIn(*kept) : std::set<std::string>{};
    const auto listed = [&](const std::string& photo) { return items.count(photo) > 0; };
    if (kept && kept->key == key && std::none_of(undrawn.begin(), undrawn.end(), listed)) {
        if (!std::filesystem::exists(run.options.out / growthMapName(tub)))
            writeGrowthMap(run.options.out, tub, run.store);
        return;
    }
    const Wall wall = wallOf(views, run.store, basis);
    const WallRead read = readSides(wall, run.settings.roots);
    std::vector<Observation> seen;
    for (size_t i = 0; i < wall.views.size(); ++i) {
        if (run.stopped()) return;
        const WallPhoto& photo = wall.photos[i];
        Look look;
        look.seen = photo.seen;
        setReading(look.seen, wall.views[i], read.readings[i]);
        // The plan says where the cuttings stand on the side of the tub's first photo.
        WallView on_first = wall.views[i];
        if (photo.side != wall.photos[0].side) on_first.to_first.reset();
        setParts(look.seen, on_first, read.readings[i], wall.photos[0].first_size, parts, run.settings.parts);
        seen.push_back(look.seen);
        const std::string& name = photo.seen.photo;
        if (!listed(name)) {
            undrawn.insert(name);
            continue;
        }
        const Item& item = *items.at(name);
        const Files files = filesOf(item, tub, run);
        look.panel = wall.views[i].panel;
        look.root_mask = photoMask(*look.panel, read.readings[i].roots.mask, photo.size, photo.reduction);
        const bool changed = writeMask(files.roots, look.root_mask, photo.full_size);
        if ((changed || undrawn.count(name)) && !redraw(item, look, photo, files))
            undrawn.insert(name);
        else
            undrawn.erase(name);
    }
    setFog(seen, wall);
    run.store.putHistory(tub, keptHistory(key, wall, read, undrawn), seen);
    writeGrowthMap(run.options.out, tub, run.store);
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
std::string figuresKey(Settings settings)
{
    std::string taught;
    if (settings.taught)
        taught = " taught " + nlohmann::json(settings.taught->weights).dump() +
                 nlohmann::json(settings.taught->bias).dump();
    std::vector<SettingField> fields = settings.fields();
    // What is derived from the figures later does not change them.
    std::erase_if(fields, [](const SettingField& f) {
        return f.group == "season" || f.group == "flags" || f.group == "parts";
    });
    // Raise the number when the code gives other figures from the same input.
    return contentHash("figures 10\n" + settingsText(fields) + contentHash(tubMapBytes()) +
                       contentHash(rootMapBytes()) + taught);
}

/// The last layer that `teach` left in the output folder, if it suits this network.
std::optional<RootLayer> taughtLayer(const std::filesystem::path& out, const Settings& settings,
                                     const MeasureEvents& events)
{
    if (!settings.roots.learned) return std::nullopt;
    const std::filesystem::path file = out / "taught.json";
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
        contents.insert(item.content);
    }
    for (const std::string& name : store.photos()) {
        if (listed.count(name)) continue;
        const auto kept = store.photo(name);
        if (kept->observations.empty() || contents.count(contentOf(kept->key))) store.forget(name);
    }
}

/// @param problems  gets what is to be said of photos that keep their figures.
void tellProblems(const std::vector<Item>& items, const Run& run, std::vector<Problem>& problems)
{
    for (const Item& item : items) {
        if (!item.problem) continue;
        const auto kept = run.store.photo(item.file.name);
        // Read as before, but of another tub or none by the plan or labels of today: the figures were wrong.
        const bool readable = item.taken && kept && contentOf(kept->key) == item.content;
        const auto instead = readable ? std::nullopt : keptInstead(*item.problem, kept);
        if (instead)
            problems.push_back(*instead);
        else
            run.store.putPhoto(item.file.name, keyOf(item, run.figures_key), {}, {*item.problem});
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
        const bool measured = kept && kept->key == item.key && same_names &&
                              (kept->observations.empty() || filesThere(item, run));
        if (!measured) work.push_back(i);
    }
    // In order of date: each photo waits for those of its tubs before it.
    std::sort(work.begin(), work.end(), [&](size_t a, size_t b) {
        return std::tie(*items[a].taken, items[a].file.name) < std::tie(*items[b].taken, items[b].file.name);
    });
    return work;
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

/// What the season file has of earlier runs; nothing is made where there is none.
Given givenBefore(const MeasureOptions& options)
{
    const std::filesystem::path file = options.out / "season.db";
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
    forgetGone(items, store);
    tellProblems(items, run, problems);
    EarlierViews earlier(items, store, run.figures_key,
                         [&](const std::string& tub) { return basisOf(tub, run); });
    for (Item& item : items) {
        if (item.problem) continue;
        std::string depends_on = madeOf(item, run.figures_key).substr(item.content.size() + 1);
        for (const std::string& tub : item.tubs)
            depends_on += ' ' + basisOf(tub, run) + ' ' + earlier.before(tub, item.file.name);
        if (!item.corrected.empty()) depends_on += " corrected " + item.corrected;
        item.key = keyOf(item, depends_on);
    }
    const auto overlays_before = overlayNames(store.observations());
    run.overlays = plannedOverlays(items, store);
    const std::vector<size_t> work = toDo(items, overlays_before, run);
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
    Given beside = givenBeside(options, givenBefore(options), result.as_given_before);
    Settings settings;
    if (beside.settings) settings = settingsFrom(beside.settings->text, beside.settings->name);
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
    SeasonStore store(options.out / "season.db");
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
