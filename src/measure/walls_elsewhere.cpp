#include "walls_elsewhere.h"

#include <algorithm>
#include <cstdlib>
#include <map>
#include <tuple>

#include "try_photo.h"

namespace slipglass {

void WallsElsewhere::readDates()
{
    dates_read_ = true;
    for (Item& item : items_)
        tryPhoto(item.file.name, "", [&] {  // said by the share that has it
            item.facts = readFacts(item.file.path, looking_.settings.photos);
            item.taken = takenAt(item.file, *item.facts, today_);
            for (const std::string& tub : item.tubs) walls_.push_back({&item, tub});
        });
    std::sort(walls_.begin(), walls_.end(), [](const Wall& a, const Wall& b) {
        return std::tie(*a.item->taken, a.item->file.name) < std::tie(*b.item->taken, b.item->file.name);
    });
}

void WallsElsewhere::look(Wall& wall) const
{
    if (wall.looked) return;
    wall.looked = true;
    if (const auto panel = panelOf(*wall.item, wall.tub, looking_))
        wall.wall = WallOfTub{wall.tub, wall.item->taken->date, viewOfPanel(*panel)};
}

std::vector<WallOfTub> WallsElsewhere::before(const TakenAt& taken, const std::string& photo)
{
    const std::scoped_lock lock(mutex_);
    if (!dates_read_) readDates();
    std::map<std::string, std::vector<Wall*>> of_tubs;
    for (Wall& wall : walls_)
        if (std::tie(*wall.item->taken, wall.item->file.name) < std::tie(taken, photo))
            of_tubs[wall.tub].push_back(&wall);
    std::vector<WallOfTub> found;
    for (auto& [tub, walls] : of_tubs) {
        // As likenesses() orders them, ties included.
        std::stable_sort(walls.begin(), walls.end(), [&](const Wall* a, const Wall* b) {
            return std::abs(daysBetween(a->item->taken->date, taken.date)) <
                   std::abs(daysBetween(b->item->taken->date, taken.date));
        });
        size_t tried = 0;
        for (Wall* wall : walls) {
            if (tried == kWallsTried) break;
            look(*wall);
            if (!wall->wall) continue;
            ++tried;
            found.push_back(*wall->wall);
        }
    }
    return found;
}

}  // namespace slipglass
