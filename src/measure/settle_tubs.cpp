#include "settle_tubs.h"

#include <algorithm>
#include <map>
#include <set>

#include "look_at.h"
#include "slipglass/in_parallel.h"
#include "slipglass/wall/known_by_grains.h"
#include "slipglass/wall/view_facts.h"
#include "try_photo.h"

namespace slipglass {

namespace {

/// A photo whose tub nobody has told.
struct Unknown {
    Item* item;
    bool has_wall = true;             ///< a tub can be seen in it
    std::vector<Likeness> like{};     ///< to tubs, most like first
    std::optional<WallOfTub> wall{};  ///< as that of the tub it was found to be
};

std::optional<WallInPhoto> wallIn(const Item& item, const Settings& settings)
{
    const PhotoFacts facts = factsOf(item, settings.photos);
    const Picture picture = readPicture(item.file.path, facts, kPictureSide);
    const TubQuery query{picture.bgr, picture.full_size, facts.focal_35mm, std::nullopt, std::nullopt};
    const TubFinding finding = findTub(query, settings.tub);
    if (!finding.tub) return std::nullopt;
    return WallInPhoto(picture, *finding.tub, settings.panel);
}

/// Does something with the wall of each photo, side by side. A photo that cannot be opened gets its problem.
template <class Work>
void eachWall(std::vector<Unknown>& photos, const Run& run, const Work& work)
{
    inParallel(photos.size(), run.options.threads, [&](size_t i) {
        Unknown& one = photos[i];
        if (run.stopped() || !one.has_wall) return;
        one.item->problem = tryPhoto(one.item->file.name, "", [&] {
            auto wall = wallIn(*one.item, run.settings);
            one.has_wall = wall.has_value();
            if (wall) work(one, *wall);
        });
        if (one.item->problem) one.has_wall = false;
    });
}

/// Walls of tubs that are known: as the season file has them, and of photos that are new.
std::vector<WallOfTub> knownWalls(std::vector<Item>& items, const Run& run)
{
    std::vector<WallOfTub> walls;
    std::set<PhotoAndTub> kept;
    for (const std::string& tub : run.store.tubs()) {
        if (run.plan && !planned(run.plan, tub)) continue;
        for (const KeptView& view : run.store.views(tub)) {
            const auto date = parseIsoDate(view.date);
            const auto earlier = earlierView(view, run.store);
            if (!date || !earlier) continue;
            walls.push_back({tub, *date, *earlier});
            kept.insert({view.photo, tub});
        }
    }
    struct Fresh {
        const Item* item;
        std::string tub;
        std::optional<WallOfTub> wall{};
    };
    std::vector<Fresh> fresh;
    for (const Item& item : items)
        for (const std::string& tub : item.tubs)
            if (!item.problem && !kept.count({item.file.name, tub})) fresh.push_back({&item, tub});
    inParallel(fresh.size(), run.options.threads, [&](size_t i) {
        if (run.stopped()) return;
        auto& [item, tub, wall] = fresh[i];
        const auto panel = panelOf(*item, tub, run.looking());
        if (panel) wall = WallOfTub{tub, item->taken->date, viewOfPanel(*panel)};
    });
    for (const Fresh& one : fresh)
        if (one.wall) walls.push_back(*one.wall);
    return walls;
}

/// @param more  to other tubs, or to other photos of the same ones.
void addLikenesses(std::vector<Likeness>& like, const std::vector<Likeness>& more)
{
    for (const Likeness& one : more) {
        const auto had = std::find_if(like.begin(), like.end(),
                                      [&](const Likeness& other) { return other.tub == one.tub; });
        if (had == like.end())
            like.push_back(one);
        else
            had->likeness = std::max(had->likeness, one.likeness);
    }
    std::stable_sort(like.begin(), like.end(),
                     [](const Likeness& a, const Likeness& b) { return a.likeness > b.likeness; });
}

/// Those that are like one tub alone get it, and others may be like them; until no more are.
/// @return  those that are left.
std::vector<Unknown> findByGrains(std::vector<Unknown> unknown, std::vector<WallOfTub> known, const Run& run)
{
    while (!known.empty() && !unknown.empty() && !run.stopped()) {
        eachWall(unknown, run, [&](Unknown& one, WallInPhoto& wall) {
            const Date date = one.item->taken->date;
            addLikenesses(one.like, likenesses(wall, date, known));
            const auto tub = knownTub(one.like);
            if (!tub) return;
            const auto same = std::find_if(known.begin(), known.end(),
                                           [&](const WallOfTub& other) { return other.tub == *tub; });
            if (same == known.end()) return;  // of an earlier round, when it was not clear
            one.wall = WallOfTub{*tub, date, viewOfPanel(wall.as(same->view.inner_radius, same->view.in_mm))};
        });
        known.clear();
        std::vector<Unknown> left;
        for (Unknown& one : unknown) {
            if (!one.wall) {
                left.push_back(one);
                continue;
            }
            one.item->tubs = {one.wall->tub};
            known.push_back(*one.wall);
        }
        unknown = std::move(left);
    }
    return unknown;
}

/// Whether all of a folder's photos of a tub show the same wall, each that of one before it.
bool showOneWall(std::vector<Unknown>& folder, const Run& run)
{
    std::vector<WallOfTub> before;
    for (Unknown& one : folder) {
        std::optional<WallInPhoto> wall;
        if (one.has_wall)
            one.item->problem =
                tryPhoto(one.item->file.name, "", [&] { wall = wallIn(*one.item, run.settings); });
        if (!wall) continue;  // whatever tub the others are
        const Date date = one.item->taken->date;
        if (!before.empty() && !knownTub(likenesses(*wall, date, before))) return false;
        before.push_back({"", date, viewOfPanel(wall->plain())});
    }
    return !before.empty();
}

/// Without a plan, a folder's name is its photos' tub if all of them show one wall and no tub of that name is
/// known.
/// @param tubs  those that are known.
/// @return  those that are left.
std::vector<Unknown> findByFolder(const std::vector<Unknown>& unknown, const std::vector<Item>& items,
                                  const std::set<std::string>& tubs, const Run& run)
{
    if (run.plan) return unknown;
    std::set<std::filesystem::path> of_others;  // folders that hold photos of known tubs
    for (const Item& item : items)
        if (!item.tubs.empty()) of_others.insert(item.file.path.parent_path());
    std::map<std::string, std::vector<Unknown>> folders;
    std::vector<Unknown> left;
    for (const Unknown& one : unknown)
        (one.item->file.named_tub ? folders[*one.item->file.named_tub] : left).push_back(one);
    for (auto& [name, photos] : folders) {
        std::stable_sort(photos.begin(), photos.end(),
                         [](const Unknown& a, const Unknown& b) { return *a.item->taken < *b.item->taken; });
        bool one_tub = !tubs.count(name) && !run.stopped() &&
                       std::none_of(photos.begin(), photos.end(), [&](const Unknown& one) {
                           return of_others.count(one.item->file.path.parent_path()) > 0;
                       });
        one_tub = one_tub && showOneWall(photos, run);
        for (Unknown& one : photos) {
            if (one_tub)
                one.item->tubs = {name};
            else
                left.push_back(one);
        }
    }
    return left;
}

Problem problemOf(const Unknown& photo)
{
    const PhotoFile& file = photo.item->file;
    std::string reason = "no tub known: its name does not tell it, no label can be read in the picture, and ";
    const std::vector<std::string> likely = likelyTubs(photo.like);
    if (!likely.empty()) {
        reason += "its wall may be that of ";
        for (size_t i = 0; i < likely.size(); ++i) reason += (i ? " or " : "") + likely[i];
    } else if (photo.has_wall) {
        reason += "its wall is none that is known";
        if (file.named_tub) reason += "; the folder's photos do not show one wall";
    } else {
        reason += "no tub can be made out";
    }
    return {file.name, "", "not measured", reason,
            "Start the file name with the tub and the date, as in T01_2026-01-12.jpg, put it into a folder "
            "that the plan names, or stick a label on the tub"};
}

}  // namespace

bool knownByGrains(const Item& item)
{
    return item.made.labels && item.made.labels->empty() && item.tubs.size() == 1 &&
           item.file.named_tub != item.tubs.front();
}

void settleTubs(std::vector<Item>& items, const Run& run, MeasureResult& result)
{
    std::vector<Unknown> unknown;
    for (Item& item : items)
        if (!item.problem && item.tubs.empty()) unknown.push_back({&item});
    if (unknown.empty()) return;
    const std::vector<WallOfTub> known = knownWalls(items, run);
    std::set<std::string> tubs;
    for (const WallOfTub& wall : known) tubs.insert(wall.tub);
    const std::vector<Unknown> all = unknown;
    for (const Unknown& one : findByFolder(findByGrains(std::move(unknown), known, run), items, tubs, run)) {
        if (!one.item->problem) one.item->problem = problemOf(one);
        result.of_no_tub.push_back({one.item->file.name, likelyTubs(one.like)});
    }
    for (const Unknown& one : all)
        if (knownByGrains(*one.item)) result.by_grains.push_back({one.item->file.name, one.item->tubs[0]});
}

}  // namespace slipglass
