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

#include "overlay.h"
#include "photo_list.h"
#include "slipglass/panel/panel_file.h"
#include "slipglass/report/file_names.h"
#include "slipglass/store/write_file.h"

namespace slipglass {

namespace {

/// What does not change during a run.
struct Run {
    const MeasureOptions& options;
    const MeasureEvents& events;
    Settings settings;
    std::optional<Plan> plan;
    SeasonStore& store;
    std::map<PhotoAndTub, std::string> overlays;

    bool stopped() const { return events.stop && *events.stop; }

    std::optional<TubType> typeOf(const std::string& tub) const
    {
        if (plan)
            for (const PlannedCutting& cutting : plan->cuttings)
                if (cutting.tub == tub && !cutting.tub_type.empty())
                    return tubType(cutting.tub_type, settings.tub_types);
        return std::nullopt;
    }
};

std::string encoded(const std::string& ending, const cv::Mat& image, const std::vector<int>& how)
{
    std::vector<uchar> bytes;
    cv::imencode(ending, image, bytes, how);
    return {bytes.begin(), bytes.end()};
}

/// A picture and its labels; decoded larger when the tub turns out small in a large photo.
struct OpenPhoto {
    Picture picture;
    std::vector<Label> labels;
};

OpenPhoto openPhoto(const Item& item, int long_side, const Settings& settings)
{
    OpenPhoto open{readPicture(item.file.path, *item.facts, long_side), {}};
    open.labels = labelsIn(open.picture, settings.label);
    return open;
}

/// The tub's label among those read; empty when it has none that can be read.
std::optional<Label> labelOf(const std::string& tub, const std::vector<Label>& labels)
{
    for (const Label& label : labels)
        if (label.tub == tub) return label;
    return std::nullopt;
}

Look lookAt(OpenPhoto& open, const Item& item, const std::string& tub, const TubHistory& history,
            const Run& run)
{
    TubInPhoto which{tub, run.typeOf(tub), labelOf(tub, open.labels)};
    for (;;) {
        Look look =
            observe(open.picture, *item.facts, item.file.name, *item.taken, which, history, run.settings);
        if (!look.panel) return look;
        const double wanted = 0.8 / run.settings.panel.mm_per_px;
        if (open.picture.reduction > 1 && look.panel->px_per_mm / open.picture.reduction < wanted) {
            open = openPhoto(item, 2 * std::max(open.picture.bgr.cols, open.picture.bgr.rows), run.settings);
            which.label = labelOf(tub, open.labels);
            continue;
        }
        if (!which.label && (which.label = labelOf(tub, labelsOn(*look.panel, run.settings.label)))) continue;
        return look;
    }
}

TubHistory historyFor(const std::string& tub, const Item& item, const SeasonStore& store)
{
    TubHistory history;
    const auto reference = store.referencePanel(tub);
    if (!reference) return history;
    const nlohmann::json meta = nlohmann::json::parse(reference->meta, nullptr, false);
    if (!meta.is_object()) return history;
    if (meta.contains("wall_lightness") && meta["wall_lightness"].is_number())
        history.first_wall_lightness = meta["wall_lightness"];
    history.against_label = meta.value("against_label", false);
    if (reference->photo != item.file.name)
        history.first = decodePanel({reference->bytes, meta.value("panel", "")});
    return history;
}

/// Makes sure that the tub's reference panel is of its earliest photo that can be measured.
void settleReference(const std::string& tub, const std::string& earliest,
                     const std::vector<const Item*>& in_order, const Run& run)
{
    const auto kept = run.store.referencePanel(tub);
    if (kept) {
        const nlohmann::json meta = nlohmann::json::parse(kept->meta, nullptr, false);
        if (meta.is_object() && meta.value("earliest", "") == earliest) return;
    }
    for (const Item* item : in_order) {
        if (run.stopped()) return;
        try {
            OpenPhoto open = openPhoto(*item, kPictureSide, run.settings);
            const Look look = lookAt(open, *item, tub, {}, run);
            if (!look.panel || look.seen.state == State::retake) continue;
            const PanelFile file = encodePanel(*look.panel);
            nlohmann::json meta = {{"earliest", earliest}, {"panel", file.meta}, {"wall_lightness", nullptr}};
            if (look.seen.wall_lightness) meta["wall_lightness"] = *look.seen.wall_lightness;
            meta["against_label"] = look.against_label;
            run.store.putReferencePanel(tub, {item->file.name, meta.dump(), file.bytes});
            return;
        } catch (const Error&) {
            continue;  // said again, and kept, when the photo itself is measured
        }
    }
}

std::string maskStem(const Item& item, const std::string& tub)
{
    return item.tubs.size() > 1 ? item.file.stem + "." + safeFileName(tub) : item.file.stem;
}

struct Files {
    std::filesystem::path roots, wall, overlay;
};

Files filesOf(const Item& item, const std::string& tub, const Run& run)
{
    const std::string masks = (run.options.out / "masks" / maskStem(item, tub)).string();
    return {masks + ".roots.png", masks + ".wall.png",
            run.options.out / run.overlays.at({item.file.name, tub})};
}

void writePictures(const Item& item, const std::string& tub, const Picture& picture, const Look& look,
                   const Run& run)
{
    const Files files = filesOf(item, tub, run);
    const std::pair<std::filesystem::path, cv::Mat> masks[] = {{files.roots, look.root_mask},
                                                               {files.wall, look.wall_mask}};
    for (const auto& [path, mask] : masks) {
        cv::Mat full;
        cv::resize(mask, full, picture.full_size, 0, 0, cv::INTER_NEAREST);
        // OpenCV's own choice for speed: four times faster than a set level, and a mask stays below 50 kB.
        writeFile(path, encoded(".png", full, {}));
    }
    writeFile(files.overlay, encoded(".jpg", drawOverlay(picture, look), {cv::IMWRITE_JPEG_QUALITY, 85}));
}

Problem problemOf(const Look& look)
{
    std::string why;
    for (const std::string& note : look.seen.notes) why += (why.empty() ? "" : "; ") + note;
    return {look.seen.photo, look.seen.tub, look.seen.state == State::retake ? "retake" : "caution", why,
            look.remedy};
}

/// Measures one photo and keeps what comes of it.
void measureItem(const Item& item, const Run& run)
{
    std::vector<Observation> seen;
    std::vector<Problem> problems;
    std::vector<std::pair<std::string, Look>> looks;
    OpenPhoto open;
    try {
        open = openPhoto(item, kPictureSide, run.settings);
        for (const std::string& tub : item.tubs)
            looks.emplace_back(tub, lookAt(open, item, tub, historyFor(tub, item, run.store), run));
    } catch (const Error& error) {
        run.store.putPhoto(item.file.name, item.key, {}, {problemOf(item.file.name, error)});
        return;
    }
    // From here on an Error is about the output, and ends the run.
    for (const auto& [tub, look] : looks) {
        // A mask stays at the size it was made at, even if a later tub made the photo be decoded larger.
        Picture picture = open.picture;
        if (look.root_mask.size() != picture.bgr.size())
            cv::resize(open.picture.bgr, picture.bgr, look.root_mask.size(), 0, 0, cv::INTER_AREA);
        writePictures(item, tub, picture, look, run);
        seen.push_back(look.seen);
        if (look.seen.state != State::measured) problems.push_back(problemOf(look));
    }
    run.store.putPhoto(item.file.name, item.key, seen, problems);
}

bool filesThere(const Item& item, const Run& run)
{
    return std::all_of(item.tubs.begin(), item.tubs.end(), [&](const std::string& tub) {
        const Files files = filesOf(item, tub, run);
        return std::filesystem::exists(files.roots) && std::filesystem::exists(files.wall) &&
               std::filesystem::exists(files.overlay);
    });
}

/// What the settings and the plan have to do with the figures of a photo.
std::string settingsKey(Settings settings, const std::optional<Plan>& plan)
{
    std::vector<SettingField> fields = settings.fields();
    // What is derived from the figures later does not change them.
    std::erase_if(fields, [](const SettingField& f) { return f.group == "season" || f.group == "flags"; });
    std::string text = std::string("figures 1\n") + settingsText(fields);
    for (const TubType& t : settings.tub_types)
        text += t.name + ' ' + std::to_string(t.rim_diameter_mm) + ' ' + std::to_string(t.base_diameter_mm) +
                ' ' + std::to_string(t.height_mm) + ' ' + std::to_string(t.wall_mm) + '\n';
    if (plan)
        for (const PlannedCutting& c : plan->cuttings) text += c.tub + '=' + c.tub_type + '\n';
    return contentHash(text);
}

/// Names of this run's overlays, given what the season will hold.
std::map<PhotoAndTub, std::string> plannedOverlays(const std::vector<Item>& items, const SeasonStore& store)
{
    std::vector<Observation> all;
    std::set<std::string> listed;
    for (const Item& item : items) {
        listed.insert(item.file.name);
        if (item.problem) continue;
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

/// Rows about files that are gone and never gave a figure would stay for ever, for instance after a file was
/// renamed.
void forgetGoneProblems(const std::vector<Item>& items, SeasonStore& store)
{
    std::set<std::string> listed;
    for (const Item& item : items) listed.insert(item.file.name);
    for (const std::string& photo : store.photos())
        if (!listed.count(photo) && store.photo(photo)->observations.empty()) store.forget(photo);
}

std::vector<const Item*> inOrder(const std::vector<Item>& items, const std::string& tub)
{
    std::vector<const Item*> order;
    for (const Item& item : items)
        if (!item.problem && std::find(item.tubs.begin(), item.tubs.end(), tub) != item.tubs.end())
            order.push_back(&item);
    std::sort(order.begin(), order.end(), [](const Item* a, const Item* b) {
        return std::tuple(*a->taken, a->file.name) < std::tuple(*b->taken, b->file.name);
    });
    return order;
}

/// Photos and measurements that differ only in their place in a day change overlay names: an overlay drawn
/// under the old name is drawn anew.
std::vector<size_t> toDo(const std::vector<Item>& items,
                         const std::map<PhotoAndTub, std::string>& overlays_before, const Run& run)
{
    std::vector<size_t> work;
    for (size_t i = 0; i < items.size(); ++i) {
        const Item& item = items[i];
        const auto kept = run.store.photo(item.file.name);
        if (item.problem) {
            run.store.putPhoto(item.file.name, item.key, {}, {*item.problem});
            continue;
        }
        const bool same_names = std::all_of(item.tubs.begin(), item.tubs.end(), [&](const std::string& tub) {
            const auto before = overlays_before.find({item.file.name, tub});
            return before == overlays_before.end() ||
                   before->second == run.overlays.at({item.file.name, tub});
        });
        const bool measured = kept && kept->key == item.key && same_names &&
                              (kept->observations.empty() || filesThere(item, run));
        if (!measured) work.push_back(i);
    }
    return work;
}

/// Throws on an unknown tub type.
void checkPlan(const std::optional<Plan>& plan, const Settings& settings)
{
    if (!plan) return;
    for (const PlannedCutting& cutting : plan->cuttings)
        if (!cutting.tub_type.empty()) tubType(cutting.tub_type, settings.tub_types);
}

}  // namespace

MeasureResult measure(const MeasureOptions& given, const MeasureEvents& events)
{
    MeasureOptions options = given;
    if (options.threads < 1)
        options.threads = std::max(1, static_cast<int>(std::thread::hardware_concurrency()));
    cv::setNumThreads(1);  // photos are measured side by side instead; sums come out the same on any machine

    // What the user has typed is checked before the first photo is opened.
    Settings settings = options.settings ? readSettingsFile(*options.settings) : Settings{};
    std::optional<Plan> plan;
    if (options.batch) plan = readPlan(*options.batch, options.today);
    checkPlan(plan, settings);
    const PhotoListing listing = listPhotos(options.photos);
    if (listing.files.empty())
        throw Error(options.photos.empty() ? "measure" : options.photos.front().string(),
                    "there is no photo in it", "Name a folder with JPEG, PNG, TIFF, WebP or HEIC photos");
    SeasonStore store(options.out / "season.db");
    Run run{options, events, settings, plan, store, {}};

    std::vector<Item> items = readItems(listing.files, plan, settings, store, options, events);
    MeasureResult result;
    if (!run.stopped()) {
        const std::map<std::string, std::string> earliest = earliestPhotos(items, store);
        const std::string settings_key = settingsKey(settings, plan);
        for (Item& item : items) {
            item.key = item.content + ' ' + settings_key;
            if (item.problem) continue;
            for (const std::string& tub : item.tubs)
                item.key += ' ' + contentHash(tub + '\n' + earliest.at(tub));
        }
        forgetGoneProblems(items, store);
        const auto overlays_before = overlayNames(store.observations());
        run.overlays = plannedOverlays(items, store);
        const std::vector<size_t> work = toDo(items, overlays_before, run);

        std::set<std::string> tubs;
        for (const size_t i : work) tubs.insert(items[i].tubs.begin(), items[i].tubs.end());
        const std::vector<std::string> tub_list(tubs.begin(), tubs.end());
        const int total = static_cast<int>(work.size());
        events.progress(0, total);
        inParallel(tub_list.size(), options.threads, [&](size_t i) {
            settleReference(tub_list[i], earliest.at(tub_list[i]), inOrder(items, tub_list[i]), run);
        });
        std::mutex counting;
        inParallel(work.size(), options.threads, [&](size_t i) {
            if (run.stopped()) return;
            measureItem(items[work[i]], run);
            const std::lock_guard lock(counting);
            events.progress(++result.measured, total);
        });
        const auto sound =
            std::count_if(items.begin(), items.end(), [](const Item& item) { return !item.problem; });
        result.kept = static_cast<int>(sound) - total;
    }
    result.stopped = run.stopped();

    std::vector<Problem> problems = store.problems();
    problems.insert(problems.end(), listing.problems.begin(), listing.problems.end());
    result.season = buildSeason(store.observations(), problems, plan, settings.season, settings.flags);
    for (const Problem& problem : result.season.problems) result.not_measured += problem.state != "caution";
    writeReport(result.season, options.out);
    for (const std::string& warning : result.season.warnings) events.warn(warning);
    return result;
}

}  // namespace slipglass
