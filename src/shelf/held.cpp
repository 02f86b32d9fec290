#include "held.h"

#include "slipglass/measure.h"
#include "slipglass/season/csv.h"
#include "slipglass/store/write_file.h"

namespace slipglass {

namespace fs = std::filesystem;

std::string heldText(const fs::path& file, const std::optional<Given::File>& given, bool waits)
{
    const bool own = waits || !given || isOwn(given->name, file);
    if (own && fs::exists(file)) return readTextFile(file);
    return given ? given->text : "";  // a file that was thrown away holds until another is given
}

void bringCorrections(const SeasonFolder& folder, const Given& given)
{
    if (fs::exists(folder.corrections()) || !given.corrections) return;
    for (const CorrectionText& one : correctionTextsIn(given.corrections->text)) {
        const fs::path file = folder.corrections() / one.name;
        writeFile(file, one.text);
        fs::last_write_time(file, fs::file_time_type::clock::from_sys(
                                      std::chrono::sys_seconds{std::chrono::seconds{one.saved}}));
    }
}

}  // namespace slipglass
