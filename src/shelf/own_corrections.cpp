#include "own_corrections.h"

#include <nlohmann/json.hpp>

#include "slipglass/measure.h"
#include "slipglass/read_file.h"
#include "slipglass/store/write_file.h"

namespace slipglass {

namespace fs = std::filesystem;

namespace {

std::vector<CorrectionFile> ownCorrections(const SeasonFolder& folder)
{
    if (!fs::exists(folder.corrections())) return {};
    return parseCorrections(correctionTexts(folder.corrections())).files;
}

}  // namespace

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

std::vector<CorrectionFile> correctionsOf(const SeasonFolder& folder, const PhotoAndTub& place, bool only_tub)
{
    std::vector<CorrectionFile> files = ownCorrections(folder);
    std::erase_if(
        files, [&](const CorrectionFile& one) { return !isFor(one, place.first, place.second, only_tub); });
    return files;
}

void takeBack(const SeasonFolder& folder, const CorrectionFile& file)
{
    const fs::path from = folder.corrections() / file.name;
    fs::path to = from.string() + ".taken-back";
    for (int n = 2; fs::exists(to); ++n) to = from.string() + "." + std::to_string(n) + ".taken-back";
    fs::rename(from, to);
}

std::string correctionOf(const std::string& text, const std::string& photo, const std::string& tub)
{
    auto said = nlohmann::ordered_json::parse(text);
    said["photo"] = photo;
    if (!tub.empty()) said["tub"] = tub;
    return said.dump();
}

bool followName(const SeasonFolder& folder, const PhotoAndTub& before, const std::string& now,
                const std::string& tub)
{
    bool any = false;
    for (const CorrectionFile& one : ownCorrections(folder)) {
        const std::string& said = one.correction.tub;
        if (!isFor(one, before.first, said.empty() ? before.second : said, true)) continue;
        const fs::path file = folder.corrections() / one.name;
        const auto saved = fs::last_write_time(file);  // the later one holds
        writeFile(file, correctionOf(readFile(file), now, tub));
        fs::last_write_time(file, saved);
        any = true;
    }
    return any;
}

}  // namespace slipglass
