#pragma once
#include <mutex>
#include <vector>

#include "look_at.h"
#include "slipglass/wall/known_by_grains.h"

namespace slipglass {

/// Walls of the tubs of other shares. Asked of a photo that shows none of its own tub's walls, which is rare:
/// nothing is opened before.
class WallsElsewhere {
public:
    WallsElsewhere(std::vector<Item> items, const Looking& looking, Date today)
        : items_(std::move(items)), looking_(looking), today_(today)
    {
    }

    /// Of each tub those that a photo is compared with: taken before it, and nearest in time to it.
    std::vector<WallOfTub> before(const TakenAt& taken, const std::string& photo);

private:
    struct Wall {
        Item* item;
        std::string tub;
        bool looked = false;
        std::optional<WallOfTub> wall{};
    };
    void readDates();
    void look(Wall& wall) const;

    std::vector<Item> items_;
    Looking looking_;
    Date today_;
    std::mutex mutex_;
    bool dates_read_ = false;
    std::vector<Wall> walls_;  ///< in order of date
};

}  // namespace slipglass
