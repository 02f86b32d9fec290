#pragma once
// What a run leaves behind, as text to compare.
#include <filesystem>
#include <map>
#include <sstream>
#include <string>

#include "scratch_folder.h"
#include "slipglass/season/figures.h"
#include "slipglass/store/season_store.h"

namespace slipglass::test {

/// All files below a folder but the season file: path to bytes.
inline std::map<std::string, std::string> filesBelow(const std::filesystem::path& folder)
{
    std::map<std::string, std::string> files;
    for (const auto& entry : std::filesystem::recursive_directory_iterator(folder))
        if (entry.is_regular_file() && entry.path().filename().string().find("season.db") != 0)
            files[entry.path().lexically_relative(folder).generic_string()] = readBytes(entry.path());
    return files;
}

inline std::string textOf(const Observation& seen)
{
    std::ostringstream text;
    text.precision(17);
    text << seen.photo << ' ' << seen.tub << ' ' << isoDate(seen.taken.date) << ' ' << timeText(seen.taken)
         << ' ' << stateText(seen.state);
    for (const Figure& figure : kFigures) {
        text << ' ' << figure.name << '=';
        if (seen.*figure.value) text << *(seen.*figure.value);
    }
    for (const std::string& note : seen.notes) text << " | " << note;
    for (const PhotoPoint& p : seen.outline) text << " (" << p.x_px << ' ' << p.y_px << ')';
    for (const PhotoPoint& p : seen.water_line) text << " <" << p.x_px << ' ' << p.y_px << '>';
    return text.str();
}

/// The season file by its content, keys included.
inline std::string seasonText(const std::filesystem::path& out)
{
    const SeasonStore store(out / "season.db", SeasonStore::Use::read);
    std::ostringstream text;
    std::map<std::string, bool> tubs;
    for (const std::string& name : store.photos()) {
        const auto photo = store.photo(name);
        const MadeFrom& made = photo->made;
        text << name << " made from " << made.content << ' ' << made.program << ' ' << made.settings << ' '
             << made.moved << ' ' << made.tubs << ' ' << made.corrected << ' '
             << (made.labels ? made.labels->size() : 99) << '\n';
        for (const Observation& seen : photo->observations) {
            tubs[seen.tub] = true;
            text << textOf(seen) << '\n';
        }
        for (const Problem& p : photo->problems)
            text << p.file << ' ' << p.tub << ' ' << p.state << ' ' << p.reason << ' ' << p.remedy << '\n';
    }
    for (const auto& [tub, unused] : tubs)
        for (const KeptView& view : store.views(tub))
            text << tub << " view " << view.photo << ' ' << view.basis << ' ' << view.side << ' ' << view.meta
                 << ' ' << view.picture_hash << ' ' << view.read_with << ' ' << view.drawn << ' '
                 << std::hash<std::string>{}(store.panel(view.photo, tub)) << '\n';
    return text.str();
}

}  // namespace slipglass::test
