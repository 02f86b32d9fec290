#include "slipglass/season/tub_parts.h"

#include <algorithm>
#include <array>
#include <set>

#include "slipglass/text.h"

namespace slipglass {

namespace {

struct Place {
    const char* word;
    const char* place;
    double across;  ///< the middle of its third of the wall
};
constexpr std::array<Place, 5> kPlaces{{{"left", "left", -2.0 / 3},
                                        {"middle", "middle", 0},
                                        {"centre", "middle", 0},
                                        {"center", "middle", 0},
                                        {"right", "right", 2.0 / 3}}};

const Place* placeNamed(const std::string& position)
{
    const std::string word = inSmall(position);
    const auto place =
        std::find_if(kPlaces.begin(), kPlaces.end(), [&](const Place& p) { return word == p.word; });
    return place == kPlaces.end() ? nullptr : &*place;
}

std::vector<const PlannedCutting*> cuttingsIn(const Plan& plan, const std::string& tub)
{
    std::vector<const PlannedCutting*> cuttings;
    for (const PlannedCutting& cutting : plan.cuttings)
        if (cutting.tub == tub) cuttings.push_back(&cutting);
    return cuttings;
}

bool samePlaces(const Observation& seen, const TubParts& parts)
{
    return std::equal(seen.parts.begin(), seen.parts.end(), parts.parts.begin(), parts.parts.end(),
                      [](const PartFigures& a, const TubParts::Part& b) { return a.place == b.place; });
}

}  // namespace

TubParts partsOfTub(const Plan& plan, const std::string& tub)
{
    TubParts all;
    const auto cuttings = cuttingsIn(plan, tub);
    if (cuttings.size() < 2) return all;
    for (const PlannedCutting* cutting : cuttings) {
        const Place* place = placeNamed(cutting->position);
        if (!place) {
            all.shared = "the position of " + cutting->cutting + " is not left, middle or right";
            break;
        }
        const auto same = std::find_if(all.parts.begin(), all.parts.end(),
                                       [&](const auto& part) { return part.place == place->place; });
        if (same != all.parts.end()) {
            all.shared =
                same->cutting + " and " + cutting->cutting + " have the same position, " + place->place;
            break;
        }
        all.parts.push_back({place->place, place->across, cutting->cutting, std::nullopt});
    }
    if (!all.shared.empty()) all.parts.clear();
    std::sort(all.parts.begin(), all.parts.end(),
              [](const auto& a, const auto& b) { return a.across < b.across; });
    return all;
}

std::string partsText(const TubParts& parts)
{
    std::string text;
    for (const auto& part : parts.parts) text += (text.empty() ? "" : " ") + part.place;
    return text;
}

const PartFigures* partOf(const Observation& seen, const TubParts& parts, const std::string& place)
{
    if (!samePlaces(seen, parts)) return nullptr;
    const auto part = std::find_if(seen.parts.begin(), seen.parts.end(),
                                   [&](const PartFigures& one) { return one.place == place; });
    return part == seen.parts.end() ? nullptr : &*part;
}

Observation seenOfCutting(Observation seen, const TubParts& parts, const std::string& cutting)
{
    const auto own = std::find_if(parts.parts.begin(), parts.parts.end(),
                                  [&](const auto& part) { return part.cutting == cutting; });
    if (own == parts.parts.end()) return seen;
    const PartFigures* part = partOf(seen, parts, own->place);
    if (!part && seen.state != State::retake)
        seen.notes.emplace_back("the cuttings' parts of the wall could not be told apart on this photo");
    static_cast<RootMeasures&>(seen) = part ? *part : PartFigures{};
    // Not told apart by part.
    seen.gained_root_mm = seen.hidden_root_mm = seen.lost_root_mm = std::nullopt;
    return seen;
}

std::vector<std::string> positionWarnings(const Plan& plan)
{
    std::vector<std::string> warnings;
    std::set<std::string> tubs;
    for (const PlannedCutting& row : plan.cuttings) {
        if (!tubs.insert(row.tub).second) continue;
        const auto cuttings = cuttingsIn(plan, row.tub);
        const TubParts parts = partsOfTub(plan, row.tub);
        std::set<std::string> positions;
        bool same = false;
        for (const PlannedCutting* cutting : cuttings)
            same = same || (!cutting->position.empty() && !positions.insert(cutting->position).second);
        const bool placed = std::any_of(cuttings.begin(), cuttings.end(), [](const PlannedCutting* cutting) {
            return placeNamed(cutting->position) != nullptr;
        });
        if (parts.shared.empty() || (!same && !placed)) continue;
        warnings.push_back(row.tub + ": " + parts.shared +
                           ", so the roots of its cuttings cannot be told apart; give each its own of left, "
                           "middle and right, as seen on the photo");
    }
    return warnings;
}

}  // namespace slipglass
