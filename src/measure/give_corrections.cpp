#include "give_corrections.h"

#include <algorithm>
#include <map>

#include "slipglass/report/file_names.h"

namespace slipglass {

namespace {

/// A tub in a photo of this run.
struct Place {
    Item* item;
    std::string tub;
};

/// All tubs of this run's photos that a correction may mean, by what its file says inside or else by its
/// name.
std::vector<Place> placesOf(const CorrectionFile& file, std::vector<Item>& items)
{
    const Correction& said = file.correction;
    std::vector<Place> places;
    for (Item& item : items) {
        if (!said.photo.empty() && said.photo != item.file.name) continue;
        for (const std::string& tub : item.tubs) {
            const bool names_photo = !said.photo.empty() || file.stem == photoStem(item);
            const bool names_tub = file.stem == photoStem(item) + "." + safeFileName(tub);
            if (!names_photo && !names_tub) continue;
            if (!said.tub.empty() ? said.tub == tub : names_tub || item.tubs.size() == 1)
                places.push_back({&item, tub});
        }
    }
    // "A.T01.json" may be tub T01 of photo A, and photo "A.T01": the photo's whole name wins.
    if (said.photo.empty())
        for (const Place& place : places)
            if (file.stem == photoStem(*place.item)) return {place};
    return places;
}

/// The photo that a correction means, whatever its tub, and photos that could not be measured included.
const Item* photoOf(const CorrectionFile& file, const std::vector<Item>& items)
{
    for (const Item& item : items)
        if (file.correction.photo.empty() ? file.stem == photoStem(item)
                                          : file.correction.photo == item.file.name)
            return &item;
    return nullptr;
}

std::string hashOf(const std::string& tub, const Correction& correction)
{
    return contentHash(tub + '\n' + correctionText(correction));
}

/// Whether a photo was measured with this correction before it was taken out of the folder.
bool keptWith(const CorrectionFile& file, const StoredPhoto& kept)
{
    return std::any_of(kept.observations.begin(), kept.observations.end(), [&](const Observation& seen) {
        return kept.key.find(hashOf(seen.tub, file.correction)) != std::string::npos;
    });
}

/// Why a correction has no place; empty when its photo is gone and its figures are kept.
std::optional<Error> noPlace(const CorrectionFile& file, const std::vector<Item>& items,
                             const SeasonStore& store)
{
    const std::string& photo = file.correction.photo;
    if (const Item* item = photoOf(file, items)) {
        if (item->problem)
            return Error(file.name, "its photo cannot be measured: " + item->problem->reason,
                         item->problem->remedy);
        std::string tubs;
        for (const std::string& tub : item->tubs) tubs += (tubs.empty() ? "" : ", ") + tub;
        return Error(file.name, "does not say which of the tubs of " + item->file.name + " it is about",
                     "Write \"tub\" into it, one of " + tubs);
    }
    for (const std::string& known : store.photos()) {
        const std::string stem = std::filesystem::path(known).replace_extension().generic_string();
        if (photo.empty() ? stem != file.stem : known != photo) continue;
        if (keptWith(file, *store.photo(known))) return std::nullopt;
        return Error(file.name, "its photo is not in the folder any more, so it was not measured anew",
                     "Put the photo back, or name its folder");
    }
    if (!photo.empty())
        return Error(file.name, "is for the photo " + photo + ", which is not here",
                     "Check \"photo\" in it; it is the photo's name as in observations.csv");
    return Error(file.name, "no photo has this name",
                 "Name it after its photo, as in T01_2026-01-12.json, or write \"photo\" into it");
}

}  // namespace

std::vector<Problem> giveCorrections(const std::filesystem::path& folder, std::vector<Item>& items,
                                     const SeasonStore& store)
{
    CorrectionListing listing = readCorrections(folder);
    std::vector<Problem> problems = listing.problems;
    std::map<std::pair<std::string, std::string>, std::string> taken;  // photo and tub: file
    for (const CorrectionFile& file : listing.files) try {
            const std::vector<Place> places = placesOf(file, items);
            if (places.size() != 1) {
                if (const auto why = noPlace(file, items, store)) throw Error(*why);
                continue;
            }
            Item& item = *places[0].item;
            const cv::Size size = item.facts->upright_size;
            checkAgainstPhoto(file.correction, file.name, size.width, size.height);
            const auto [other, fresh] = taken.try_emplace({item.file.name, places[0].tub}, file.name);
            if (!fresh) {
                item.corrections.erase(places[0].tub);
                throw Error(file.name, "corrects the same photo as " + other->second + "; neither was used",
                            "Keep one of the two");
            }
            if (!file.correction.empty()) item.corrections[places[0].tub] = file.correction;
        } catch (const Error& error) {
            problems.push_back({file.name, "", "not measured", error.problem(), error.remedy()});
        }
    for (Item& item : items) {
        for (const auto& [tub, correction] : item.corrections)
            item.corrected.append("+").append(hashOf(tub, correction));
    }
    const std::filesystem::path whole = std::filesystem::absolute(folder).lexically_normal();
    const auto name = whole.has_filename() ? whole.filename() : whole.parent_path().filename();
    for (Problem& problem : problems) problem.file = (name / problem.file).generic_string();
    std::sort(problems.begin(), problems.end(),
              [](const Problem& a, const Problem& b) { return a.file < b.file; });
    return problems;
}

}  // namespace slipglass
