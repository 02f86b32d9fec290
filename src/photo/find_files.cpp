#include "find_files.h"

#include <algorithm>
#include <array>
#include <set>
#include <system_error>

#include "slipglass/error.h"
#include "slipglass/layout/file_names.h"
#include "slipglass/no_memory.h"
#include "slipglass/photo/list_photos.h"
#include "slipglass/text.h"

namespace slipglass {

namespace {

namespace fs = std::filesystem;

constexpr std::array kPictureEndings{".jpg",  ".jpeg", ".jpe",  ".jfif", ".png", ".tif",
                                     ".tiff", ".webp", ".heic", ".heif", ".hif"};
/// Files that belong beside photos, and folders that systems make: passed over in silence.
constexpr std::array kCompanions{"batch.csv", "care.csv", "thumbs.db", "desktop.ini", "__macosx"};
const char* const kLinkRemedy = "Put the photo itself into the folder, or give the folder it lies in as well";

template <class List>
bool contains(const List& list, const std::string& word)
{
    return std::find(list.begin(), list.end(), word) != list.end();
}

/// Corrections may lie in any folder, so every JSON file is taken for one.
bool isCompanion(const fs::path& path)
{
    return contains(kCompanions, inSmall(path.filename().string())) ||
           inSmall(path.extension().string()) == ".json";
}

bool isWithin(const fs::path& folder, const fs::path& path)
{
    return std::mismatch(folder.begin(), folder.end(), path.begin(), path.end()).first == folder.end();
}

/// Walks one folder given by the user. Real folders first, then links to folders that were not reached: so a
/// link cannot lead round in a circle, nor hide what is really there.
class Walk {
public:
    Walk(const fs::path& folder, std::vector<Found>& found)
        : given_(folder),
          root_(fs::absolute(folder).lexically_normal()),
          real_root_(fs::canonical(folder)),
          found_(found)
    {
        if (!root_.has_filename()) root_ = root_.parent_path();  // "photos/"
    }

    void run()
    {
        enter("", false);
        for (size_t i = 0; i < linked_folders_.size(); ++i) enter(linked_folders_[i], true);
    }

private:
    void enter(const fs::path& below, bool by_link)
    {
        std::error_code error;
        const fs::path folder = below.empty() ? given_ : given_ / below;
        const fs::path real = fs::canonical(folder, error);
        std::vector<fs::path> names;
        if (!error) {
            if (!entered_.insert(real).second) return;
            fs::directory_iterator entries(folder, error);
            for (; !error && entries != fs::directory_iterator(); entries.increment(error))
                names.push_back(entries->path().filename());
        }
        if (error) {
            throwIfNoMemory(error);
            reject(below, "this folder cannot be read: " + error.message(), "Check that you may read it",
                   by_link);
            return;
        }
        std::sort(names.begin(), names.end());
        const bool holds_output = std::binary_search(names.begin(), names.end(), output::kSeason);
        for (const fs::path& name : names) {
            const std::string text = name.string();
            if (text.front() == '.' || (holds_output && output::isOne(text))) continue;
            consider(below / name, by_link);
        }
    }

    void consider(const fs::path& below, bool by_link)
    {
        std::error_code error;
        const fs::path path = given_ / below;
        const bool is_link = fs::is_symlink(path, error);
        if (is_link && !leadsInside(below, by_link)) return;
        if (isCompanion(path)) return;
        const fs::file_status status = fs::status(path, error);
        throwIfNoMemory(error);
        if (fs::is_directory(status) && is_link) {
            linked_folders_.push_back(below);
        } else if (fs::is_directory(status)) {
            enterFolder(below, by_link);
        } else if (!fs::is_regular_file(status)) {
            reject(below, "is a pipe or a device, not a file", "Leave it out", by_link);
        } else if (!endsLikePicture(path)) {
            reject(below, "is not a photo", "Give JPEG, PNG, TIFF, WebP or HEIC, or leave it out", by_link);
        } else {
            add(below, "", "", by_link || is_link);
        }
    }

    void enterFolder(const fs::path& below, bool by_link)
    {
        const size_t before = found_.size();
        enter(below, by_link);
        if (found_.size() == before && endsLikePicture(below))
            reject(below, "is a folder, though its name ends like a picture's", "Leave it out", by_link);
    }

    bool leadsInside(const fs::path& below, bool by_link)
    {
        std::error_code error;
        const fs::path target = fs::canonical(given_ / below, error);
        if (error) {
            throwIfNoMemory(error);
            reject(below, "is a link that leads nowhere", kLinkRemedy, by_link);
            return false;
        }
        if (isWithin(real_root_, target)) return true;
        reject(below, "is a link that leads out of the folder, and is not followed", kLinkRemedy, by_link);
        return false;
    }

    void reject(const fs::path& below, const std::string& reason, const std::string& remedy, bool by_link)
    {
        add(below, reason, remedy, by_link);
    }

    void add(const fs::path& below, const std::string& reason, const std::string& remedy, bool by_link)
    {
        std::error_code error;
        const fs::path path = below.empty() ? given_ : given_ / below;
        const bool follow = reason.empty();  // a link that is a problem is one itself, not its target
        const fs::path real =
            follow ? fs::canonical(path, error) : fs::absolute(path, error).lexically_normal();
        throwIfNoMemory(error);
        found_.push_back({path, root_, below, real.string(), by_link, reason, remedy});
    }

    fs::path given_, root_, real_root_;
    std::vector<Found>& found_;
    std::set<fs::path> entered_;
    std::vector<fs::path> linked_folders_;
};

/// A file that the user named is taken for a photo whatever its ending: what is in it decides.
Found givenFile(const fs::path& path)
{
    const fs::path absolute = fs::absolute(path).lexically_normal();
    return {path, absolute.parent_path(), absolute.filename(), fs::canonical(path).string(), false, "", ""};
}

}  // namespace

bool endsLikePicture(const fs::path& path)
{
    return contains(kPictureEndings, inSmall(path.extension().string()));
}

void findFiles(const fs::path& input, std::vector<Found>& found)
{
    std::error_code error;
    const fs::file_status status = fs::status(input, error);
    if (!fs::exists(status)) {
        const bool missing = !error || error == std::errc::no_such_file_or_directory;
        throw Error(input.string(), missing ? "there is no such file or folder" : error.message(),
                    "Check the path");
    }
    if (fs::is_directory(status)) {
        Walk(input, found).run();
    } else {
        found.push_back(givenFile(input));
    }
}

}  // namespace slipglass
