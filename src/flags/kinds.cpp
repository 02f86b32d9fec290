#include "slipglass/flags/kinds.h"

#include <algorithm>
#include <stdexcept>

#include "slipglass/said.h"

namespace slipglass {

const std::vector<FlagKind>& flagKinds()
{
    static const std::vector<FlagKind> kinds{
        {"waterlogged", translated("Water has stood too long"), translated("tip the water out, look for rot"),
         translated("water stands"), Care::tipped_out},
        {"standing-water", translated("Water stands at the base"), translated("tip the water out"),
         translated("water stands"), Care::tipped_out},
        {"browning", translated("Roots are turning brown"), translated("look at the base for rot"),
         translated("roots turn brown")},
        {"drying", translated("The medium is drying out"),
         translated("feel the medium, water lightly if dry"), translated("pale"), Care::watered},
        {"crowding", translated("Roots of neighbours meet"), translated("separate the cuttings soon"),
         translated("their roots meet")},
        {"slow-to-absorb", translated("Water sinks in too slowly"), translated("give less water, more air"),
         translated("water sinks slowly")},
        {"stalled", translated("Roots have stopped growing"), translated("check water and warmth"),
         translated("no growth")},
        {"ready-to-pot", translated("Ready to pot up"), translated("pot it up"), translated("rooted")},
        {"no-roots-yet", translated("No roots seen yet"), translated("check that it lives"),
         translated("no roots seen")},
        {"green-wall", translated("Green grows on the wall"), translated("shade the tub"),
         translated("green on the wall"), Care::moved},
        {"retake", translated("The photo could not be measured"), translated("take the photo again"),
         translated("it could not be measured")},
        {"photo-due", translated("A photo is due"), translated("take a photo"), translated("none")},
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
