#include "to_do.h"

#include <algorithm>
#include <set>
#include <tuple>

#include "draw_photo.h"
#include "measure_photo.h"
#include "try_photo.h"

namespace slipglass {

namespace {

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
}

/// What overlays are named by.
void addPlaces(const StoredPhoto& photo, std::vector<Observation>& all)
{
    for (const Observation& seen : photo.observations) {
        Observation& place = all.emplace_back();
        place.photo = seen.photo;
        place.tub = seen.tub;
        place.taken = seen.taken;
    }
}

std::map<PhotoAndTub, std::string> overlaysBefore(const KeptPhotos& kept)
{
    std::vector<Observation> all;
    for (const auto& [name, photo] : kept.photos) addPlaces(photo, all);
    return overlayNames(all);
}

}  // namespace

std::map<PhotoAndTub, std::string> plannedOverlays(const std::vector<Item>& items, const KeptPhotos& kept)
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
    for (const auto& [photo, before] : kept.photos)
        if (!listed.count(photo)) addPlaces(before, all);
    return overlayNames(all);
}

void setAside(std::vector<Item>& items, KeptPhotos& kept, SeasonStore& store)
{
    std::set<std::string> listed, contents;
    for (const Item& item : items)
        if (saysNoTub(item.file.name))
            contents.insert(item.made.content);
        else
            listed.insert(item.file.name);
    if (contents.empty()) return;
    std::erase_if(items, [](const Item& item) { return saysNoTub(item.file.name); });
    std::erase_if(kept.photos, [&](const auto& one) {
        const auto& [name, photo] = one;
        const bool aside = !listed.count(name) && contents.count(photo.made.content);
        if (aside) store.forget(name);
        return aside;
    });
}

void forgetGone(const std::vector<Item>& items, const std::vector<Item>& elsewhere, KeptPhotos& kept,
                SeasonStore& store)
{
    std::set<std::string> listed, contents, others;
    for (const Item& item : elsewhere) others.insert(item.file.name);
    for (const Item& item : items) {
        listed.insert(item.file.name);
        contents.insert(item.made.content);
    }
    std::erase_if(kept.photos, [&](const auto& one) {
        const auto& [name, photo] = one;
        const bool gone = !listed.count(name) && (photo.observations.empty() ||
                                                  contents.count(photo.made.content) || others.count(name));
        if (gone) store.forget(name);
        return gone;
    });
}

void tellProblems(const std::vector<Item>& items, KeptPhotos& all, SeasonStore& store,
                  std::vector<Problem>& problems)
{
    for (const Item& item : items) {
        if (!item.problem) continue;
        const StoredPhoto* kept = all.find(item.file.name);
        // Read as before, but of another tub or none by the plan or labels of today: the figures were wrong.
        const bool readable =
            item.taken && kept && kept->made.content == item.made.content && !isPassing(*item.problem);
        const auto instead =
            readable ? std::nullopt : keptInstead(*item.problem, kept ? std::optional(*kept) : std::nullopt);
        if (instead) {
            problems.push_back(*instead);
        } else {
            store.putPhoto(item.file.name, item.made, {}, {*item.problem});
            all.photos.erase(item.file.name);  // what others are measured with has it no longer
        }
    }
}

std::vector<size_t> toDo(const std::vector<Item>& items, const KeptPhotos& all, const Run& run,
                         std::vector<Problem>& problems)
{
    const std::map<PhotoAndTub, std::string> overlays_before = overlaysBefore(all);
    std::vector<size_t> work;
    const std::set<PhotoAndTub> to_draw = run.store.notDrawn();
    for (size_t i = 0; i < items.size(); ++i) {
        const Item& item = items[i];
        if (item.problem) continue;
        const StoredPhoto* kept = all.find(item.file.name);
        // Photos that differ only in their place in a day change overlay names: one drawn under the old name
        // is drawn anew.
        const bool same_names = std::all_of(item.tubs.begin(), item.tubs.end(), [&](const std::string& tub) {
            const auto before = overlays_before.find({item.file.name, tub});
            return before == overlays_before.end() ||
                   before->second == run.overlays.at({item.file.name, tub});
        });
        const bool measured = kept && kept->made == item.made && same_names &&
                              (kept->observations.empty() || filesThere(item, to_draw, run));
        if (!measured) work.push_back(i);
    }
    addDamaged(items, run, work, problems);
    std::sort(work.begin(), work.end(), [&](size_t a, size_t b) {
        return std::tie(*items[a].taken, items[a].file.name) < std::tie(*items[b].taken, items[b].file.name);
    });
    return work;
}

}  // namespace slipglass
