#include "photo_list.h"

#include <xxhash.h>

#include <algorithm>
#include <cstdio>
#include <exception>
#include <fstream>
#include <mutex>
#include <set>
#include <sstream>
#include <thread>
#include <tuple>

namespace slipglass {

namespace {

std::string fileBytes(const std::filesystem::path& path)
{
    std::ifstream in(path, std::ios::binary);
    if (!in) throw Error(path.string(), "cannot be opened", "Check that the file is there and may be read");
    std::ostringstream bytes;
    bytes << in.rdbuf();
    return bytes.str();
}

bool planned(const std::optional<Plan>& plan, const std::string& tub)
{
    return plan && std::any_of(plan->cuttings.begin(), plan->cuttings.end(),
                               [&](const PlannedCutting& c) { return c.tub == tub; });
}

/// Content part of a key: keys begin with the content's hash.
std::string contentOf(const std::string& key)
{
    return key.substr(0, key.find(' '));
}

/// Ids on the labels of a photo, sorted, each once; with a plan only those it knows.
std::vector<std::string> labelledTubs(const Item& item, const std::optional<Plan>& plan,
                                      const Settings& settings)
{
    std::set<std::string> tubs, strangers;
    const Picture picture = readPicture(item.file.path, *item.facts, kPictureSide);
    std::vector<Label> labels = labelsIn(picture, settings.label);
    if (labels.empty()) labels = labelsOnWallOf(picture, *item.facts, settings);
    for (const Label& label : labels)
        (!plan || planned(plan, label.tub) ? tubs : strangers).insert(label.tub);
    if (tubs.empty() && !strangers.empty())
        throw Error(item.file.name,
                    "its label says '" + *strangers.begin() + "', which is no tub of the plan",
                    "Add the tub to the plan, or photograph the tub's own label");
    return {tubs.begin(), tubs.end()};
}

std::vector<std::string> tubsOf(const Item& item, const std::optional<Plan>& plan, const Settings& settings,
                                const SeasonStore& store)
{
    const PhotoFile& file = item.file;
    // A typed name, or a folder that the plan knows, is taken at its word.
    if (file.named_tub && (!file.tub_from_folder || planned(plan, *file.named_tub))) return {*file.named_tub};
    std::vector<std::string> tubs;
    const auto kept = store.photo(file.name);
    if (kept && contentOf(kept->key) == item.content && !kept->observations.empty())
        for (const Observation& seen : kept->observations) tubs.push_back(seen.tub);
    else
        tubs = labelledTubs(item, plan, settings);
    if (tubs.empty() && file.named_tub && !plan) tubs.push_back(*file.named_tub);
    if (tubs.empty())
        throw Error(file.name,
                    "no tub is named in its name or folder, and no label can be read in the picture",
                    "Start the file name with the tub and the date, as in T01_2026-01-12.jpg, put it into a "
                    "folder named after the tub, or stick a label on the tub");
    std::sort(tubs.begin(), tubs.end());
    return tubs;
}

}  // namespace

Problem problemOf(const std::string& file, const Error& error)
{
    return {file, "", "not measured", error.problem(), error.remedy()};
}

std::string contentHash(std::string_view bytes)
{
    char text[20];
    std::snprintf(text, sizeof text, "%016llx",
                  static_cast<unsigned long long>(XXH3_64bits(bytes.data(), bytes.size())));
    return text;
}

void inParallel(size_t count, int threads, const std::function<void(size_t)>& work)
{
    std::atomic<size_t> next{0};
    std::exception_ptr failure;
    std::mutex failing;
    const auto run = [&] {
        for (size_t i = next++; i < count; i = next++) {
            try {
                work(i);
            } catch (...) {
                const std::lock_guard lock(failing);
                if (!failure) failure = std::current_exception();
                next = count;
            }
        }
    };
    std::vector<std::thread> pool;
    for (int t = 1; t < threads && static_cast<size_t>(t) < count; ++t) pool.emplace_back(run);
    run();
    for (std::thread& thread : pool) thread.join();
    if (failure) std::rethrow_exception(failure);
}

std::vector<Item> readItems(const std::vector<PhotoFile>& files, const std::optional<Plan>& plan,
                            const Settings& settings, const SeasonStore& store, const MeasureOptions& options,
                            const MeasureEvents& events)
{
    std::vector<Item> items(files.size());
    inParallel(files.size(), options.threads, [&](size_t i) {
        Item& item = items[i];
        item.file = files[i];
        if (events.stop && *events.stop) return;
        try {
            item.content = contentHash(fileBytes(item.file.path));
            item.facts = readFacts(item.file.path);
            item.taken = takenAt(item.file, *item.facts, options.today);
            item.tubs = tubsOf(item, plan, settings, store);
        } catch (const Error& error) {
            item.problem = problemOf(item.file.name, error);
        }
    });
    return items;
}

std::map<std::string, std::string> earliestPhotos(const std::vector<Item>& items, const SeasonStore& store)
{
    using Order = std::tuple<Date, int, std::string, std::string>;  // date, time, photo, content
    std::map<std::string, Order> first;
    const auto offer = [&](const std::string& tub, const TakenAt& taken, const std::string& photo,
                           const std::string& content) {
        const Order order{taken.date, taken.second_of_day.value_or(-1), photo, content};
        const auto [at, fresh] = first.try_emplace(tub, order);
        if (!fresh && order < at->second) at->second = order;
    };
    std::set<std::string> listed;
    for (const Item& item : items) {
        listed.insert(item.file.name);
        if (item.taken)
            for (const std::string& tub : item.tubs) offer(tub, *item.taken, item.file.name, item.content);
    }
    for (const std::string& photo : store.photos()) {
        if (listed.count(photo)) continue;
        const auto kept = store.photo(photo);
        for (const Observation& seen : kept->observations)
            offer(seen.tub, seen.taken, photo, contentOf(kept->key));
    }
    std::map<std::string, std::string> result;
    for (const auto& [tub, order] : first) result[tub] = std::get<2>(order) + ":" + std::get<3>(order);
    return result;
}

}  // namespace slipglass
