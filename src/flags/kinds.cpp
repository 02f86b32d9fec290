#include "slipglass/flags/kinds.h"

#include <algorithm>
#include <stdexcept>

namespace slipglass {

const std::vector<FlagKind>& flagKinds()
{
    static const std::vector<FlagKind> kinds{
        {"waterlogged", "Water has stood too long", "tip the water out, look for rot", "water stands",
         Care::tipped_out},
        {"standing-water", "Water stands at the base", "tip the water out", "water stands", Care::tipped_out},
        {"browning", "Roots are turning brown", "look at the base for rot", "roots turn brown"},
        {"drying", "The medium is drying out", "feel the medium, water lightly if dry", "pale",
         Care::watered},
        {"crowding", "Roots of neighbours meet", "separate the cuttings soon", "their roots meet"},
        {"slow-to-absorb", "Water sinks in too slowly", "give less water, more air", "water sinks slowly"},
        {"stalled", "Roots have stopped growing", "check water and warmth", "no growth"},
        {"ready-to-pot", "Ready to pot up", "pot it up", "rooted"},
        {"no-roots-yet", "No roots seen yet", "check that it lives", "no roots seen"},
        {"green-wall", "Green grows on the wall", "shade the tub", "green on the wall", Care::moved},
        {"retake", "The photo could not be measured", "take the photo again", "it could not be measured"},
        {"photo-due", "A photo is due", "take a photo", "none"},
    };
    return kinds;
}

const FlagKind& flagKind(const std::string& name)
{
    const auto& kinds = flagKinds();
    const auto known =
        std::find_if(kinds.begin(), kinds.end(), [&](const FlagKind& kind) { return name == kind.name; });
    if (known == kinds.end()) throw std::logic_error("no kind of flag: " + name);
    return *known;
}

bool comesBefore(const std::string& one, const std::string& other)
{
    // Whoever stands in water is not potted up, has its reason not to grow, and wants no water.
    struct First {
        const char* one;
        std::vector<const char*> others;
    };
    static const std::vector<First> firsts{
        {"waterlogged", {"standing-water", "drying", "slow-to-absorb", "stalled", "ready-to-pot"}},
        {"standing-water", {"drying", "slow-to-absorb", "stalled", "ready-to-pot"}},
        {"browning", {"stalled", "ready-to-pot"}},
        {"drying", {"slow-to-absorb", "stalled"}},
        {"ready-to-pot", {"stalled"}},
    };
    return std::any_of(firsts.begin(), firsts.end(), [&](const First& first) {
        return one == first.one &&
               std::find(first.others.begin(), first.others.end(), other) != first.others.end();
    });
}

}  // namespace slipglass
