#include "slipglass/layout/file_names.h"

#include <glib.h>

#include <algorithm>
#include <array>
#include <filesystem>
#include <iterator>
#include <memory>
#include <string_view>

#include "slipglass/folded_name.h"
#include "slipglass/observation.h"

namespace slipglass {

namespace {

constexpr size_t kLongest =
    100;  // bytes; most file systems allow 255, and an extension or a stem may be added
constexpr size_t kHashDigits =
    10;  // 40 bits: two of a thousand odd ids share one with odds of 1 in two million

std::string hashOf(const std::string& id)
{
    const std::unique_ptr<char, decltype(&g_free)> hex(
        g_compute_checksum_for_data(G_CHECKSUM_SHA256, reinterpret_cast<const guchar*>(id.data()), id.size()),
        g_free);
    return std::string(hex.get()).substr(0, kHashDigits);
}

bool staysAsIs(gunichar c)
{
    return g_unichar_isalnum(c) || g_unichar_ismark(c) || c == '.' || c == '_' || c == '-' || c == ' ';
}

/// `id` with '_' for each character that does not stay, at most kLongest bytes, never cut inside a character.
std::string keptCharacters(const std::string& id)
{
    std::string kept;
    const char* at = id.data();
    const char* const end = at + id.size();
    while (at < end) {
        const gunichar c = g_utf8_get_char_validated(at, end - at);
        const bool is_character = c != static_cast<gunichar>(-1) && c != static_cast<gunichar>(-2);
        const char* const next = is_character && c != 0 ? g_utf8_next_char(at) : at + 1;
        const bool second_dot = c == '.' && !kept.empty() && kept.back() == '.';
        const bool stays = is_character && staysAsIs(c) && !second_dot;
        const std::string_view piece = stays ? std::string_view(at, static_cast<size_t>(next - at)) : "_";
        if (kept.size() + piece.size() > kLongest) break;
        kept += piece;
        at = next;
    }
    return kept;
}

/// Names that Windows gives to devices, whatever the extension.
bool isDevice(const std::string& name)
{
    constexpr std::array<const char*, 22> kDevices{
        "CON",  "PRN",  "AUX",  "NUL",  "COM1", "COM2", "COM3", "COM4", "COM5", "COM6", "COM7",
        "COM8", "COM9", "LPT1", "LPT2", "LPT3", "LPT4", "LPT5", "LPT6", "LPT7", "LPT8", "LPT9"};
    std::string stem = name.substr(0, name.find('.'));
    std::transform(stem.begin(), stem.end(), stem.begin(), [](char c) { return g_ascii_toupper(c); });
    return std::find(kDevices.begin(), kDevices.end(), stem) != kDevices.end();
}

/// Devices, and dots and blanks that file systems drop or hide.
bool isKeptByASystem(const std::string& name)
{
    return name.empty() || name.front() == '.' || name.front() == ' ' || name.front() == '-' ||
           name.back() == '.' || name.back() == ' ' || isDevice(name);
}

bool isForbidden(char c)
{
    constexpr std::string_view kOfWindows = "<>:\"|?*\\";
    return static_cast<unsigned char>(c) < ' ' || c == '\x7F' || kOfWindows.find(c) != std::string_view::npos;
}

/// Whether a part of a photo's name may stand in a path as it is; the last one has an extension behind it.
bool mayStand(const std::string& part, bool last)
{
    constexpr size_t kLongestPart =
        120;  // a file system takes 255 bytes; ".roots.png" and a tub must fit too
    const bool dropped = !last && (part.back() == '.' || part.back() == ' ');
    return part.size() <= kLongestPart && !dropped && !isDevice(part) &&
           std::none_of(part.begin(), part.end(), isForbidden);
}

}  // namespace

bool output::isOne(const std::string& name)
{
    constexpr std::array kNames{kObservations, kCuttings, kFlags,       kProblems, kWater,
                                kSeasonJson,   kCalendar, kTaught,      kMasks,    kOverlays,
                                kGraphs,       kGrowth,   kComparisons, kReport};
    return name.rfind(kSeason, 0) == 0 || std::find(kNames.begin(), kNames.end(), name) != kNames.end();
}

std::string safeFileName(const std::string& id)
{
    const std::string kept = keptCharacters(id);
    if (kept == id && !isKeptByASystem(id)) return id;
    std::string start = kept;
    const auto leaveRoom = [&start] {  // for the hash; back to a whole character
        if (start.size() <= kLongest - kHashDigits - 1) return;
        size_t cut = kLongest - kHashDigits - 1;
        while (cut > 0 && (static_cast<unsigned char>(start[cut]) & 0xC0U) == 0x80U) --cut;
        start.resize(cut);
    };
    leaveRoom();
    const bool hides =
        !start.empty() && (start.front() == '.' || start.front() == '-' || start.front() == ' ');
    if (hides) start.front() = '_';
    // "CON.x~..." would still be the device.
    const bool device = isKeptByASystem(start.substr(0, start.find('.')));
    if (device) start.insert(start.begin(), '_');
    leaveRoom();
    return start + "~" + hashOf(id);
}

std::map<std::string, std::string> safeFileNames(const std::set<std::string>& ids)
{
    std::map<std::string, std::string> names;
    std::set<std::string> taken;
    for (const std::string& id : ids) {
        std::string name = safeFileName(id);
        if (!taken.insert(foldedName(name)).second) name.append("~").append(hashOf(id));
        names[id] = std::move(name);
    }
    return names;
}

std::string safeStem(const std::string& stem)
{
    const std::filesystem::path whole(stem);
    std::filesystem::path safe;
    for (auto part = whole.begin(); part != whole.end(); ++part) {
        const bool stays = part->empty() || mayStand(part->string(), std::next(part) == whole.end());
        safe /= stays ? part->string() : safeFileName(part->string());
    }
    return safe.generic_string();
}

std::string toldApart(const std::string& stem)
{
    return stem + "~" + hashOf(stem);
}

std::string overlayName(const std::string& tub, Date date, int nth_of_day)
{
    std::string suffix;
    if (nth_of_day > 1) suffix.append("_").append(std::to_string(nth_of_day));
    return std::string(output::kOverlays) + "/" + tub + "/" + isoDate(date) + suffix + ".jpg";
}

std::map<PhotoAndTub, std::string> overlayNames(const std::vector<Observation>& observations)
{
    std::vector<const Observation*> in_order;
    in_order.reserve(observations.size());
    for (const auto& seen : observations) in_order.push_back(&seen);
    std::sort(in_order.begin(), in_order.end(),
              [](const auto* a, const auto* b) { return takenBefore(*a, *b); });

    std::set<std::string> tubs;
    for (const auto* seen : in_order) tubs.insert(seen->tub);
    const auto tub_names = safeFileNames(tubs);
    std::map<std::pair<std::string, Date>, int> photos_of_day;
    std::map<PhotoAndTub, std::string> names;
    for (const auto* seen : in_order) {
        const int nth = ++photos_of_day[{seen->tub, seen->taken.date}];
        names[{seen->photo, seen->tub}] = overlayName(tub_names.at(seen->tub), seen->taken.date, nth);
    }
    return names;
}

std::string tubIn(const std::string& overlay)
{
    return std::filesystem::path(overlay).parent_path().filename().string();
}

MaskNames maskNames(const std::string& stem)
{
    const std::string path = std::string(output::kMasks) + "/" + stem;
    return {path + ".roots.png", path + ".wall.png"};
}

std::string graphName(const std::string& cutting)
{
    return std::string(output::kGraphs) + "/" + cutting + ".svg";
}

PagePictureNames pagePictureNames(const std::string& overlay)
{
    const std::filesystem::path below = std::filesystem::path(overlay).lexically_relative(output::kOverlays);
    const std::string stem = std::string(output::kReport) + "/pictures/" +
                             below.parent_path().generic_string() + "/" + below.stem().string();
    return {stem + ".jpg", stem + ".small.jpg", stem + ".found.png", stem + ".wall.jpg", stem + ".json"};
}

std::string growthMapName(const std::string& tub)
{
    return std::string(output::kGrowth) + "/" + tub + ".png";
}

std::string growthLegendName(const std::string& tub)
{
    return std::string(output::kGrowth) + "/" + tub + ".json";
}

std::string comparisonName(const std::string& column)
{
    return std::string(output::kComparisons) + "/" + safeFileName(column) + ".json";
}

std::string cuttingPageName(const std::string& cutting)
{
    return std::string(output::kReport) + "/cuttings/" + cutting + ".html";
}

}  // namespace slipglass
