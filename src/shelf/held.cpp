#include "held.h"

#include "slipglass/layout/file_names.h"
#include "slipglass/measure.h"
#include "slipglass/season/csv.h"
#include "slipglass/store/write_file.h"

namespace slipglass {

namespace fs = std::filesystem;

std::string heldText(const SeasonFolder& folder, const fs::path& file,
                     std::optional<Given::File> Given::*given_as, bool waits)
{
    const std::string own = fs::exists(file) ? readTextFile(file) : "";
    if (waits || !fs::exists(folder.out / output::kSeason)) return own;
    const auto given = givenIn(SeasonStore(folder.out / output::kSeason, SeasonStore::Use::read));
    if (!given || !((*given).*given_as)) return own;
    std::error_code none;
    return fs::equivalent(((*given).*given_as)->name, file, none) ? own : ((*given).*given_as)->text;
}

void bringCorrections(const SeasonFolder& folder)
{
    if (fs::exists(folder.corrections()) || !fs::exists(folder.out / output::kSeason)) return;
    const auto given = givenIn(SeasonStore(folder.out / output::kSeason, SeasonStore::Use::read));
    if (!given || !given->corrections) return;
    for (const CorrectionText& one : correctionTextsIn(given->corrections->text)) {
        const fs::path file = folder.corrections() / one.name;
        writeFile(file, one.text);
        fs::last_write_time(file, fs::file_time_type::clock::from_sys(
                                      std::chrono::sys_seconds{std::chrono::seconds{one.saved}}));
    }
}

}  // namespace slipglass
