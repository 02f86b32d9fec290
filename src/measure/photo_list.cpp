#include "photo_list.h"

#include <sys/stat.h>

#include <algorithm>
#include <ctime>
#include <nlohmann/json.hpp>
#include <set>
#include <tuple>

#include "run.h"
#include "slipglass/in_parallel.h"
#include "slipglass/layout/file_names.h"
#include "slipglass/read_file.h"
#include "try_photo.h"

namespace slipglass {

namespace {

/// As the file is now; empty when that cannot be told, or when it was changed so shortly ago that another
/// change would not show.
std::optional<FileStamp> stampOf(const std::filesystem::path& path)
{
    struct stat now {};
    timespec clock{};
    if (stat(path.c_str(), &now) != 0 || clock_gettime(CLOCK_REALTIME, &clock) != 0) return std::nullopt;
    constexpr long long kNs = 1'000'000'000, kShortly = 2 * kNs;
    const auto ns = [](const timespec& time) { return time.tv_sec * kNs + time.tv_nsec; };
    if (ns(clock) - ns(now.st_ctim) < kShortly) return std::nullopt;
    return FileStamp{now.st_size, ns(now.st_mtim), ns(now.st_ctim), ""};
}

/// Reads the file where it is not as it was.
void setContent(Item& item, const KeptPhotos& before, const PhotoLimits& limits)
{
    auto stamp = stampOf(item.file.path);  // before it is read: what changes meanwhile shows the next time
    const auto known = before.files.find(item.file.name);
    if (stamp && known != before.files.end() && !known->second.content.empty()) {
        stamp->content = known->second.content;
        if (*stamp == known->second) {
            item.made.content = known->second.content;
            item.stamp = stamp;
            return;
        }
    }
    item.made.content = contentHash(readFile(item.file.path, mostBytes(limits)));
    if (stamp) stamp->content = item.made.content;
    item.stamp = stamp;
}

/// Ids on the labels of a photo, sorted, each once.
std::vector<std::string> readLabels(const Item& item, const Settings& settings)
{
    const PhotoFacts facts = factsOf(item, settings.photos);
    const Picture picture = readPicture(item.file.path, facts, kPictureSide);
    std::vector<Label> labels = labelsIn(picture, settings.label);
    if (labels.empty()) labels = labelsOnWallOf(picture, facts, settings);
    std::set<std::string> tubs;
    for (const Label& label : labels) tubs.insert(label.tub);
    return {tubs.begin(), tubs.end()};
}

/// The tubs to be measured in a photo, sorted; none where neither name nor label tells (see settleTubs). Its
/// labels must have been read where its name does not tell.
std::vector<std::string> tubsOf(const Item& item, const std::optional<Plan>& plan)
{
    const PhotoFile& file = item.file;
    if (!item.made.labels) return {*file.named_tub};
    std::vector<std::string> tubs;
    for (const std::string& tub : *item.made.labels)
        if (!plan || planned(plan, tub)) tubs.push_back(tub);
    if (tubs.empty() && !item.made.labels->empty())
        throw Error(file.name,
                    "its label says '" + item.made.labels->front() + "', which is no tub of the plan",
                    "Add the tub to the plan, or photograph the tub's own label");
    return tubs;
}

/// The tub that an earlier run found the photo to show: what was said once is not said otherwise because
/// other photos came.
std::vector<std::string> tubBefore(const Item& item, const StoredPhoto* kept, const std::optional<Plan>& plan)
{
    if (!kept || kept->made.content != item.made.content || kept->observations.size() != 1) return {};
    const std::string& tub = kept->observations.front().tub;
    if (plan && !planned(plan, tub)) return {};
    return {tub};
}

/// What another run found of a photo that does not name its tub. What cannot be read is found anew.
void takeListed(Item& item, const ListedPhoto& listed, Date today, const PhotoLimits& limits)
{
    if (item.made.content != listed.content)
        throw RunError(item.file.name, "has changed since the list of tubs was made",
                       "Run 'slipglass measure --find-tubs LIST' again, and give that list to all parts");
    item.file.name = listed.name;
    item.file.stem = listed.stem;
    item.facts = readFacts(item.file.path, limits);
    item.taken = takenAt(item.file, *item.facts, today);
    item.made.labels = listed.labels;
    item.tubs = listed.tubs;
    item.problem = listed.problem;
}

/// A phone starts its numbers anew, and people empty it into a new folder each week: a photo of other content
/// and another day or time under a known name is another photo.
bool anotherPhoto(const Item& item, const StoredPhoto* kept)
{
    return kept && !kept->observations.empty() && kept->made.content != item.made.content &&
           kept->observations.front().taken != *item.taken;
}

/// Puts the folder's own name in front.
void tellApart(PhotoFile& file)
{
    const std::string folder = std::filesystem::absolute(file.path).parent_path().filename().string();
    file.name = folder + "/" + file.name;
    file.stem = folder + "/" + file.stem;
}

}  // namespace

bool namesItsTub(const PhotoFile& file, const std::optional<Plan>& plan)
{
    return file.named_tub && (!file.tub_from_folder || planned(plan, *file.named_tub));
}

bool planned(const std::optional<Plan>& plan, const std::string& tub)
{
    return plan && std::any_of(plan->cuttings.begin(), plan->cuttings.end(),
                               [&](const PlannedCutting& c) { return c.tub == tub; });
}

std::string photoStem(const Item& item)
{
    return safeStem(item.file.stem);
}

std::string maskStem(const Item& item, const std::string& tub)
{
    if (item.tubs.size() < 2) return photoStem(item);
    return photoStem(item) + "." + safeFileNames({item.tubs.begin(), item.tubs.end()}).at(tub);
}

PhotoFacts factsOf(const Item& item, const PhotoLimits& limits)
{
    return item.facts ? *item.facts : readFacts(item.file.path, limits);
}

std::string onlyTub(const Item& item)
{
    return item.tubs.size() == 1 ? item.tubs.front() : "";
}

std::vector<Item> readItems(const std::vector<PhotoFile>& files, const std::optional<Plan>& plan,
                            const Settings& settings, const KeptPhotos& before, const MeasureOptions& options,
                            const MeasureEvents& events, const TubList& listed)
{
    std::vector<Item> items(files.size());
    const std::string program = figuresKey(settings).program;
    const auto read = [&](Item& item) {
        const StoredPhoto* kept = before.find(item.file.name);
        setContent(item, before, settings.photos);
        if (saysNoTub(item.file.name)) return;
        if (const auto known = listed.find(item.file.name); known != listed.end())
            return takeListed(item, known->second, options.today, settings.photos);
        if (kept && kept->made.content == item.made.content && kept->made.program == program &&
            !kept->observations.empty()) {
            item.taken = kept->observations.front().taken;
        } else {
            item.facts = readFacts(item.file.path, settings.photos);
            item.taken = takenAt(item.file, *item.facts, options.today);
        }
        if (anotherPhoto(item, kept)) {
            tellApart(item.file);
            kept = before.find(item.file.name);
        }
        if (!namesItsTub(item.file, plan)) {
            if (kept && kept->made.content == item.made.content) item.made.labels = kept->made.labels;
            if (!item.made.labels) item.made.labels = readLabels(item, settings);
        }
        item.tubs = tubsOf(item, plan);
        if (item.tubs.empty()) item.tubs = tubBefore(item, kept, plan);
    };
    inParallel(files.size(), options.threads, [&](size_t i) {
        Item& item = items[i];
        item.file = files[i];
        if (events.stop && *events.stop) return;
        const std::string tub = namesItsTub(item.file, plan) ? *item.file.named_tub : "";
        const auto problem = tryPhoto(item.file.name, tub, [&] { read(item); });
        if (!problem) return;  // the list may tell one
        item.problem = problem;
        item.problem->file = item.file.name;  // told apart meanwhile
    });
    return items;
}

}  // namespace slipglass
