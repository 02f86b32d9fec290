#include "season_folder.h"

#include <algorithm>
#include <mutex>

#include "slipglass/error.h"
#include "slipglass/layout/file_names.h"
#include "slipglass/photo/list_photos.h"
#include "slipglass/photo/read_photo.h"
#include "slipglass/read_file.h"
#include "slipglass/store/content_hash.h"
#include "slipglass/text.h"

namespace slipglass {

namespace fs = std::filesystem;

namespace {

/// The last part of a name from any system, as a file name that is safe on all.
fs::path safeName(const std::string& name)
{
    const size_t slash = name.find_last_of("/\\");
    const fs::path last = slash == std::string::npos ? name : name.substr(slash + 1);
    return safeFileName(last.stem().string()) +
           (endsLikePicture(last) ? inSmall(last.extension().string()) : ".jpg");
}

/// What is put behind a name that is taken leaves the tub and day that it tells (readName).
fs::path freeName(const fs::path& folder, const fs::path& name)
{
    fs::path free = name;
    for (int n = 2; fs::exists(folder / free); ++n)
        free = name.stem().string() + "_" + std::to_string(n) + name.extension().string();
    return free;
}

/// A file of the folder that holds just what another does.
std::optional<std::string> sameIn(const fs::path& folder, const fs::path& sent)
{
    const auto size = fs::file_size(sent);
    std::optional<std::string> hash;
    for (const auto& entry : fs::directory_iterator(folder)) {
        if (!entry.is_regular_file() || entry.file_size() != size) continue;
        if (!hash) hash = contentHash(readFile(sent, size));
        if (contentHash(readFile(entry.path(), size)) == *hash) return entry.path().filename().string();
    }
    return std::nullopt;
}

PhotoFile fileOf(const fs::path& path)
{
    const PhotoListing listing = listPhotos({path});
    if (listing.files.empty())
        throw Error(path.filename().string(), listing.problems.front().reason,
                    listing.problems.front().remedy);
    return listing.files.front();
}

/// Two that come at once do not get one name.
std::mutex naming;

}  // namespace

TakenIn takeIn(const SeasonFolder& folder, const fs::path& sent, const std::string& name,
               std::optional<Date> modified, Date today, const PhotoLimits& limits)
{
    PhotoFacts facts;
    try {
        facts = readFacts(sent, limits);
    } catch (const Error& error) {
        throw Error(validUtf8(name), error.problem(), error.remedy());
    }
    const std::lock_guard lock(naming);
    fs::create_directories(folder.photos());
    if (const auto had = sameIn(folder.photos(), sent)) return {*had, true};
    fs::path file = freeName(folder.photos(), safeName(name));
    fs::rename(sent, folder.photos() / file);
    try {
        takenAt(fileOf(folder.photos() / file), facts, today);
    } catch (const Error& error) {
        const bool may_be = modified && *modified <= today && int(modified->year()) >= 2000;
        if (facts.exif_taken || !may_be) {
            fs::remove(folder.photos() / file);
            throw Error(validUtf8(name), error.problem(), error.remedy());
        }
        const fs::path dated = freeName(folder.photos(), isoDate(*modified) + "_" + file.string());
        fs::rename(folder.photos() / file, folder.photos() / dated);
        file = dated;
    }
    return {file.string(), false};
}

bool isOwn(const std::string& given_as, const fs::path& own)
{
    std::error_code none;
    if (fs::exists(given_as, none)) return fs::equivalent(given_as, own, none);
    return fs::path(given_as).filename() == own.filename();
}

std::optional<fs::path> ownPhoto(const SeasonFolder& folder, const std::string& photo)
{
    const fs::path name = photo;
    if (photo.empty() || name.filename() != name || name == "." || name == "..") return std::nullopt;
    std::error_code none;
    if (!fs::is_regular_file(fs::symlink_status(folder.photos() / name, none))) return std::nullopt;
    return folder.photos() / name;
}

fs::path ownPhotoOrError(const SeasonFolder& folder, const std::string& photo)
{
    if (const auto path = ownPhoto(folder, photo)) return *path;
    throw Error(photo, "is none of the photos that the season's own folder holds",
                "Give it a name that begins with its tub where it lies");
}

std::vector<std::string> photosOfNoTub(const SeasonFolder& folder)
{
    std::vector<std::string> names;
    std::error_code none;
    for (const auto& entry : fs::directory_iterator(folder.photos(), none)) {
        const std::string name = entry.path().filename().string();
        if (inSmall(name).rfind(kNoTub, 0) == 0 && saysNoTub(name)) names.push_back(name);
    }
    std::sort(names.begin(), names.end());
    return names;
}

std::string giveName(const SeasonFolder& folder, const std::string& photo, const std::string& name)
{
    const std::lock_guard lock(naming);
    const fs::path path = ownPhotoOrError(folder, photo), free = freeName(folder.photos(), name);
    fs::rename(path, folder.photos() / free);
    return free.string();
}

std::string nameTub(const SeasonFolder& folder, const std::string& photo, const std::string& said, Date today,
                    const PhotoLimits& limits)
{
    const std::lock_guard lock(naming);
    const std::string tub = inSmall(said) == kNoTub ? kNoTub : said;
    const fs::path path = ownPhotoOrError(folder, photo);
    const PhotoFile file = fileOf(path);
    const std::string date = isoDate(takenAt(file, readFacts(path, limits), today).date);
    std::string stem = path.stem().string();
    // A tub that was told before gives way.
    for (const std::string& before : {file.named_tub.value_or(""), date}) {
        if (!before.empty() && stem.rfind(before + "_", 0) == 0) stem = stem.substr(before.size() + 1);
        if (stem == date) stem.clear();
    }
    const std::string start = tub + "_" + date;
    const fs::path name =
        freeName(folder.photos(), start + (stem.empty() ? "" : "_" + stem) + path.extension().string());
    if (tub.empty() || safeFileName(tub) != tub || tub.find('_') != std::string::npos)
        throw Error("'" + tub + "'", "cannot be a tub's name here",
                    "Use letters, digits, blanks and '-', as in T01");
    fs::rename(path, folder.photos() / name);
    if (fileOf(folder.photos() / name).named_tub != tub) {
        fs::rename(folder.photos() / name, path);
        throw Error("'" + tub + "'", "cannot be a tub's name: cameras call their photos so",
                    "Choose another, as T01");
    }
    return name.string();
}

}  // namespace slipglass
