#include "out_folder.h"

#include <algorithm>
#include <array>
#include <set>
#include <system_error>

#include "slipglass/error.h"
#include "slipglass/layout/file_names.h"
#include "slipglass/no_memory.h"
#include "slipglass/store/unreadable.h"
#include "slipglass/text.h"
#include "terminal.h"

namespace slipglass {
namespace {

namespace fs = std::filesystem;

/// What systems put into folders of themselves.
bool isOfTheSystem(const std::string& name)
{
    constexpr std::array kNames{"Thumbs.db", "desktop.ini", "lost+found", "System Volume Information"};
    return name.starts_with('.') || std::find(kNames.begin(), kNames.end(), name) != kNames.end();
}

std::set<std::string> namesIn(const fs::path& folder)
{
    std::set<std::string> names;
    std::error_code failed;  // a folder that cannot be read cannot be written to either, which is told then
    for (const auto& entry : fs::directory_iterator(folder, failed))
        names.insert(entry.path().filename().string());
    throwIfNoMemory(failed);
    return names;
}

/// What is left of a season whose file was taken away.
bool hadSeason(const std::set<std::string>& names)
{
    return std::any_of(names.begin(), names.end(), [](const std::string& name) {
        return name.starts_with(output::kSeason) || name == output::kSeasonJson;
    });
}

/// Names in the folder that nothing explains; none where the folder itself is what the command reads.
std::vector<std::string> otherThings(const OutFolder& folder)
{
    std::set<std::string> names = namesIn(folder.path);
    if (hadSeason(names)) std::erase_if(names, output::isOne);
    std::erase_if(names, isOfTheSystem);
    for (const std::string& own : folder.own) names.erase(own);
    for (const fs::path& given : folder.given) {
        const fs::path below =
            fs::weakly_canonical(given).lexically_relative(fs::weakly_canonical(folder.path));
        if (below == ".") return {};
        if (!below.empty()) names.erase(below.begin()->string());
    }
    return {names.begin(), names.end()};
}

fs::path freeNameFor(const fs::path& season)
{
    fs::path free = season.string() + ".old";
    for (int n = 2; fs::exists(free); ++n) free = season.string() + ".old-" + std::to_string(n);
    return free;
}

void checkSeason(const fs::path& season, bool force)
{
    const std::optional<Error> why = whyUnreadable(season);
    if (!why) return;
    if (!force)
        throw Error(why->input(), why->problem(),
                    why->remedy() +
                        "; or give --force, and a new season is begun there, the old file kept "
                        "beside it");
    const fs::path kept = freeNameFor(season);
    fs::rename(season, kept);
    complain(season.string() + ": " + why->problem() + ". It is kept as " + kept.string() + ".");
}

}  // namespace

void addForceFlag(CLI::App& command, bool& force)
{
    command.add_flag(
        "--force", force,
        "Write into a folder that holds other things, or a season that this slipglass cannot read");
}

void checkOutFolder(const OutFolder& folder)
{
    if (!fs::is_directory(folder.path)) return;
    const fs::path season = folder.path / output::kSeason;
    if (fs::exists(season)) return checkSeason(season, folder.force);
    std::vector<std::string> others = otherThings(folder);
    if (others.empty() || folder.force) return;
    constexpr size_t kShown = 3;
    const size_t count = others.size();
    others.resize(std::min(count, kShown));
    throw Error(folder.path.string(),
                "holds no season of slipglass but other things (" + joined(others, ", ") +
                    (count > kShown ? " and " + std::to_string(count - kShown) + " more" : "") + ")",
                "Name a new folder, or give --force if this one is meant");
}

}  // namespace slipglass
