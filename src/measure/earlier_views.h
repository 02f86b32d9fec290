#pragma once
#include <condition_variable>
#include <map>
#include <mutex>
#include <string>
#include <vector>

#include "photo_list.h"
#include "slipglass/store/season_store.h"
#include "slipglass/wall/known_by_grains.h"
#include "slipglass/wall/look_back.h"

namespace slipglass {

class WallsElsewhere;

/// How figures are taken in a run; see MadeFrom.
struct FiguresKey {
    std::string program, settings;
    bool operator==(const FiguresKey&) const = default;
};

/// All photos of each tub in order of date, and what those that have been looked at show to later ones.
/// Photos are measured side by side, but each waits here for those of its tub before it.
class EarlierViews {
public:
    /// Thrown at one who waits for a photo that will not come: the run is being stopped, or has failed.
    struct Abandoned {};

    /// Photos of this run, and those of their tubs that the season file alone still has.
    /// @param basis  of a tub: views that the season file has on another one show nothing. Empty: any will
    /// do.
    /// @param figures  photos that the season file alone has count if they were measured so. Empty: all do.
    EarlierViews(const std::vector<Item>& items, const KeptPhotos& kept, const SeasonStore& store,
                 const std::optional<FiguresKey>& figures,
                 const std::function<std::string(const std::string& tub)>& basis);

    /// Text that changes with the photos of a tub before one of them.
    std::string before(const std::string& tub, const std::string& photo) const;
    /// What they show, when all of them are settled.
    std::vector<EarlierView> views(const std::string& tub, const std::string& photo) const;

    /// What photos before this one show of other tubs, when all of them are settled.
    std::vector<WallOfTub> ofOtherTubs(const std::string& tub, const std::string& photo) const;
    /// Tubs that are no part of this run have a say there too.
    void askElsewhere(WallsElsewhere& walls) { elsewhere_ = &walls; }

    /// The photo is about to be measured: others wait for it.
    void expect(const Item& item);
    /// What it shows, of one tub; empty when that is nothing.
    void settle(const std::string& tub, const std::string& photo, const std::optional<EarlierView>& view);
    /// It could not be read: others see what the season file has of it, if anything.
    void settleAsKept(const std::string& tub, const std::string& photo);
    /// It could not be read for a passing reason; said before it is settled.
    void miss(const Item& item);
    /// Whether any photo before this one, of any tub, was missed, all of its tubs' before it being settled.
    bool missedBefore(const Item& item) const;
    /// It is done with. Whatever is not settled never will be.
    void leave(const Item& item);

private:
    struct Sight {
        TakenAt taken;
        std::string photo, made_of;
        enum { settled, expected, abandoned } state = settled;
        std::optional<EarlierView> view;
        bool missed = false;
    };
    struct Tub {
        std::vector<Sight> sights;  ///< in order of date
        bool opened = false;        ///< what the season file has of their views is known
    };
    /// Opens what the season file has of it, where that has not been done: of most tubs nobody asks.
    Tub& opened(const std::string& tub) const;
    Sight& find(const std::string& tub, const std::string& photo);

    mutable std::mutex mutex_;
    mutable std::condition_variable settled_;
    mutable std::map<std::string, Tub> tubs_;
    const SeasonStore& store_;
    std::function<std::string(const std::string& tub)> basis_;
    WallsElsewhere* elsewhere_ = nullptr;
};

/// MadeFrom::moved of a photo.
std::string movedBy(const Item& item);

/// What a photo's panel and the light on it depend on, besides its tub.
std::string shownBy(const MadeFrom& made);

}  // namespace slipglass
