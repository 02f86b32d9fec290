#include "earlier_views.h"

#include <algorithm>
#include <set>

#include "slipglass/wall/view_facts.h"
#include "walls_elsewhere.h"

namespace slipglass {

std::string movedBy(const Item& item)
{
    // Strokes say what is root, and leave panel and light as they are.
    std::string moved;
    for (auto [tub, correction] : item.corrections) {
        correction.strokes.clear();
        if (!correction.empty()) moved += tub + '\n' + correctionText(correction);
    }
    return moved.empty() ? "" : contentHash(moved);
}

std::string shownBy(const MadeFrom& made)
{
    return made.content + ' ' + made.program + ' ' + made.settings + ' ' + made.moved;
}

EarlierViews::EarlierViews(const std::vector<Item>& items, const KeptPhotos& kept, const SeasonStore& store,
                           const std::optional<FiguresKey>& figures,
                           const std::function<std::string(const std::string& tub)>& basis)
    : store_(store), basis_(basis)
{
    std::set<std::string> listed;
    for (const Item& item : items) {
        if (item.problem) continue;  // what is kept of it counts, as of a photo that is gone
        listed.insert(item.file.name);
        for (const std::string& tub : item.tubs)
            tubs_[tub].sights.push_back(
                {*item.taken, item.file.name, shownBy(item.made), Sight::settled, {}, false});
    }
    for (const auto& [name, photo] : kept.photos) {
        const MadeFrom& made = photo.made;
        if (listed.count(name) || (figures && FiguresKey{made.program, made.settings} != *figures)) continue;
        for (const Observation& seen : photo.observations)
            if (const auto tub = tubs_.find(seen.tub); tub != tubs_.end())
                tub->second.sights.push_back({seen.taken, name, shownBy(made), Sight::settled, {}, false});
    }
    for (auto& [tub, photos] : tubs_)
        std::sort(photos.sights.begin(), photos.sights.end(), [](const Sight& a, const Sight& b) {
            return std::tie(a.taken, a.photo) < std::tie(b.taken, b.photo);
        });
}

EarlierViews::Tub& EarlierViews::opened(const std::string& tub) const
{
    Tub& photos = tubs_.at(tub);
    if (photos.opened) return photos;
    photos.opened = true;
    const std::string basis = basis_(tub);
    for (const KeptView& kept : store_.views(tub)) {
        if (!basis.empty() && kept.basis != basis) continue;
        for (Sight& sight : photos.sights)
            if (sight.photo == kept.photo) sight.view = earlierView(kept, store_);
    }
    return photos;
}

std::string EarlierViews::before(const std::string& tub, const std::string& photo) const
{
    std::string all;
    for (const Sight& sight : tubs_.at(tub).sights) {
        if (sight.photo == photo) break;
        all += sight.made_of + '\n';
    }
    return contentHash(all);
}

std::vector<EarlierView> EarlierViews::views(const std::string& tub, const std::string& photo) const
{
    std::vector<EarlierView> earlier;
    std::unique_lock lock(mutex_);
    for (const Sight& sight : opened(tub).sights) {
        if (sight.photo == photo) break;
        settled_.wait(lock, [&] { return sight.state != Sight::expected; });
        if (sight.state == Sight::abandoned) throw Abandoned{};
        if (sight.view) earlier.push_back(*sight.view);
    }
    return earlier;
}

std::vector<WallOfTub> EarlierViews::ofOtherTubs(const std::string& tub, const std::string& photo) const
{
    const auto& own = tubs_.at(tub).sights;
    const Sight& now =
        *std::find_if(own.begin(), own.end(), [&](const Sight& one) { return one.photo == photo; });
    std::vector<WallOfTub> walls;
    if (elsewhere_) walls = elsewhere_->before(now.taken, photo);
    std::unique_lock lock(mutex_);
    // Whoever waits, waits for earlier photos alone: so nobody waits in a circle.
    for (const auto& [other, unused] : tubs_) {
        if (other == tub) continue;
        for (const Sight& sight : opened(other).sights) {
            if (std::tie(sight.taken, sight.photo) >= std::tie(now.taken, now.photo)) break;
            settled_.wait(lock, [&] { return sight.state != Sight::expected; });
            if (sight.state == Sight::abandoned) throw Abandoned{};
            if (sight.view) walls.push_back({other, sight.taken.date, *sight.view});
        }
    }
    return walls;
}

EarlierViews::Sight& EarlierViews::find(const std::string& tub, const std::string& photo)
{
    for (Sight& sight : opened(tub).sights)
        if (sight.photo == photo) return sight;
    throw std::logic_error(photo + " is no photo of " + tub);
}

void EarlierViews::expect(const Item& item)
{
    const std::scoped_lock lock(mutex_);
    for (const std::string& tub : item.tubs) find(tub, item.file.name).state = Sight::expected;
}

void EarlierViews::settle(const std::string& tub, const std::string& photo,
                          const std::optional<EarlierView>& view)
{
    const std::scoped_lock lock(mutex_);
    Sight& sight = find(tub, photo);
    sight.view = view;
    sight.state = Sight::settled;
    settled_.notify_all();
}

void EarlierViews::settleAsKept(const std::string& tub, const std::string& photo)
{
    const std::scoped_lock lock(mutex_);
    find(tub, photo).state = Sight::settled;
    settled_.notify_all();
}

void EarlierViews::miss(const Item& item)
{
    const std::scoped_lock lock(mutex_);
    for (const std::string& tub : item.tubs) find(tub, item.file.name).missed = true;
}

bool EarlierViews::missedBefore(const Item& item) const
{
    const std::scoped_lock lock(mutex_);
    for (const auto& [tub, photos] : tubs_)
        for (const Sight& sight : photos.sights) {
            if (std::tie(sight.taken, sight.photo) >= std::tie(*item.taken, item.file.name)) break;
            if (sight.missed) return true;
        }
    return false;
}

void EarlierViews::leave(const Item& item)
{
    const std::scoped_lock lock(mutex_);
    for (const std::string& tub : item.tubs)
        if (Sight& sight = find(tub, item.file.name); sight.state == Sight::expected)
            sight.state = Sight::abandoned;
    settled_.notify_all();
}

}  // namespace slipglass
