#pragma once
// Every reader of bytes that strangers may have made, as a function of the bytes alone. What a reader refuses
// with an Error is refused as it should be; whatever else it throws is a finding.
#include <cstdint>
#include <span>
#include <stdexcept>
#include <string>
#include <string_view>

#include "slipglass/date.h"
#include "slipglass/error.h"

namespace slipglass::fuzz {

using Bytes = std::span<const std::uint8_t>;

inline std::string_view textOf(Bytes bytes)
{
    return {reinterpret_cast<const char*>(bytes.data()), bytes.size()};
}

/// The day of all runs: no reader may depend on another.
inline constexpr Date kToday{std::chrono::year{2026}, std::chrono::month{6}, std::chrono::day{1}};

template <class Read>
void mayRefuse(const Read& read)
{
    try {
        read();
    } catch (const Error&) {  // told to the user: one photo, or one file, less
    }
}

/// What must hold of all bytes whatsoever.
inline void require(bool holds, const char* what)
{
    if (!holds) throw std::logic_error(what);
}

// photos.cpp: from the file to upright pixels
void jpeg(Bytes file);
void png(Bytes file);
void webp(Bytes file);
void tiff(Bytes file);
void heic(Bytes file);
void own_picture(Bytes file);  ///< a picture of the output folder, or of the season file
void exif(Bytes block);
void photo_name(Bytes name);

// labels.cpp
void label_text(Bytes text);
void label_picture(Bytes picture);  ///< its width in the first byte, then its rows, a byte a pixel

// given.cpp: what is given beside the photos
void plan(Bytes file);
void care(Bytes file);
void settings(Bytes file);
void correction(Bytes file);

// read_back.cpp: what this or an earlier slipglass wrote, from whoever it comes
void taught(Bytes file);
void observations(Bytes file);
void page_pictures(Bytes file);
void truth(Bytes file);
void kept_sentence(Bytes text);  ///< as pages show it

// season.cpp
void season(Bytes file);          ///< season.db
void season_values(Bytes given);  ///< put into a sound one: "table.column", a tab, the value, the byte 1e
void wall_view(Bytes file);       ///< what one keeps of a wall: a line of meta, then the picture
void wall_sum(Bytes file);
void worked_out(Bytes numbers);  ///< what took long to reckon, kept in the season file
void tub_list(Bytes file);       ///< of a season in shares

// served.cpp: what comes over the network
void request(Bytes sent);  ///< by a socket; @K is the key, @H the address
void form(Bytes body);     ///< the path in the first line

struct Reader {
    const char* name;
    void (*read)(Bytes);
};
inline constexpr Reader kReaders[] = {
    {"jpeg", jpeg},
    {"png", png},
    {"webp", webp},
    {"tiff", tiff},
    {"heic", heic},
    {"own_picture", own_picture},
    {"exif", exif},
    {"photo_name", photo_name},
    {"label_text", label_text},
    {"label_picture", label_picture},
    {"plan", plan},
    {"care", care},
    {"settings", settings},
    {"correction", correction},
    {"taught", taught},
    {"observations", observations},
    {"page_pictures", page_pictures},
    {"truth", truth},
    {"kept_sentence", kept_sentence},
    {"season", season},
    {"season_values", season_values},
    {"wall_view", wall_view},
    {"wall_sum", wall_sum},
    {"worked_out", worked_out},
    {"tub_list", tub_list},
    {"request", request},
    {"form", form},
};

}  // namespace slipglass::fuzz
