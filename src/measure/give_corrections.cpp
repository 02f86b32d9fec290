#include "give_corrections.h"

#include <algorithm>

#include "slipglass/layout/file_names.h"
#include "try_photo.h"

namespace slipglass {

namespace {

/// A tub in a photo of this run.
struct Place {
    Item* item;
    std::string tub;
};

/// Whether the start of a correction's name is a photo's: as the pages call it, or as the photo is called.
bool isStemOf(const Item& item, const std::string& stem)
{
    return stem == photoStem(item) || stem == item.file.stem;
}

/// All tubs of this run's photos that a correction may mean, by what its file says inside or else by its
/// name.
std::vector<Place> placesOf(const CorrectionFile& file, std::vector<Item>& items)
{
    const Correction& said = file.correction;
    std::vector<Place> places;
    for (Item& item : items) {
        if (!said.photo.empty() && said.photo != item.file.name) continue;
        for (const std::string& tub : item.tubs) {
            const bool names_photo = !said.photo.empty() || isStemOf(item, file.stem);
            const bool names_tub =
                file.stem == maskStem(item, tub) || file.stem == photoStem(item) + "." + safeFileName(tub);
            if (!names_photo && !names_tub) continue;
            if (!said.tub.empty() ? said.tub == tub : names_tub || item.tubs.size() == 1)
                places.push_back({&item, tub});
        }
    }
    // "A.T01.json" may be tub T01 of photo A, and photo "A.T01": the photo's whole name wins.
    if (said.photo.empty())
        for (const Place& place : places)
            if (isStemOf(*place.item, file.stem)) return {place};
    return places;
}

/// The photo that a correction means, whatever its tub, and photos that could not be measured included.
const Item* photoOf(const CorrectionFile& file, const std::vector<Item>& items)
{
    for (const Item& item : items)
        if (file.correction.photo.empty() ? isStemOf(item, file.stem)
                                          : file.correction.photo == item.file.name)
            return &item;
    return nullptr;
}

std::string hashOf(const std::string& tub, const Correction& correction)
{
    return contentHash(tub + '\n' + correctionText(correction));
}

/// What names the photo that a correction is for, whether inside or by the file's name.
std::string targetOf(const CorrectionFile& file)
{
    const std::string& photo = file.correction.photo;
    return photo.empty() ? file.stem : std::filesystem::path(photo).replace_extension().generic_string();
}

/// Whether a photo was measured with a correction, and those for the same photo, before it was taken out of
/// the folder.
bool keptWith(const CorrectionFile& file, const CorrectionListing& listing, const StoredPhoto& kept)
{
    Correction all;
    for (const CorrectionFile& other : listing.files)
        if (targetOf(other) == targetOf(file)) all = together(all, other.correction);
    return std::any_of(kept.observations.begin(), kept.observations.end(), [&](const Observation& seen) {
        return kept.made.corrected.find(hashOf(seen.tub, all)) != std::string::npos;
    });
}

bool means(const CorrectionFile& file, const std::string& photo)
{
    const std::string& said = file.correction.photo;
    return said.empty() ? std::filesystem::path(photo).replace_extension().generic_string() == file.stem
                        : photo == said;
}

Error noPhoto(const CorrectionFile& file)
{
    const std::string& photo = file.correction.photo;
    if (!photo.empty())
        return {file.name, "is for the photo " + photo + ", which is not here",
                "Check \"photo\" in it; it is the photo's name as in observations.csv"};
    return {file.name, "no photo has this name",
            "Name it after its photo, as in T01_2026-01-12.json, or write \"photo\" into it"};
}

/// Why a correction has no place; empty when its photo is gone and its figures are kept.
std::optional<Error> noPlace(const CorrectionFile& file, const CorrectionListing& listing,
                             const std::vector<Item>& items, const SeasonStore& store)
{
    const std::string& photo = file.correction.photo;
    // They wait until it is called after a tub again.
    if (saysNoTub(photo.empty() ? file.stem + ".json" : photo)) return std::nullopt;
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
        if (!means(file, known)) continue;
        if (keptWith(file, listing, *store.photo(known))) return std::nullopt;
        return Error(file.name, "its photo is not in the folder any more, so it was not measured anew",
                     "Put the photo back, or name its folder");
    }
    return noPhoto(file);
}

/// As problems name it.
std::string nameIn(const std::filesystem::path& folder, const std::string& file)
{
    const std::filesystem::path whole = std::filesystem::absolute(folder).lexically_normal();
    const auto name = whole.has_filename() ? whole.filename() : whole.parent_path().filename();
    return (name / file).generic_string();
}

}  // namespace

std::vector<Problem> giveCorrections(const CorrectionListing& listing, const std::filesystem::path& folder,
                                     std::vector<Item>& items, const SeasonStore& store,
                                     const PhotoLimits& limits)
{
    std::vector<Problem> problems = listing.problems;
    for (const CorrectionFile& file : listing.files) {
        const auto problem = tryPhoto(file.name, "", [&] {
            const std::vector<Place> places = placesOf(file, items);
            if (places.size() != 1) {
                if (const auto why = noPlace(file, listing, items, store)) throw Error(*why);
                return;
            }
            Item& item = *places[0].item;
            if (!item.made.content.empty()) {  // else it is another share's
                const cv::Size size = factsOf(item, limits).upright_size;
                checkAgainstPhoto(file.correction, file.name, size.width, size.height);
            }
            if (file.correction.empty()) return;
            Correction& sum = item.corrections[places[0].tub];
            sum = together(sum, file.correction);
        });
        if (problem) problems.push_back(*problem);
    }
    for (Item& item : items) {
        for (const auto& [tub, correction] : item.corrections)
            item.made.corrected.append("+").append(hashOf(tub, correction));
    }
    for (Problem& problem : problems) problem.file = nameIn(folder, problem.file);
    std::sort(problems.begin(), problems.end(),
              [](const Problem& a, const Problem& b) { return a.file < b.file; });
    return problems;
}

void dropPlaced(std::vector<Problem>& problems, const CorrectionListing& listing,
                const std::filesystem::path& folder, const SeasonStore& store)
{
    const std::vector<std::string> photos = store.photos();
    for (const CorrectionFile& file : listing.files)
        if (std::any_of(photos.begin(), photos.end(),
                        [&](const std::string& photo) { return means(file, photo); }))
            std::erase_if(problems, [&](const Problem& problem) {
                return problem.file == nameIn(folder, file.name) && problem.reason == noPhoto(file).problem();
            });
}

std::map<PhotoAndTub, std::string> drawnOn(const CorrectionListing& listing,
                                           const std::vector<Observation>& observations)
{
    std::map<std::string, int> tubs_in;
    for (const Observation& seen : observations) ++tubs_in[seen.photo];
    std::map<PhotoAndTub, std::string> drawn;
    for (const Observation& seen : observations) {
        Correction all;
        for (const CorrectionFile& file : listing.files)
            if (isFor(file, seen.photo, seen.tub, tubs_in[seen.photo] == 1))
                all = together(all, file.correction);
        if (!all.empty()) drawn[{seen.photo, seen.tub}] = correctionText(all);
    }
    return drawn;
}

}  // namespace slipglass
