#include "slipglass/photo/list_photos.h"

#include <algorithm>
#include <map>
#include <set>

#include "file_name.h"
#include "find_files.h"
#include "slipglass/folded_name.h"
#include "slipglass/layout/file_names.h"
#include "slipglass/text.h"
#include "utf8.h"

namespace slipglass {

namespace {

namespace fs = std::filesystem;

/// One of each file: the real one before a link, then the one that says most about where it lies.
void dropRepeats(std::vector<Found>& found)
{
    const auto order = [](const Found& f) {
        const auto parts = std::distance(f.below.begin(), f.below.end());
        return std::make_tuple(f.identity, f.by_link, -parts, f.below, f.path);
    };
    std::sort(found.begin(), found.end(),
              [&](const Found& a, const Found& b) { return order(a) < order(b); });
    const auto same = [](const Found& a, const Found& b) { return a.identity == b.identity; };
    found.erase(std::unique(found.begin(), found.end(), same), found.end());
}

std::string nameOf(const Found& found)
{
    std::vector<fs::path> parts;
    for (const fs::path& part : found.root.relative_path()) parts.push_back(part);
    const size_t count = std::min<size_t>(parts.size(), static_cast<size_t>(found.prefix_parts));
    fs::path name;
    for (size_t i = parts.size() - count; i < parts.size(); ++i) name /= parts[i];
    if (!found.below.empty()) name /= found.below;
    return name.empty() ? found.path.generic_string() : asUtf8(name.generic_string());
}

/// Prefixes names with as much of their folders as tells them apart; whole paths always do.
std::vector<std::string> uniqueNames(std::vector<Found>& found)
{
    while (true) {
        std::vector<std::string> names;
        std::map<std::string, int> uses;
        for (const Found& f : found) ++uses[names.emplace_back(nameOf(f))];
        bool changed = false;
        for (size_t i = 0; i < found.size(); ++i) {
            const auto parts = std::distance(found[i].root.begin(), found[i].root.end());
            if (uses[names[i]] < 2 || found[i].prefix_parts >= parts) continue;
            ++found[i].prefix_parts;
            changed = true;
        }
        if (!changed) return names;
    }
}

std::optional<std::string> folderTub(const Found& found)
{
    fs::path folder = found.below.parent_path();
    for (; !folder.empty(); folder = folder.parent_path()) {
        if (!isMerelyDate(folder.filename().string())) return folder.filename().string();
    }
    const std::string top = found.root.filename().string();
    if (top.empty() || isMerelyDate(top)) return std::nullopt;
    return top;
}

PhotoFile photoFile(const Found& found, const std::string& name)
{
    PhotoFile file;
    file.path = found.path;
    file.name = name;
    const NameFacts said = readName(found.path.stem().string());
    file.named_tub = said.tub;
    if (said.typed) file.named_date = parseIsoDate(*said.typed);
    if (!file.named_tub) {
        file.named_tub = folderTub(found);
        file.tub_from_folder = file.named_tub.has_value();
    }
    return file;
}

std::string withoutExtension(const std::string& name)
{
    return fs::path(name).replace_extension().generic_string();
}

/// Where two share a stem both keep their extension, until no two are equal; capitals do not count, since
/// they do not on a USB stick.
void setStems(std::vector<PhotoFile>& files)
{
    for (PhotoFile& file : files) file.stem = withoutExtension(file.name);
    bool changed = true;
    while (changed) {
        std::map<std::string, int> uses;
        for (const PhotoFile& file : files) ++uses[foldedName(file.stem)];
        changed = false;
        for (PhotoFile& file : files) {
            if (uses[foldedName(file.stem)] < 2 || file.stem == file.name) continue;
            file.stem = file.name;
            changed = true;
        }
    }
    std::set<std::string> taken;
    for (PhotoFile& file : files)
        if (!taken.insert(foldedName(file.stem)).second) file.stem = toldApart(file.stem);
}

}  // namespace

bool saysNoTub(const std::string& name)
{
    return inSmall(readName(fs::path(name).stem().string()).tub.value_or("")) == kNoTub;
}

PhotoListing listPhotos(const std::vector<fs::path>& inputs)
{
    std::vector<Found> found;
    for (const fs::path& input : inputs) findFiles(input, found);
    dropRepeats(found);
    const std::vector<std::string> names = uniqueNames(found);

    PhotoListing listing;
    for (size_t i = 0; i < found.size(); ++i) {
        Found& f = found[i];
        if (f.reason.empty() && asUtf8(f.below.string()) != f.below.string()) {
            f.reason = "its name is not in UTF-8";
            f.remedy = "Rename it";
        }
        if (f.reason.empty()) {
            listing.files.push_back(photoFile(f, names[i]));
        } else {
            listing.problems.push_back({names[i], "", "not measured", f.reason, f.remedy});
        }
    }
    std::sort(listing.files.begin(), listing.files.end(),
              [](const PhotoFile& a, const PhotoFile& b) { return a.name < b.name; });
    std::sort(listing.problems.begin(), listing.problems.end(),
              [](const Problem& a, const Problem& b) { return a.file < b.file; });
    setStems(listing.files);
    return listing;
}

}  // namespace slipglass
